"""Which files a command has read: they are never written over, whatever was asked.

Python tells a hook of every file it opens. So no reader needs to announce itself, and none can be forgotten: recipe,
shop, stations, relief, outline, photograph, record, and whatever comes to be read later.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any
from urllib.parse import unquote

_WRITES = os.O_WRONLY | os.O_RDWR
_seen: set[str] | None = None
_hooked = False


def watch() -> None:
    """Begin to note what is read; what was noted before is forgotten."""
    global _seen, _hooked
    _seen = set()
    if not _hooked:
        sys.addaudithook(_note)
        _hooked = True


def rest() -> None:
    """Stop, and forget what was noted."""
    global _seen
    _seen = None


def was_read(path: Path) -> bool:
    """Whether the file at a path, under this or another name, was read since the watch began."""
    if not _seen or not path.exists():
        return False
    return any(_same(path, name) for name in tuple(_seen))


def _same(path: Path, name: str) -> bool:
    try:
        return os.path.samefile(path, name)
    except OSError:
        return False


def _note(event: str, args: tuple[Any, ...]) -> None:
    """Keep the name of a file that is opened to be read, or of a table file."""
    if _seen is None:
        return
    if event == "open":
        name, mode, flags = args
        written = bool(set(mode) & set("wax+")) if isinstance(mode, str) else bool((flags or 0) & _WRITES)
        if not written and isinstance(name, str | bytes | os.PathLike):
            _seen.add(os.path.abspath(os.fsdecode(name)))
    elif event == "sqlite3.connect":
        name = os.fsdecode(args[0])
        _seen.add(os.path.abspath(unquote(name.removeprefix("file:").partition("?")[0])))
