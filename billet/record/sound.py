"""What a note that comes from a file must be before it is taken: nothing that could not have come through the door."""

from __future__ import annotations

import re
from datetime import datetime

from billet.record.entry import Entry, Measure, Photo, Place
from billet.record.measures import doubt

MOST_PARTS = 1000  # measures or photographs of one note: common practice, no source
MOST_STEPS = 100_000  # of one bar, as the ledger numbers them
LARGEST_PHOTO = 2**40  # [bytes]
LARGEST_NUMBER = 2**53  # of a note; whole numbers beyond it are not exact in every JSON reader (RFC 8259, section 6)
_FARTHEST_MIN = 14 * 60  # local time runs from UTC-12 to UTC+14 (ISO 8601; the zones in use, from memory)
_SHA256 = re.compile("[0-9a-f]{64}")  # FIPS 180-4


def fault_of(entry: Entry) -> str:
    """What makes a note impossible, in a few words; empty when it is sound."""
    return next((fault for fault in _faults(entry) if fault), "")


def _faults(entry: Entry) -> list[str]:
    parts = len(entry.measures) + len(entry.photos)
    return [
        "" if 1 <= entry.id <= LARGEST_NUMBER else f"its number {entry.id} is out of range",
        _time(entry.at),
        "" if abs(entry.offset_min) <= _FARTHEST_MIN else f"a local time {entry.offset_min} minutes from UTC",
        "" if not entry.recipe_sha256 or _SHA256.fullmatch(entry.recipe_sha256) else "its recipe has no sound hash",
        "" if parts <= MOST_PARTS else f"it holds {parts} measures and photographs",
        _place(entry.place),
        *(_measure(measure) for measure in entry.measures),
        *(_photo(photo) for photo in entry.photos),
    ]


def _time(at: str) -> str:
    if datetime.fromisoformat(at).tzinfo is None:
        return f"its time {at[:40]} does not say from which zone"
    return ""


def _place(place: Place | None) -> str:
    if place is None or 0 <= place.number <= MOST_STEPS:
        return ""
    return f"the step {place.number} is out of range"


def _measure(measure: Measure) -> str:
    why = doubt(measure)
    return f"{measure.name[:40]} {why}" if why else ""


def _photo(photo: Photo) -> str:
    if not _SHA256.fullmatch(photo.sha256):
        return "a photograph has no sound hash"
    return "" if 0 <= photo.size <= LARGEST_PHOTO else f"a photograph of {photo.size} bytes"
