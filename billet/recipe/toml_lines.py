"""Where each key of a TOML text stands, so that errors can name the line.

TOML readers tell values but not their places. This reads only as much of the grammar as it takes to know which table a
line belongs to and where a value that spans lines ends; the values themselves are read by the standard library.
"""

from __future__ import annotations

import re

Path = tuple[str | int, ...]

_TABLE = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(
    r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=(.*)$"""
)
_PART = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")
_STRING = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'|#.*')


def index_lines(text: str) -> dict[Path, int]:
    """Line number (from 1) of every table and key, by its path; items of an array of tables are numbered from 0."""
    where: dict[Path, int] = {}
    count: dict[Path, int] = {}
    table: Path = ()
    depth, fence = 0, ""
    for number, line in enumerate(text.splitlines(), 1):
        if fence or depth > 0:
            depth, fence = _after(line, depth, fence)
            continue
        if header := _TABLE.match(line):
            table = _enter(header, count)
            where.setdefault(table, number)
        elif key := _KEY.match(line):
            path = table + _names(key.group(1))
            for end in range(len(table) + 1, len(path) + 1):
                where.setdefault(path[:end], number)
            depth, fence = _after(key.group(2), 0, "")
    return where


def line_of(where: dict[Path, int], path: Path) -> int | None:
    """Line of a path, or of the nearest thing around it."""
    for end in range(len(path), 0, -1):
        if path[:end] in where:
            return where[path[:end]]
    return None


def _names(text: str) -> Path:
    return tuple(part.strip("\"'") for part in _PART.findall(text))


def _enter(header: re.Match[str], count: dict[Path, int]) -> Path:
    """Path of a table header; arrays of tables met on the way stand at their last item."""
    path: Path = ()
    names = _names(header.group(2))
    for place, name in enumerate(names):
        path += (name,)
        if place == len(names) - 1 and header.group(1) == "[[":
            count[path] = count.get(path, -1) + 1
        if path in count:
            path += (count[path],)
    return path


def _after(line: str, depth: int, fence: str) -> tuple[int, str]:
    """Bracket depth and open multi-line quote after a piece of a value."""
    while True:
        if fence:
            end = line.find(fence)
            if end < 0:
                return depth, fence
            line, fence = line[end + 3 :], ""
        starts = [(line.find(q), q) for q in ('"""', "'''") if q in line]
        if not starts:
            break
        at, fence = min(starts)
        depth += _brackets(line[:at])
        line = line[at + 3 :]
    return depth + _brackets(line), ""


def _brackets(line: str) -> int:
    bare = _STRING.sub("", line)
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")
