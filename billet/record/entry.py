"""One note at the bench, as a value: which knife, after which step, what was measured, what went wrong."""

import hashlib
import math
from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import UTC, datetime, timedelta, timezone

from billet.base.errors import InputError

LONGEST_TEXT = 20_000


@dataclass(frozen=True)
class Measure:
    """One measured thing: ``value`` in the SI ``unit`` ("m", "kg", "K", "s", "HRC", "1"), and as it was ``written``.

    A thing told in words (``hardness "file skates"``) has no value and an empty unit.
    """

    name: str
    unit: str
    value: float | None
    written: str

    def __post_init__(self) -> None:
        _sound(self.name, self.unit, self.written)
        if self.value is not None and not math.isfinite(self.value):
            raise InputError(f'{self.name}: found "{self.written}", which is not a finite number; measure it again.')


@dataclass(frozen=True)
class Photo:
    """A photograph by reference: its path, the SHA-256 of its bytes when it was noted, and its size [bytes]."""

    path: str
    sha256: str
    size: int

    def __post_init__(self) -> None:
        _sound(self.path, self.sha256)


@dataclass(frozen=True)
class Place:
    """A stage: the bar's name, the step's number in the ledger (0 is the stack) and what the step does.

    A stage of the blade has no bar; its number goes on from the last bar's, and ``do`` is its name ("first temper").
    """

    bar: str
    number: int
    do: str = ""

    def __post_init__(self) -> None:
        _sound(self.bar, self.do)

    def __str__(self) -> str:
        if not self.bar:
            return self.do
        return f"{self.bar} {self.number}" + (f" ({self.do})" if self.do else "")


@dataclass(frozen=True)
class Entry:
    """One note. ``id`` is 0 until it is written; ``at`` is UTC in ISO 8601 and ``offset_min`` the local offset [min].

    ``recipe_sha256`` names the snapshot of the recipe's text kept with the record. A correction stands for itself: it
    holds every field as it should be read now, and ``corrects`` names the note it replaces. ``cure`` answers ``wrong``;
    ``typed`` is the line as it was typed, ``source`` the command that wrote the note by itself ("grind").
    """

    knife: str
    at: str
    offset_min: int = 0
    recipe_path: str = ""
    recipe_sha256: str = ""
    place: Place | None = None
    measures: tuple[Measure, ...] = ()
    note: str = ""
    wrong: str = ""
    photos: tuple[Photo, ...] = ()
    by: str = ""
    corrects: int | None = None
    id: int = 0
    cure: str = ""
    typed: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        _sound(self.knife, self.at, self.recipe_path, self.recipe_sha256, self.note, self.wrong, self.by)
        _sound(self.cure, self.typed, self.source)
        names = [measure.name for measure in self.measures]
        if len(set(names)) < len(names):
            raise InputError(f"A measure is given twice in one note ({', '.join(names)}); give it once.")

    @property
    def local_time(self) -> str:
        """Date and time of day as the clock at the bench showed them, to the minute."""
        zone = timezone(timedelta(minutes=self.offset_min))
        return datetime.fromisoformat(self.at).astimezone(zone).strftime("%Y-%m-%d %H:%M")

    @property
    def is_empty(self) -> bool:
        """True when the note says nothing at all."""
        return not (self.measures or self.note or self.wrong or self.cure or self.photos)

    def measured(self, name: str) -> float | None:
        """SI value of the measure ``name``, or None when it was not measured or only told in words."""
        return next((measure.value for measure in self.measures if measure.name == name), None)


def _sound(*texts: str) -> None:
    for text in texts:
        if len(text) > LONGEST_TEXT:
            raise InputError(f"A text of {len(text)} characters is too long for a note; keep it under {LONGEST_TEXT}.")
        try:
            text.encode()
        except UnicodeEncodeError:
            raise InputError(f"The text {text[:40]!a} holds bytes that are no letters; type it again.") from None
        if "\0" in text:
            raise InputError(f"The text {text[:40]!a} holds a NUL character; type it again without it.")


def now() -> tuple[str, int]:
    """The time of writing: UTC in ISO 8601 to the millisecond, and the local offset from it [min]."""
    local = datetime.now().astimezone()
    offset = local.utcoffset() or timedelta(0)
    return local.astimezone(UTC).isoformat(timespec="milliseconds"), round(offset.total_seconds() / 60)


def text_sha256(text: str) -> str:
    """SHA-256 of a recipe's text in UTF-8, in hexadecimal; an empty text has no snapshot and gives ``""``."""
    return hashlib.sha256(text.encode()).hexdigest() if text else ""


def latest(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """The notes that still stand, in the order of writing: those no later note corrects."""
    every = tuple(entries)
    replaced = {entry.corrects for entry in every}
    return tuple(entry for entry in every if entry.id not in replaced)


def as_dict(entry: Entry) -> dict[str, object]:
    """The note as plain JSON values, every field under its own name."""
    plain: dict[str, object] = {field.name: getattr(entry, field.name) for field in fields(entry)}
    plain["place"] = None if entry.place is None else dict(vars(entry.place))
    plain["measures"] = [dict(vars(measure)) for measure in entry.measures]
    plain["photos"] = [dict(vars(photo)) for photo in entry.photos]
    return plain
