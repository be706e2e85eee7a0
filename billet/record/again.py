"""A new recipe from an old one: its text under a new title, the lessons at its head, and the note that ties them."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

from billet.base.errors import InputError
from billet.record.entry import Entry, latest, now, text_sha256
from billet.record.lessons import AGAIN
from billet.record.photos import kept_path
from billet.record.take import Knife
from billet.record.visible import one_line

_TITLE = re.compile(r"^title\s*=[^\r\n]*", re.MULTILINE)
_FILE = re.compile(r"""((?:^\s*|\b)(?:points|image|outline)\s*=\s*)(["'])([^"'\n]+)\2""", re.MULTILINE)


def titles_of(title: str, taken: set[str]) -> str:
    """The old title with the first number that no knife of the record has."""
    base = re.sub(r",? no\. \d+$", "", title)
    return next(name for count in range(2, 10_000) if (name := f"{base}, no. {count}") not in taken | {title})


def lesson_lines(entries: Iterable[Entry], title: str) -> tuple[str, ...]:
    """What went wrong on the old knife, stage by stage, and its cures."""
    own = [one for one in latest(entries) if one.knife == title and (one.wrong or one.cure)]
    return tuple(
        one_line(
            f"{one.place.do if one.place else 'any stage'}: "
            + "; ".join(text for text in (one.wrong, f"cure: {one.cure}" if one.cure else "") if text)
        )
        for one in own
    )


def retitled(text: str, title: str) -> str:
    """A recipe's text under another title, all else as it was. Raises InputError for a title that cannot be written."""
    said = title.replace("\\", "\\\\").replace('"', '\\"')
    if re.search(r"[\x00-\x1f\x7f-\x9f]", title):
        raise InputError("title: found a control character, wanted letters, figures and signs.")
    line, text = f'title = "{said}"', text.lstrip("﻿")
    return _TITLE.sub(lambda _: line, text, count=1) if _TITLE.search(text) else f"{line}\n{text}"


def restarted(knife: Knife, title: str, told: Iterable[str], folder: Path) -> str:
    """The recipe's text under a new title, comments and all; files it names are found from the new folder."""
    text = retitled(knife.text, title)
    old = knife.path.parent

    def moved(found: re.Match[str]) -> str:
        name = found[3].replace("\\\\" if found[2] == '"' else "\\", "/")
        return f'{found[1]}"{Path(os.path.relpath(old / name, folder)).as_posix()}"'

    if old.resolve() != folder.resolve():
        text = _FILE.sub(moved, text)
    head = [f'# Started again from "{one_line(knife.title)}".', *(f"# {line}" for line in told)]
    end = "\r\n" if "\r\n" in text else "\n"
    return end.join(head) + end + text


def note_of_start(title: str, text: str, old: str, path: Path, folder: Path) -> Entry:
    """The note that says which knife the new one was started from."""
    at, offset = now()
    return Entry(title, at, offset, kept_path(path, folder), text_sha256(text), note=old, source=AGAIN)
