"""A file that the page keeps beside the recipes. What happens to it costs no recipe: it is opened again where it was taken
away or put in order, and where it is damaged the page says so and that it may be deleted.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path

_BUSY_S = 10.0
_DAMAGED = (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_ERROR)  # the last: it holds other tables


class Beside:
    """A file of tables in the recipes' folder; tables in memory where it cannot be had."""

    def __init__(self, place: Path, tables: str, lost: str) -> None:
        self._place, self._tables, self._lost = place, tables, lost
        self._open()

    def ready(self) -> None:
        """Open it again where another one lies in its place, or none, or where it was damaged."""
        if self.trouble or _mark(self._place) != self._seen:
            self.db.close()
            self._open()

    def refusal(self, error: sqlite3.Error, name: str) -> str:
        """Why the recipe of a name cannot be saved, and what to do."""
        self.trouble = self._damage(error)
        return self.trouble or (
            f"{name} cannot be saved ({error}); nothing was changed. Make room on the disk or wait for the other program, "
            "and try again."
        )

    def _open(self) -> None:
        self.trouble = ""
        try:
            self.db = _opened(self._place, self._tables)
        except sqlite3.Error as error:
            self.trouble = self._damage(error)
            self.db = _opened(":memory:", self._tables)
        self._seen = _mark(self._place)

    def _damage(self, error: sqlite3.Error) -> str:
        """The sentence that says it is damaged; empty where something else is wrong. Letters that are none carry no code."""
        code = getattr(error, "sqlite_errorcode", None)
        if code is not None and code & 0xFF not in _DAMAGED and not os.path.isdir(self._place):
            return ""
        return f"{self._place.name} beside the recipes is damaged; delete it and try again: the recipes are whole, {self._lost}."


def _opened(place: Path | str, tables: str) -> sqlite3.Connection:
    """The file; what is entered is on the disk at once."""
    db = sqlite3.connect(place, check_same_thread=False, isolation_level=None, timeout=_BUSY_S)
    try:
        if tables:  # looking at others' tables waits while one of them has its turn
            db.execute("pragma synchronous = full")
            db.executescript(tables)
    except sqlite3.Error:
        db.close()
        raise
    return db


def _mark(place: Path) -> tuple[int, int] | None:
    """What tells a file from another under its name; None where there is none."""
    with contextlib.suppress(OSError):
        found = place.stat()
        return found.st_dev, found.st_ino
    return None
