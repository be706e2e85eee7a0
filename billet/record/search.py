"""Find notes by the words in them, over all knives: what did I write about warp?"""

import re
import sqlite3
from collections.abc import Iterable

from billet.record.entry import Entry

_ASKING = frozenset(
    re.findall(
        "[a-z]+",
        "a about all an and any are as at be did do does for from had has have how i in is it me my of on or our show "
        "tell that the there this to us was we were what when where which with write written wrote you",
    )
)


def words_in(question: str) -> tuple[str, ...]:
    """The words to look for: those of the question without the asking ones, unless there are no others."""
    every = re.findall(r"[^\W_]+", question.lower())
    return tuple(word for word in every if word not in _ASKING) or tuple(every)


def search(entries: Iterable[Entry], question: str) -> tuple[Entry, ...]:
    """The notes that hold every word of the question or a longer form of it; figures must agree. They come in the
    order of writing.

    SQLite's full-text index is built for the occasion, so the record's file needs none; where SQLite was built without
    it, words are looked for as plain parts of the text. A question without words finds nothing.
    """
    every = tuple(entries)
    words = words_in(question)
    if not words:
        return ()
    texts = [_text(entry) for entry in every]
    try:
        found = _by_index(texts, words)
    except sqlite3.OperationalError:
        found = by_parts(texts, words)
    return tuple(every[at] for at in sorted(found))


def _text(entry: Entry) -> str:
    place = str(entry.place) if entry.place else ""
    measures = " ".join(f"{measure.name} {measure.written}" for measure in entry.measures)
    photos = " ".join(photo.path for photo in entry.photos)
    return "\n".join((entry.knife, place, entry.note, entry.wrong, measures, photos, entry.by))


def _by_index(texts: list[str], words: tuple[str, ...]) -> set[int]:
    """Positions of the texts found by a full-text index that knows English word endings (warp finds warped)."""
    connection = sqlite3.connect(":memory:")
    try:
        connection.execute("CREATE VIRTUAL TABLE page USING fts5(text, tokenize = 'porter unicode61')")
        connection.executemany("INSERT INTO page (rowid, text) VALUES (?, ?)", enumerate(texts))
        query = " AND ".join(f'"{word}"' + " *" * word.isalpha() for word in words)
        return {row[0] for row in connection.execute("SELECT rowid FROM page WHERE page MATCH ?", (query,))}
    finally:
        connection.close()


def by_parts(texts: list[str], words: tuple[str, ...]) -> set[int]:
    """Positions of the texts that hold every word as a part, letter case aside."""
    return {at for at, text in enumerate(texts) if all(word in text.lower() for word in words)}
