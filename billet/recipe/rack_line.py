"""A bar in hand told in a line: "2 of 1084 1/8 x 1 1/2 x 48 in at 14"."""

from __future__ import annotations

import re
from typing import Any

from billet.base.errors import InputError
from billet.base.units import Kind, read

_LINE = re.compile(r"^\s*(?:(\d{1,4})\s*(?:of|x)\s+)?(.+?)(?:\s+at\s+(\d+(?:\.\d+)?))?\s*$", re.IGNORECASE)
_BY = re.compile(r"\s*[x×]\s*(?=[\d.½¼¾⅛⅜⅝⅞])")
_UNIT = re.compile(r"[A-Za-zµ\"']+\s*$")
_GAP = re.compile(r"\s+(?=[\d.½¼¾⅛⅜⅝⅞])")
WANTED = (
    'wanted steel, thickness, width and length, such as "1084 1/8 x 1 1/2 x 48 in" or "2 of 15N20 1.5 x 40 x 1000 mm"'
)


def bar_of_line(text: object, field: str) -> dict[str, Any]:
    """The keys of a rack bar as texts, sizes with their units; a unit given once at the end counts for all three. How
    many bars may stand before, the price of one after "at". Raises InputError.
    """
    line = _LINE.match(text) if isinstance(text, str) else None
    parts = _BY.split(line[2]) if line else []
    unit = _UNIT.search(parts[2]) if len(parts) == 3 else None
    if line is None or unit is None:
        raise InputError(f"{field}: found {_quoted(text)}, {WANTED}")
    first, width, length = (p if _ends_in_unit(p) else f"{p} {unit[0].strip()}" for p in parts)
    steel, thickness = _steel_and_size(first, field, text)
    for size in (thickness, width, length):
        if read(size, Kind.LENGTH, field) <= 0:
            raise InputError(f"{field}: found {_quoted(text)}, where a size is nothing; {WANTED}")
    out: dict[str, Any] = {"steel": steel, "thickness": thickness, "width": width, "length": length}
    if line[1]:
        out["count"] = int(line[1])
    if line[3]:
        out["price"] = float(line[3])
    return out


def _ends_in_unit(part: str) -> bool:
    """Whether a size carries its own unit: letters after its last figure."""
    return re.search(r"[\d.½¼¾⅛⅜⅝⅞]\s*[A-Za-zµ\"']+\s*$", part) is not None


def _steel_and_size(first: str, field: str, text: object) -> tuple[str, str]:
    for gap in _GAP.finditer(first):
        name, size = first[: gap.start()].strip(), first[gap.end() :].strip()
        try:
            read(size, Kind.LENGTH, field)
        except InputError:
            continue
        if name:
            return name, size
    raise InputError(f"{field}: found {_quoted(text)}, {WANTED}")


def _quoted(text: object) -> str:
    return f'"{text[:80]}"' if isinstance(text, str) else repr(text)[:80]
