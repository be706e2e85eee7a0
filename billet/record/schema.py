"""The tables of the bench record, version by version; a version that was given out is followed, never edited."""

import contextlib
import os
import sqlite3
from pathlib import Path

from billet.base.errors import InputError

APPLICATION_ID = 0x42454E43  # the letters "BENC": marks a file as a bench record and not some other program's table

_NEVER_REWRITTEN = tuple(
    f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
    f"BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END"
    for table in ("recipe", "entry", "measure", "photo")
    for verb in ("UPDATE", "DELETE")
)

VERSION_1 = (
    "CREATE TABLE recipe (sha256 TEXT PRIMARY KEY, text TEXT NOT NULL)",
    "CREATE TABLE entry (id INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL, offset_min INTEGER NOT NULL,"
    " knife TEXT NOT NULL, recipe_path TEXT NOT NULL, recipe_sha256 TEXT REFERENCES recipe,"
    " bar TEXT, step INTEGER, do TEXT, note TEXT NOT NULL, wrong TEXT NOT NULL,"
    " corrects INTEGER UNIQUE REFERENCES entry)",
    "CREATE TABLE measure (entry INTEGER NOT NULL REFERENCES entry, position INTEGER NOT NULL, name TEXT NOT NULL,"
    " unit TEXT NOT NULL, value REAL, written TEXT NOT NULL, PRIMARY KEY (entry, name))",
    "CREATE TABLE photo (entry INTEGER NOT NULL REFERENCES entry, position INTEGER NOT NULL, path TEXT NOT NULL,"
    " sha256 TEXT NOT NULL, size INTEGER NOT NULL, PRIMARY KEY (entry, position))",
    *_NEVER_REWRITTEN,
)
VERSION_2 = (  # two people share one forge: who wrote the note
    "ALTER TABLE entry ADD COLUMN written_by TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX entry_of_knife ON entry (knife)",
)
VERSION_3 = (  # what cured it, the line as it was typed, and the command that wrote the note by itself
    "ALTER TABLE entry ADD COLUMN cure TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE entry ADD COLUMN typed TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE entry ADD COLUMN source TEXT NOT NULL DEFAULT ''",
)
MIGRATIONS = (VERSION_1, VERSION_2, VERSION_3)
VERSION = len(MIGRATIONS)


def version_of(connection: sqlite3.Connection) -> int:
    """The schema version the file says it has; 0 for a new file."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def check_is_ours(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse another program's file and a record written by a newer version, before anything is changed."""
    connection.execute("BEGIN")  # one moment for all three: another program may be making the tables just now
    try:
        version = version_of(connection)
        mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
        tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    finally:
        if connection.in_transaction:  # a disk that fails has ended it already, and that is what is to be told
            connection.execute("COMMIT")
    if mark != APPLICATION_ID and (version or tables or mark):
        raise InputError(f"{path} is a table file of some other program, not a bench record; name another file.")
    if version > VERSION:
        raise InputError(
            f"{path} was written by a newer version of this tool (record version {version}, this tool knows up to "
            f"{VERSION}); update the tool, nothing was changed."
        )


def upgrade(connection: sqlite3.Connection, path: Path) -> Path | None:
    """Bring the file to the newest version in one transaction; returns the copy of an old one made first, if any.

    A new file needs no copy. Several programs may arrive here together: the first does the work while the others wait,
    and each reads the version again once it is its turn.
    """
    if version_of(connection) == VERSION:
        return None
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = version_of(connection)
        kept = _copy_beside(path, version) if 0 < version < VERSION else None
        for statement in (statement for statements in MIGRATIONS[version:] for statement in statements):
            connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {max(version, VERSION)}")
        connection.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise
    return kept


def _copy_beside(path: Path, version: int) -> Path:
    """The copy, read through a connection of its own: the one that holds the transaction shows what is not yet so."""
    reader = sqlite3.connect(path)
    try:
        return keep_copy(reader, path, version)
    finally:
        reader.close()


def keep_copy(connection: sqlite3.Connection, path: Path, version: int) -> Path:
    """Copy the record as it stands to ``name.vN.bak`` (a number is added when that exists), whole or not at all."""
    target = path.with_name(f"{path.name}.v{version}.bak")
    count = 2
    while target.exists():
        target = path.with_name(f"{path.name}.v{version}-{count}.bak")
        count += 1
    write_copy(connection, target)
    return target


def write_copy(connection: sqlite3.Connection, target: Path) -> None:
    """Copy the open record to ``target`` page by page, beside it first and then put in its place, synced to disk."""
    beside = target.with_name(f".{target.name}.{os.getpid()}.tmp")
    try:
        copy = sqlite3.connect(beside)
        try:
            connection.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        finally:
            copy.close()
        with beside.open("rb") as file:
            os.fsync(file.fileno())
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)
