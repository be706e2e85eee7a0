"""The record as plain text, one JSON value a line, that outlives the tool and can be restored."""

import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from types import UnionType
from typing import Any, get_origin, get_type_hints

from billet.base.errors import InputError
from billet.record.entry import Entry, Measure, Photo, Place, as_dict, text_sha256
from billet.record.sound import fault_of
from billet.record.store import Bench

FORMAT = 2
LARGEST = 200_000_000  # [bytes] of a backup; a forge's record of a hundred years is a few megabytes


def to_text(entries: Iterable[Entry], recipes: Mapping[str, str]) -> str:
    """A first line that says how much follows, then every recipe text, then every note in the order of writing."""
    notes = [{"note": as_dict(entry)} for entry in entries]
    texts = [{"recipe": {"sha256": sha256, "text": text}} for sha256, text in sorted(recipes.items())]
    head = {"bench_record": FORMAT, "recipes": len(texts), "notes": len(notes)}
    return "".join(json.dumps(line, ensure_ascii=True, allow_nan=False) + "\n" for line in [head, *texts, *notes])


def from_text(text: str) -> tuple[list[Entry], dict[str, str]]:
    """The notes and recipe texts of a backup; a torn, shortened, altered or newer one raises ``InputError``."""
    lines = text.removesuffix("\n").split("\n")
    head = _line(lines[0], 1) if text.startswith("{") else {}
    if not isinstance(head.get("bench_record"), int):
        raise InputError("This is not a backup of a bench record: its first line does not say bench_record.")
    if head["bench_record"] > FORMAT:
        raise InputError(f"This backup is of format {head['bench_record']}, newer than {FORMAT}; update the tool.")
    entries, recipes = [], {}
    for number, line in enumerate(lines[1:], start=2):
        value = _line(line, number)
        try:
            if "recipe" in value:
                recipes[str(value["recipe"]["sha256"])] = str(value["recipe"]["text"])
            else:
                entries.append(_entry(value["note"]))
        except (KeyError, TypeError, AttributeError, ValueError) as error:
            raise InputError(f"Line {number} of the backup is no note and no recipe; it was altered.") from error
        if "note" in value and (fault := fault_of(entries[-1])):
            raise InputError(
                f"Line {number} of the backup cannot be a note: {fault}; it was altered, use another copy."
            )
    _check(head, entries, recipes)
    return entries, recipes


def _line(line: str, number: int) -> dict[str, Any]:
    try:
        value = json.loads(line)
    except (ValueError, RecursionError) as error:
        if isinstance(error, RecursionError):
            error = ValueError("its brackets go too deep")
        raise InputError(f"Line {number} of the backup cannot be read ({error}); use another copy.") from error
    return value if isinstance(value, dict) else {}


def _entry(value: dict[str, Any]) -> Entry:
    parts = {
        "place": None if value["place"] is None else Place(**value["place"]),
        "measures": tuple(Measure(**measure) for measure in value["measures"]),
        "photos": tuple(Photo(**photo) for photo in value["photos"]),
    }
    entry = Entry(**{**value, **parts})
    datetime.fromisoformat(entry.at)
    for part in (entry, entry.place, *entry.measures, *entry.photos):
        _check_types(part)
    return entry


def _check_types(part: object) -> None:
    """Refuse a value of another kind than its field's, such as a text for a number."""
    for name, kind in get_type_hints(type(part)).items() if part is not None else ():
        value = getattr(part, name)
        if isinstance(value, bool) or not (value == () or isinstance(value, _plain(kind))):
            raise TypeError(name)


def _plain(kind: Any) -> Any:
    """A type that ``isinstance`` takes."""
    origin = get_origin(kind)
    return kind if origin in (None, UnionType) else origin


def _check(head: dict[str, Any], entries: list[Entry], recipes: dict[str, str]) -> None:
    if (head.get("recipes"), head.get("notes")) != (len(recipes), len(entries)):
        raise InputError(
            f"The backup should hold {head.get('notes')} notes and {head.get('recipes')} recipes but holds "
            f"{len(entries)} and {len(recipes)}; it was cut short, use another copy."
        )
    seen: set[int] = set()
    for entry in entries:
        if entry.id < 1 or entry.id in seen or (entry.corrects is not None and entry.corrects not in seen):
            raise InputError(
                f"Note {entry.id} of the backup is there twice or corrects no earlier note; it was altered."
            )
        seen.add(entry.id)
    if any(text_sha256(text) != sha256 for sha256, text in recipes.items()):
        raise InputError("A recipe in the backup does not agree with its hash; it was altered, use another copy.")


def restore(text: str, target: Path) -> int:
    """Make a new record at ``target`` from a backup, whole or not at all; returns how many notes it holds."""
    entries, recipes = from_text(text)
    if target.exists():
        raise InputError(f"{target} exists; restore into a new file and then put it in place yourself.")
    beside = target.with_name(f".{target.name}.restoring")
    _clear(beside)
    try:
        with Bench(beside) as bench:
            bench.add_all(entries, recipes)
        beside.rename(target)
    finally:
        _clear(beside)
    return len(entries)


def _clear(beside: Path) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        beside.with_name(beside.name + ending).unlink(missing_ok=True)


def read_backup(source: Path) -> str:
    """The text of a backup file, or ``InputError`` when it cannot be read."""
    try:
        if not source.is_file():
            what = "is not there" if not source.exists() else "is no plain file"
            raise InputError(f"The backup {source} cannot be read ({what}); name a file made with --text.")
        if source.stat().st_size > LARGEST:
            raise InputError(f"The backup {source} is larger than any record; name a file made with --text.")
        with source.open(encoding="utf-8-sig", newline="\n") as file:
            text = file.read(LARGEST + 1)
        if len(text) > LARGEST:
            raise InputError(f"The backup {source} has no end; name a file made with --text.")
        return text
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"The backup {source} cannot be read ({error}); name a file made with --text.") from error
