"""The record's file: one SQLite table file, opened, added to and read. A note that ``add`` returned is on the disk."""

import os
import shutil
import sqlite3
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from billet.base.errors import InputError
from billet.base.safe_files import check_free
from billet.record.entry import Entry, Measure, Photo, Place, text_sha256
from billet.record.schema import check_is_ours, upgrade, write_copy
from billet.record.trouble import DAMAGED, plain_words

NAME = "bench.sqlite"
BUSY_S = 5.0
_COLUMNS = "id, at, offset_min, knife, recipe_path, recipe_sha256, bar, step, do, note, wrong, written_by, corrects, cure, typed, source"


def find_bench(folder: Path) -> Path | None:
    """The nearest ``bench.sqlite`` in ``folder`` or its parents, up to the home folder or the root, or None."""
    here = folder.resolve()
    home = Path(os.path.expanduser("~")).resolve()
    for place in (here, *here.parents):
        if (place / NAME).is_file():
            return place / NAME
        if place == home:
            return None
    return None


def bench_near(folder: Path) -> Path:
    """The record found near a folder, or the one to be started in it."""
    return find_bench(folder) or folder / NAME


class Bench:
    """An open bench record. Use it in a ``with`` block; each ``add`` is one transaction, safe beside other writers.

    Opening creates the file when it is missing, upgrades an older version after keeping a copy (``kept``), and refuses
    a newer version, another program's file and a damaged one with ``InputError``. The write-ahead journal is used where
    the disk allows it, else the rollback journal; both wait for the disk at every note.
    """

    def __init__(self, path: Path, *, busy_s: float = BUSY_S) -> None:
        self.path = path
        self._busy_s = busy_s
        if path.is_dir():
            raise InputError(f"{path} is a folder, not a bench record; name a file such as {path / NAME}.")
        with plain_words(path, busy_s):
            self._connection = sqlite3.connect(path, timeout=busy_s, isolation_level=None)
            try:
                self.kept = self._prepare()
            except BaseException:
                self._connection.close()
                raise

    def _prepare(self) -> Path | None:
        check_is_ours(self._connection, self.path)
        self.journal = _set_journal(self._connection, self._busy_s)
        self._connection.execute("PRAGMA synchronous = FULL")
        self._connection.execute("PRAGMA foreign_keys = ON")
        if self._connection.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok":
            raise InputError(DAMAGED.format(path=self.path))
        return upgrade(self._connection, self.path)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; the last program to do so folds the journal into it."""
        self._connection.close()

    def add(self, entry: Entry, recipe_text: str = "") -> Entry:
        """Write one note with the snapshot of its recipe and return it with its number; it is on the disk by then.

        A correction must name a note that exists and has not been corrected. Raises ``InputError``; then nothing of
        the note was written.
        """
        if entry.recipe_sha256 != text_sha256(recipe_text):
            raise ValueError("recipe_sha256 must be the hash of recipe_text")
        with self._writing():
            self._check_correction(entry)
            if recipe_text:
                self._connection.execute(
                    "INSERT OR IGNORE INTO recipe VALUES (?, ?)", (entry.recipe_sha256, recipe_text)
                )
            number = self._insert(entry)
        return replace(entry, id=number)

    def add_all(self, entries: list[Entry], recipes: dict[str, str]) -> None:
        """Write notes that already have numbers, and their recipes by hash, in one transaction (restoring a backup)."""
        with self._writing():
            if self._connection.execute("SELECT count(*) FROM entry").fetchone()[0]:
                raise InputError(f"{self.path} already holds notes; restore into a new file.")
            self._connection.executemany("INSERT INTO recipe VALUES (?, ?)", recipes.items())
            for entry in entries:
                self._insert(entry)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with plain_words(self.path, self._busy_s):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    def _check_correction(self, entry: Entry) -> None:
        if entry.corrects is None:
            return
        self.entry(entry.corrects)
        later = self._connection.execute("SELECT id FROM entry WHERE corrects = ?", (entry.corrects,)).fetchone()
        if later:
            raise InputError(f"Note {entry.corrects} was already corrected by note {later[0]}; correct that one.")

    def _insert(self, entry: Entry) -> int:
        place = entry.place
        cursor = self._connection.execute(
            f"INSERT INTO entry ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                *(entry.id or None, entry.at, entry.offset_min, entry.knife, entry.recipe_path),
                *(entry.recipe_sha256 or None, *((place.bar, place.number, place.do) if place else (None, None, None))),
                *(entry.note, entry.wrong, entry.by, entry.corrects, entry.cure, entry.typed, entry.source),
            ),
        )
        number = int(cursor.lastrowid or 0)
        for position, measure in enumerate(entry.measures):
            row = (number, position, measure.name, measure.unit, measure.value, measure.written)
            self._connection.execute("INSERT INTO measure VALUES (?, ?, ?, ?, ?, ?)", row)
        for position, photo in enumerate(entry.photos):
            row_of_photo = (number, position, photo.path, photo.sha256, photo.size)
            self._connection.execute("INSERT INTO photo VALUES (?, ?, ?, ?, ?)", row_of_photo)
        return number

    def entries(self, knife: str | None = None) -> tuple[Entry, ...]:
        """Every note in the order of writing, corrected ones too; of one ``knife`` when its title is given."""
        with plain_words(self.path, self._busy_s):
            where, given = ("WHERE knife = ?", (knife,)) if knife is not None else ("", ())
            return self._read(where, given)

    def entry(self, number: int) -> Entry:
        """The note of that number; an unknown number raises ``InputError``."""
        with plain_words(self.path, self._busy_s):
            found = self._read("WHERE id = ?", (number,)) if abs(number) < 2**63 else ()
        if not found:
            raise InputError(f"There is no note {number} in {self.path}; `billet record list` shows the numbers.")
        return found[0]

    def _read(self, where: str, given: tuple[object, ...]) -> tuple[Entry, ...]:
        """Notes with their measures and photographs, as of one moment."""
        inner = self._connection.in_transaction
        if not inner:
            self._connection.execute("BEGIN")
        try:
            rows = self._connection.execute(f"SELECT {_COLUMNS} FROM entry {where} ORDER BY id", given).fetchall()
            measures = self._parts("measure", "name, unit, value, written", where, given)
            photos = self._parts("photo", "path, sha256, size", where, given)
        finally:
            if not inner and self._connection.in_transaction:
                self._connection.execute("COMMIT")
        return tuple(_entry(row, measures[row[0]], photos[row[0]]) for row in rows)

    def _parts(self, table: str, columns: str, where: str, given: tuple[object, ...]) -> dict[int, list[Any]]:
        which = f"entry IN (SELECT id FROM entry {where})"
        select = f"SELECT entry, {columns} FROM {table} WHERE {which} ORDER BY entry, position"
        parts: dict[int, list[Any]] = defaultdict(list)
        for number, *values in self._connection.execute(select, given):
            parts[number].append(values)
        return parts

    def recipes(self) -> dict[str, str]:
        """The snapshots of recipe texts kept with the notes, by their SHA-256."""
        with plain_words(self.path, self._busy_s):
            return dict(self._connection.execute("SELECT sha256, text FROM recipe ORDER BY sha256").fetchall())

    def copy_to(self, target: Path, *, force: bool = False) -> None:
        """Copy the whole record to a new file while others may be writing; ``target`` is whole or not there at all."""
        if target.exists() and os.path.samefile(target, self.path):
            raise InputError(f"{target} exists; name another file (never the record itself).")
        check_free(target, force)
        with plain_words(target, self._busy_s):
            write_copy(self._connection, target)


def _set_journal(connection: sqlite3.Connection, busy_s: float) -> str:
    """Ask for the write-ahead journal; where that cannot be had (network folder), the rollback journal."""
    deadline = time.monotonic() + busy_s
    while True:  # switching the journal does not wait for another writer by itself
        try:
            mode = str(connection.execute("PRAGMA journal_mode = WAL").fetchone()[0])
            return mode if mode == "wal" else _rollback_journal(connection)
        except sqlite3.OperationalError as error:
            if "i/o" in str(error).lower():
                return _rollback_journal(connection)
            if "locked" not in str(error) or time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def _rollback_journal(connection: sqlite3.Connection) -> str:
    return str(connection.execute("PRAGMA journal_mode = DELETE").fetchone()[0])


def _entry(row: tuple[Any, ...], measures: list[Any], photos: list[Any]) -> Entry:
    number, at, offset, knife, path, sha256, bar, step, do, note, wrong, by, corrects, cure, typed, source = row
    return Entry(
        knife=knife, at=at, offset_min=offset, recipe_path=path, recipe_sha256=sha256 or "",
        place=None if step is None else Place(bar, step, do), measures=tuple(Measure(*values) for values in measures),
        note=note, wrong=wrong, photos=tuple(Photo(*values) for values in photos), by=by, corrects=corrects, id=number, cure=cure, typed=typed, source=source,
    )  # fmt: skip


def all_of(path: Path) -> tuple[tuple[Entry, ...], dict[str, str]]:
    """Every note of a record and the recipes kept with them; nothing where there is no record yet."""
    if not path.is_file():
        return (), {}
    with open_to_read(path) as bench:
        return bench.entries(), bench.recipes()


@contextmanager
def open_to_read(path: Path) -> Iterator[Bench]:
    """Open a record that must exist; one in a read-only folder is read from a temporary copy, journal and all."""
    if not path.is_file():
        raise InputError(f"There is no bench record at {path}; `billet record add` starts one.")
    if os.access(path, os.W_OK) and os.access(path.resolve().parent, os.W_OK):
        with Bench(path) as bench:
            yield bench
        return
    with tempfile.TemporaryDirectory() as folder:
        with plain_words(path):
            for name in (path.name, path.name + "-wal"):
                if path.with_name(name).exists():
                    shutil.copyfile(path.with_name(name), Path(folder) / name)
        with Bench(Path(folder) / path.name) as bench:
            yield bench
