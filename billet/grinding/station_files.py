"""Stations from a file: CSV with a header line, or TOML with one ``[[station]]`` each.

The columns and keys are ``position``, ``place``, ``thickness`` and, where it was measured, ``bow``; ``note`` is for the
smith. Every cell carries its unit, or the header does (``thickness mm``); units may be mixed.
"""

from __future__ import annotations

import csv
import difflib
import re
import tomllib
from pathlib import Path
from typing import Any

from billet.base.errors import InputError
from billet.base.safe_files import small_text
from billet.base.table_text import table_rows
from billet.base.units import Kind, read
from billet.grinding.stations import Place, Reading

COLUMNS = ("position", "place", "thickness", "bow", "note")
_NEEDED = COLUMNS[:3]
_MOST = 1_000_000  # bytes; a page of stations is a few hundred
_HEADER = "position,place,thickness,bow"


def read_stations(path: Path) -> tuple[Reading, ...]:
    """Read a file of stations, TOML where it ends in .toml and CSV else. Raises InputError naming the line."""
    text = _text(path)
    return _from_toml(text, path.name) if path.suffix.lower() == ".toml" else _from_csv(text, path.name)


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > _MOST:
            raise InputError(f"{path.name}: this file is larger than any list of stations; is it the right one?")
        return small_text(path)
    except OSError as fault:
        raise InputError(
            f"{path}: cannot be read ({fault.strerror}); give a file of stations whose first line is {_HEADER}."
        ) from None
    except UnicodeDecodeError:
        raise InputError(f"{path.name}: this is not a text file in UTF-8; save the stations as CSV or TOML.") from None


def _from_csv(text: str, name: str) -> tuple[Reading, ...]:
    try:
        rows = [(n, row) for n, row in table_rows(text, strict=True) if _holds(row)]
    except csv.Error as fault:
        raise InputError(f"{name}: this is no CSV ({fault}); write one station a line under {_HEADER}.") from None
    if not rows:
        raise InputError(f"{name}: the file is empty; its first line should be {_HEADER}.")
    line, header = rows[0]
    columns = _columns(header, f"{name} line {line}")
    return tuple(_row(row, columns, f"{name} line {n}") for n, row in rows[1:])


def _holds(row: list[str]) -> bool:
    return any(cell.strip() for cell in row) and not row[0].lstrip().startswith("#")


def _columns(header: list[str], source: str) -> dict[str, tuple[int, str]]:
    """Return for each known column its place and the unit its heading gives."""
    found: dict[str, tuple[int, str]] = {}
    for place, heading in enumerate(header):
        word, _, unit = heading.strip().lower().partition(" ")
        if word:
            _known(word, source)
            if word in found:
                raise InputError(f'{source}: the column "{word}" is there twice; keep one.')
            found[word] = place, unit.strip(" ()[]")
    missing = [word for word in _NEEDED if word not in found]
    if missing:
        raise InputError(
            f'{source}: there is no column "{missing[0]}", found "{",".join(header).strip()}"; '
            f"the first line should be {_HEADER}."
        )
    return found


def _row(row: list[str], columns: dict[str, tuple[int, str]], source: str) -> Reading:
    cells = {word: (row[place].strip() if place < len(row) else "") for word, (place, _) in columns.items()}
    units = {word: unit for word, (_, unit) in columns.items()}
    if len([cell for cell in row if cell.strip()]) > len(columns):
        raise InputError(f"{source}: found more cells than columns; is there a comma inside a number? Write 3.1 mm.")
    return _reading({word: _with_unit(cell, units[word]) for word, cell in cells.items()}, source)


def _with_unit(cell: str, unit: str) -> str:
    """A bare number takes the unit of its heading."""
    return re.sub(r"^(-?[\d./ -]*\d\.?)(?=\s*(?:left|right)?$)", rf"\1 {unit}", cell) if unit else cell


def _from_toml(text: str, name: str) -> tuple[Reading, ...]:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise InputError(f"{name}: this is no TOML ({fault}); write one [[station]] for each station.") from None
    stations = data.get("station")
    stray = [key for key in data if key != "station"]
    if stray or not isinstance(stations, list) or not stations:
        found = f'found "{stray[0]}"' if stray else "found none"
        raise InputError(f'{name}: {found}, wanted [[station]] tables such as position = "50 mm", place = "spine".')
    return tuple(_table(table, f"{name} station {n}") for n, table in enumerate(stations, 1))


def _table(table: Any, source: str) -> Reading:
    if not isinstance(table, dict):
        raise InputError(f"{source}: found {table!r}, wanted a table with {', '.join(_NEEDED)}.")
    for key, value in table.items():
        _known(key, source)
        if not isinstance(value, str):
            raise InputError(f'{source}: {key}: found {value!r}, a number without a unit; write it like "3.1 mm".')
    missing = [key for key in _NEEDED if key not in table]
    if missing:
        raise InputError(f"{source}: there is no {missing[0]}; wanted {', '.join(_NEEDED)}.")
    return _reading({key: value.strip() for key, value in table.items()}, source)


def _known(word: str, source: str) -> None:
    if word not in COLUMNS:
        near = difflib.get_close_matches(word, COLUMNS, n=1)
        offer = f'did you mean "{near[0]}"?' if near else f"known are {', '.join(COLUMNS)}."
        raise InputError(f'{source}: I do not know "{word}" here; {offer}')


def _reading(cells: dict[str, str], source: str) -> Reading:
    """Return the reading of texts that carry their units."""
    position, thickness = (read(cells[key], Kind.LENGTH, f"{source}: {key}") for key in ("position", "thickness"))
    place = _place(cells["place"], source)
    return Reading(position, place, thickness, _bow(cells.get("bow", ""), source), cells["thickness"], source)


def _place(text: str, source: str) -> Place:
    word = text.lower()
    if word in ("spine", "edge"):
        return "spine" if word == "spine" else "edge"
    if not re.search(r"\d", word):
        near = difflib.get_close_matches(word, ("spine", "edge"), n=1)
        offer = f'did you mean "{near[0]}"?' if near else 'wanted "spine", "edge" or a height above it such as "20 mm".'
        raise InputError(f'{source}: place: found "{text}"; {offer}')
    return read(re.sub(r"\s*(up|high|above( the edge)?)$", "", word), Kind.LENGTH, f"{source}: place")


def _bow(text: str, source: str) -> float | None:
    """Return a bow [m], positive to the right; None where the cell is empty."""
    word = text.lower()
    if word in ("", "-"):
        return None
    if word in ("0", "straight", "none"):
        return 0.0
    side = re.search(r"\b(left|right)\b", word)
    size = read(re.sub(r"\b(left|right)\b", "", word).strip(), Kind.LENGTH, f"{source}: bow", signed=True)
    if side and size < 0:
        raise InputError(f'{source}: bow: found "{text}", a minus and a side; write "0.2 mm left" or "-0.2 mm".')
    return -size if side and side[1] == "left" else size
