"""Undo and redo without end: every text a recipe had is kept beside the folder's recipes, and a restart keeps them too.

The text is written down here before the file is changed, each in one go. A file that no longer says what was last
written (changed by hand, or the program was stopped between the two) becomes one more text of its history. Of several
programs that serve one folder only one saves at a time: each takes its turn, a lock that a killed program gives back.
"""

from __future__ import annotations

import contextlib
import hashlib
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path

from billet.base.errors import InputError
from billet.base.safe_files import text_like, write_whole
from billet.recipe.read import read_text as recipe_text
from render.page.beside import Beside

NAME, TURN = ".billet-undo.sqlite", ".billet-turn.sqlite"
_Texts = list[tuple[int, str]]
_TABLES = """
create table if not exists texts (file text, number integer, text text not null, primary key (file, number));
create table if not exists place (file text primary key, number integer not null);
"""


def version_of(text: str) -> str:
    """What names a text."""
    return hashlib.sha256(text.encode()).hexdigest()


class ChangedOutsideError(InputError):
    """The file is not the one the page saw."""


def still(path: Path, text: str, seen: object) -> str:
    """The text, where it is the one of version ``seen``. Raises ChangedOutsideError."""
    if version_of(text) != seen:
        raise ChangedOutsideError(f"{path.name} was changed outside this page; look at it again first")
    return text


class History:
    """The texts of every recipe of a folder, and which one stands now."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.RLock()
        self._texts = Beside(folder / NAME, _TABLES, "only what could be taken back is lost")
        self._turns = Beside(folder / TURN, "", "and nothing is lost with it")

    @property
    def _db(self) -> sqlite3.Connection:
        return self._texts.db

    def close(self) -> None:
        """Close the files."""
        self._texts.db.close()
        self._turns.db.close()

    def text(self, path: Path) -> str:
        """The recipe's text as it stands on disk, entered where it is news and there is room. Raises InputError."""
        with self._lock:
            now = read_text(path)
            self._texts.ready()
            with contextlib.suppress(InputError, sqlite3.Error):
                if self._now(path.name)[1] != now:
                    with self._turn(path):
                        self._entered(path)
            return now

    def save(self, path: Path, seen: str, text: str) -> None:
        """Write a new text over the one of version ``seen``. Raises ChangedOutsideError, InputError."""
        with self._turn(path):
            at, now = self._entered(path)
            if text == still(path, now, seen):
                return
            forgotten = self._push(path.name, at, text)
            try:
                write_whole(path, text_like(path, text), force=True)
            except InputError:
                self._take_back(path.name, at, forgotten)
                raise

    def step(self, path: Path, seen: str, by: int) -> None:
        """Go back (-1) or forward (1) one text. Raises ChangedOutsideError, InputError."""
        with self._turn(path):
            at, now = self._entered(path)
            still(path, now, seen)
            row = self._db.execute(
                "select text from texts where file = ? and number = ?", (path.name, at + by)
            ).fetchone()
            if row is None:
                raise InputError("There is nothing to take back." if by < 0 else "There is nothing to do again.")
            with self._together():
                self._db.execute("update place set number = ? where file = ?", (at + by, path.name))
                write_whole(path, text_like(path, row[0]), force=True)

    def ways(self, path: Path) -> tuple[bool, bool]:
        """Whether something can be taken back, and done again; nothing where what is kept cannot be read."""
        with self._lock, contextlib.suppress(sqlite3.Error):
            self._texts.ready()
            at, _ = self._now(path.name)
            low, high = self._db.execute(
                "select min(number), max(number) from texts where file = ?", (path.name,)
            ).fetchone()
            return (low is not None and low < at, high is not None and high > at)
        return False, False

    def earlier(self, path: Path, version: str) -> str | None:
        """A text the recipe had, by its version. Raises InputError where what is kept is damaged."""
        with self._lock:
            self._sound(self._texts)
            try:
                rows = self._db.execute("select text from texts where file = ? order by number desc", (path.name,))
                return next((text for (text,) in rows if version_of(text) == version), None)
            except sqlite3.Error as error:
                raise InputError(self._texts.refusal(error, path.name)) from None

    def _now(self, name: str) -> tuple[int, str | None]:
        row = self._db.execute("select number from place where file = ?", (name,)).fetchone()
        if row is None:
            return -1, None
        text = self._db.execute("select text from texts where file = ? and number = ?", (name, row[0])).fetchone()
        return row[0], None if text is None else text[0]

    def _entered(self, path: Path) -> tuple[int, str]:
        """Number and text of what stands on disk, entered where it is news; only in our turn."""
        now = read_text(path)
        at, known = self._now(path.name)
        if known == now:
            return at, now
        self._push(path.name, at, now)
        return at + 1, now

    def _push(self, name: str, at: int, text: str) -> _Texts:
        """One more text after the present one; what could have been done again is forgotten, and returned."""
        with self._together():
            after = "from texts where file = ? and number > ?"
            forgotten = self._db.execute(f"select number, text {after}", (name, at)).fetchall()
            self._db.execute(f"delete {after}", (name, at))
            self._db.execute("insert into texts values (?, ?, ?)", (name, at + 1, text))
            self._db.execute("insert or replace into place values (?, ?)", (name, at + 1))
        return forgotten

    def _take_back(self, name: str, at: int, forgotten: _Texts) -> None:
        """Forget a text that could not be written, and know again what was forgotten for it."""
        with contextlib.suppress(sqlite3.Error), self._together():
            self._db.execute("delete from texts where file = ? and number > ?", (name, at))
            self._db.executemany("insert into texts values (?, ?, ?)", [(name, *row) for row in forgotten])
            self._db.execute("insert or replace into place values (?, ?)", (name, at))

    @contextlib.contextmanager
    def _together(self) -> Iterator[None]:
        """All of it entered, or nothing."""
        self._db.execute("begin immediate")
        try:
            yield
            self._db.execute("commit")
        except BaseException:
            if self._db.in_transaction:
                self._db.execute("rollback")
            raise

    @staticmethod
    def _sound(*files: Beside) -> None:
        """Have files ready. Raises InputError for one that is damaged."""
        for one in files:
            one.ready()
            if one.trouble:
                raise InputError(one.trouble)

    @contextlib.contextmanager
    def _turn(self, path: Path) -> Iterator[None]:
        """Nobody else saves meanwhile, in this program or another. Raises InputError for what the disk refuses."""
        with self._lock:
            self._sound(self._turns, self._texts)
            try:
                self._turns.db.execute("begin exclusive")
            except sqlite3.Error as error:
                raise InputError(self._turns.refusal(error, path.name)) from None
            try:
                yield
            except sqlite3.Error as error:
                raise InputError(self._texts.refusal(error, path.name)) from None
            finally:
                with contextlib.suppress(sqlite3.Error):  # what is saved stays saved
                    self._turns.db.execute("rollback")


def read_text(path: Path) -> str:
    """The text of a recipe of the folder. Raises InputError."""
    if not path.is_file():
        raise InputError(f"{path.name} cannot be read; is it still in the folder?")
    return recipe_text(path)
