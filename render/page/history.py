"""Undo and redo without end: every text a recipe had is kept beside the folder's recipes, and a restart keeps them too.

The text is written down here before the file is changed, each in one go. A file that no longer says what was last
written (changed by hand, or the program was stopped between the two) becomes one more text of its history.
"""

from __future__ import annotations

import hashlib
import sqlite3
import threading
from pathlib import Path

from billet.base.errors import InputError
from billet.base.safe_files import write_whole

NAME = ".billet-undo.sqlite"
_TABLES = """
create table if not exists texts (file text, number integer, text text not null, primary key (file, number));
create table if not exists place (file text primary key, number integer not null);
"""


def version_of(text: str) -> str:
    """What names a text."""
    return hashlib.sha256(text.encode()).hexdigest()


class ChangedOutsideError(InputError):
    """The file is not the one the page saw."""


class History:
    """The texts of every recipe of a folder, and which one stands now."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.RLock()
        try:
            self._db = sqlite3.connect(folder / NAME, check_same_thread=False, isolation_level=None, timeout=10)
            self._db.execute("pragma synchronous = full")
            self._db.executescript(_TABLES)
        except sqlite3.Error:
            self._db = sqlite3.connect(":memory:", check_same_thread=False, isolation_level=None)
            self._db.executescript(_TABLES)

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def text(self, path: Path) -> str:
        """The recipe's text as it stands on disk, entered where it is news. Raises InputError."""
        with self._lock:
            now = read_text(path)
            at, known = self._now(path.name)
            if known != now:
                self._push(path.name, at, now)
            return now

    def save(self, path: Path, seen: str, text: str) -> None:
        """Write a new text over the one of version ``seen``. Raises ChangedOutsideError, InputError."""
        with self._lock:
            now = self.text(path)
            if version_of(now) != seen:
                raise ChangedOutsideError(f"{path.name} was changed outside this page; look at it again first")
            if text != now:
                at, _ = self._now(path.name)
                self._push(path.name, at, text)
                self._write(path, text)

    def step(self, path: Path, seen: str, by: int) -> None:
        """Go back (-1) or forward (1) one text. Raises ChangedOutsideError, InputError."""
        with self._lock:
            if version_of(self.text(path)) != seen:
                raise ChangedOutsideError(f"{path.name} was changed outside this page; look at it again first")
            at, _ = self._now(path.name)
            row = self._db.execute(
                "select text from texts where file = ? and number = ?", (path.name, at + by)
            ).fetchone()
            if row is None:
                raise InputError("There is nothing to take back." if by < 0 else "There is nothing to do again.")
            self._db.execute("update place set number = ? where file = ?", (at + by, path.name))
            self._write(path, row[0])

    def ways(self, path: Path) -> tuple[bool, bool]:
        """Whether something can be taken back, and done again."""
        with self._lock:
            at, _ = self._now(path.name)
            low, high = self._db.execute(
                "select min(number), max(number) from texts where file = ?", (path.name,)
            ).fetchone()
            return (low is not None and low < at, high is not None and high > at)

    def earlier(self, path: Path, version: str) -> str | None:
        """A text the recipe had, by its version."""
        with self._lock:
            rows = self._db.execute("select text from texts where file = ? order by number desc", (path.name,))
            return next((text for (text,) in rows if version_of(text) == version), None)

    def _now(self, name: str) -> tuple[int, str | None]:
        row = self._db.execute("select number from place where file = ?", (name,)).fetchone()
        if row is None:
            return -1, None
        text = self._db.execute("select text from texts where file = ? and number = ?", (name, row[0])).fetchone()
        return row[0], None if text is None else text[0]

    def _push(self, name: str, at: int, text: str) -> None:
        """One more text after the present one; what could have been done again is forgotten."""
        self._db.execute("begin immediate")
        self._db.execute("delete from texts where file = ? and number > ?", (name, at))
        self._db.execute("insert into texts values (?, ?, ?)", (name, at + 1, text))
        self._db.execute("insert or replace into place values (?, ?)", (name, at + 1))
        self._db.execute("commit")

    def _write(self, path: Path, text: str) -> None:
        write_whole(path, text, force=True)


def read_text(path: Path) -> str:
    """The text of a recipe. Raises InputError."""
    try:
        if path.stat().st_size > 2_000_000:
            raise InputError(f"{path.name}: this file is too large for a recipe")
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except OSError as error:
        raise InputError(f"{path.name} cannot be read ({error.strerror}); is it still in the folder?") from None
    except UnicodeDecodeError:
        raise InputError(f"{path.name}: this text is not UTF-8; save it again as UTF-8") from None
