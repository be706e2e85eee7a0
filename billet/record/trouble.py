"""What can go wrong with the record's file, each said in one sentence."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from billet.base.errors import InputError

DAMAGED = "{path} is damaged or no bench record; put the newest copy made with `billet record backup` in its place."
_SENTENCES = (
    ("full", "The disk that holds {path} is full; nothing was written, so make room and do it again."),
    ("locked", "Another program has held {path} for {busy_s:g} s; nothing was written, so close it and try again."),
    ("readonly", "{path} or its folder is read-only; nothing was written, so name another file with --bench."),
    ("unable to open", "{path} cannot be opened; check that its folder exists and may be written to."),
    (
        "disk i/o",
        "The disk failed or is full while {path} was in use; make room or check the disk, then list what is there.",
    ),
    ("not a database", DAMAGED),
    ("malformed", DAMAGED),
    ("never rewritten", "Notes in {path} are added and never rewritten; write a correction instead."),
)


@contextmanager
def plain_words(path: Path, busy_s: float = 5.0) -> Iterator[None]:
    """Turn an error of the table file or the disk into an ``InputError`` of one sentence."""
    try:
        yield
    except sqlite3.Error as error:
        raise InputError(_sentence(str(error), path, busy_s)) from error
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(f"{path} cannot be written or read ({reason}); check the disk and the folder.") from error


def _sentence(message: str, path: Path, busy_s: float) -> str:
    low = message.lower().replace("read-only", "readonly").replace("attempt to write a readonly", "readonly")
    known = next((text for sign, text in _SENTENCES if sign in low), None)
    if known is None:
        return f"{path} cannot be used ({message}); put a copy made with `billet record backup` in its place."
    return known.format(path=path, busy_s=busy_s)
