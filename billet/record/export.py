"""The record for other programs and for paper: a table of comma-separated values, and Markdown."""

import csv
import io
import re
from collections.abc import Iterable

from billet.record.entry import Entry, latest
from billet.record.measures import NAMES, shown

_UNITS = {"length": "m", "width": "m", "thickness": "m", "mass": "kg", "temperature": "K", "time": "s",
          "heats": "", "hardness": "hrc"}  # fmt: skip
_FIRST = ("id", "time", "knife", "bar", "step", "do")
_LAST = ("other", "wrong", "note", "photos", "by", "corrects", "corrected_by", "recipe", "recipe_sha256")
_STARTERS = ("=", "+", "-", "@", "\t", "\r")
_MARKS = re.compile(r"([\\`*_{}\[\]<>#|!~])")


def harmless(cell: str) -> str:
    """A cell that a spreadsheet takes for a formula, with an apostrophe before it so that it stays text."""
    return f"'{cell}" if cell.lstrip(" \n").startswith(_STARTERS) else cell


def as_csv(entries: Iterable[Entry]) -> str:
    """The notes as comma-separated values in SI, one line each and a line of names; lines end as RFC 4180 has it.

    What was told in words and measures of the user's own stand in ``other``; ``corrected_by`` marks what fell.
    """
    every = tuple(entries)
    later = {entry.corrects: entry.id for entry in every if entry.corrects is not None}
    out = io.StringIO()
    writer = csv.writer(out)
    names = [f"{name}_{_UNITS[name]}".rstrip("_") for name in NAMES]
    writer.writerow([*_FIRST, *names, *_LAST])
    for entry in every:
        writer.writerow([harmless(str(cell)) for cell in _cells(entry, later.get(entry.id))])
    return out.getvalue()


def _cells(entry: Entry, corrected_by: int | None) -> list[object]:
    place = (entry.place.bar, entry.place.number, entry.place.do) if entry.place else ("", "", "")
    values = [entry.measured(name) for name in NAMES]
    others = [m for m in entry.measures if m.name not in NAMES or m.value is None]
    return [
        *(entry.id, entry.at, entry.knife, *place),
        *("" if value is None else repr(value) for value in values),
        *("; ".join(f"{m.name}={m.written}" for m in others), entry.wrong, entry.note),
        *("; ".join(photo.path for photo in entry.photos), entry.by, entry.corrects or "", corrected_by or ""),
        *(entry.recipe_path, entry.recipe_sha256),
    ]


def as_markdown(entries: Iterable[Entry], units: str) -> str:
    """The notes that stand, knife by knife, as Markdown tables for paper; ``units`` is "metric" or "imperial"."""
    standing = latest(entries)
    parts = ["# Bench record\n"]
    for knife in dict.fromkeys(entry.knife for entry in standing):
        parts.append(
            f"\n## {plain(knife)}\n\n| no. | when | after | measured | went wrong | note | by |\n|--:|" + "---|" * 6
        )
        parts.extend(_line(entry, units) for entry in standing if entry.knife == knife)
        parts.append("")
    return "\n".join(parts)


def _line(entry: Entry, units: str) -> str:
    number = f"{entry.id}, corrects {entry.corrects}" if entry.corrects else str(entry.id)
    measured = ", ".join(shown(measure, units) for measure in entry.measures)
    photos = ", ".join(f"photo {photo.path}" for photo in entry.photos)
    note = "; ".join(text for text in (entry.note, photos) if text)
    cells = (number, entry.local_time, str(entry.place or ""), measured, entry.wrong, note, entry.by)
    return "| " + " | ".join(plain(cell) for cell in cells) + " |"


def plain(text: str) -> str:
    """Text that Markdown and HTML print as it stands, on one line."""
    return (
        _MARKS.sub(r"\\\1", " ".join(text.split())).replace("&", "&amp;").replace("\\<", "&lt;").replace("\\>", "&gt;")
    )
