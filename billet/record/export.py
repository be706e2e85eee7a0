"""The record for other programs and for paper: a table of comma-separated values, and Markdown."""

import csv
import io
import re
from collections.abc import Iterable

from billet.record.entry import Entry, Measure, latest
from billet.record.measures import NAMES, shown
from billet.record.visible import one_line, visible

_UNITS = {"length": "m", "width": "m", "thickness": "m", "mass": "kg", "temperature": "K", "time": "s",
          "hardness": "hrc", "spine": "m", "edge": "m", "height": "m", "bow": "m", "twist": "m", "oven": "K", "dial": "K",
          "oil": "K", "soak": "s", "took": "s"}  # fmt: skip
_FIRST = ("id", "time", "knife", "bar", "step", "do")
_LAST = ("other", "wrong", "note", "photos", "by", "corrects", "corrected_by", "recipe", "recipe_sha256", "cure",
         "typed", "source")  # fmt: skip
_STARTERS = ("=", "+", "-", "@", "\t", "\r")
_MARKS = re.compile(r"([\\`*_{}\[\]<>#|!~])")


def harmless(cell: str) -> str:
    """A cell that a spreadsheet takes for a formula, with an apostrophe before it; what steers a terminal as a sign."""
    kept = visible(cell)
    return f"'{kept}" if cell.lstrip(" \n").startswith(_STARTERS) else kept


def as_csv(entries: Iterable[Entry]) -> str:
    """The notes as comma-separated values in SI, one line each and a line of names; lines end as RFC 4180 has it.

    What was told in words and measures of the user's own stand in ``other``; ``corrected_by`` marks what fell.
    """
    every = tuple(entries)
    later = {entry.corrects: entry.id for entry in every if entry.corrects is not None}
    out = io.StringIO()
    writer = csv.writer(out)
    names = [f"{name}_{_UNITS.get(name, '')}".rstrip("_") for name in NAMES]
    writer.writerow([*_FIRST, *names, *_LAST])
    for entry in every:
        writer.writerow([harmless(str(cell)) for cell in _cells(entry, later.get(entry.id))])
    return out.getvalue()


def _cells(entry: Entry, corrected_by: int | None) -> list[object]:
    place = (entry.place.bar, entry.place.number, entry.place.do) if entry.place else ("", "", "")
    columns = {m.name: m.value for m in entry.measures if _in_column(m)}
    values = [columns.get(name) for name in NAMES]
    others = [m for m in entry.measures if not _in_column(m)]
    return [
        *(entry.id, entry.at, entry.knife, *place),
        *("" if value is None else repr(value) for value in values),
        *("; ".join(f"{m.name}={m.written}" for m in others), entry.wrong, entry.note),
        *("; ".join(photo.path for photo in entry.photos), entry.by, entry.corrects or "", corrected_by or ""),
        *(entry.recipe_path, entry.recipe_sha256, entry.cure, entry.typed, entry.source),
    ]


def _in_column(measure: Measure) -> bool:
    """Whether a measure has a column of its own; an edge in degrees or an oven in words has none."""
    unit = _UNITS.get(measure.name, "1")
    return measure.name in NAMES and measure.value is not None and measure.unit.lower() == unit.lower()


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
    cure = f"cure: {entry.cure}" if entry.cure else ""
    note = "; ".join(text for text in (cure, entry.note, photos) if text)
    cells = (number, entry.local_time, str(entry.place or ""), measured, entry.wrong, note, entry.by)
    return "| " + " | ".join(plain(cell) for cell in cells) + " |"


def plain(text: str) -> str:
    """Text that Markdown and HTML print as it stands, on one line."""
    return _MARKS.sub(r"\\\1", one_line(text)).replace("&", "&amp;").replace("\\<", "&lt;").replace("\\>", "&gt;")
