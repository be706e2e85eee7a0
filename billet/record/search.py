"""Find notes as people ask: by the stems of words, within a letter, and by what else the trade calls a thing."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Sequence

from billet.record.door.near import all_near
from billet.record.entry import Entry
from billet.stages.stage_names import SYNONYMS

_ASKING = frozenset(
    re.findall(
        "[a-z]+",
        "a about all an and any are as at be did do does for from had has have how i in is it me my of on or our show "
        "tell that the there this to us was we were what when where which with write written wrote you",
    )
)
# Words that smiths use for one thing: common practice, no source.
ALIKE = (
    ("warp", "warped", "bow", "bowed", "bend", "bent", "twist", "twisted", "crooked"),
    ("cracked", "crack", "opened", "open", "delaminated", "delamination", "delam", "split", "broke", "torn"),
    ("cold", "dull", "black"),
    ("burnt", "burned", "overheated", "blued", "blue"),
    ("void", "gap", "inclusion", "blister", "pocket", "hole"),
    ("weight", "mass", "heavy"),
    ("photo", "picture", "photograph"),
    *((verb, *(word for word in words if " " not in word and "-" not in word)) for verb, words in SYNONYMS.items()),
)  # fmt: skip
_WRONG = "wrong"


def words_in(question: str) -> tuple[str, ...]:
    """The words to look for: those of the question without the asking ones, unless there are no others."""
    every = re.findall(r"[^\W_]+", question.lower())
    return tuple(word for word in every if word not in _ASKING) or tuple(every)


def search(entries: Iterable[Entry], question: str) -> tuple[Entry, ...]:
    """The notes that hold every word of the question, a form of it, another word of the trade for it or one a letter
    away; figures must agree. They come in the order of writing. ``wrong`` finds what is marked as gone wrong.

    SQLite's full-text index is built for the occasion, so the record's file needs none; where SQLite was built without
    it, words are looked for as plain parts of the text. A question without words finds nothing.
    """
    every = tuple(entries)
    words = words_in(question)
    if not words:
        return ()
    texts = [_text(entry) for entry in every]
    groups = [_meant(word, texts) for word in words]
    try:
        found = _by_index(texts, groups)
    except sqlite3.OperationalError:
        found = by_parts(texts, groups)
    return tuple(every[at] for at in sorted(found))


def _text(entry: Entry) -> str:
    place = str(entry.place) if entry.place else ""
    measures = " ".join(f"{measure.name} {measure.written}" for measure in entry.measures)
    photos = " ".join(photo.path for photo in entry.photos)
    wrong = f"{_WRONG} {entry.wrong}" if entry.wrong else ""
    return "\n".join((entry.knife, place, entry.note, wrong, entry.cure, measures, photos, entry.by))


def _meant(word: str, texts: Sequence[str]) -> tuple[str, ...]:
    """The word, what the trade also calls it, and where no note holds it the words a letter away."""
    if not word.isalpha():
        return (word,)
    held = {token for text in texts for token in re.findall(r"[^\W\d_]+", text.lower())}
    trade = {other for group in ALIKE for other in group}
    near = {word} if word in trade or any(token.startswith(word) for token in held) else all_near(word, held | trade)
    alike = {other for group in ALIKE for other in group if near & set(group)}
    return (word, *sorted((near | alike) - {word}))


def _by_index(texts: Sequence[str], groups: Sequence[tuple[str, ...]]) -> set[int]:
    """Positions of the texts found by a full-text index that knows English word endings (warp finds warped)."""
    connection = sqlite3.connect(":memory:")
    try:
        connection.execute("CREATE VIRTUAL TABLE page USING fts5(text, tokenize = 'porter unicode61')")
        connection.executemany("INSERT INTO page (rowid, text) VALUES (?, ?)", enumerate(texts))
        query = " AND ".join(
            "(" + " OR ".join(f'"{word}"' + " *" * (word == words[0] and word.isalpha()) for word in words) + ")"
            for words in groups
        )
        return {row[0] for row in connection.execute("SELECT rowid FROM page WHERE page MATCH ?", (query,))}
    finally:
        connection.close()


def by_parts(texts: Sequence[str], groups: Sequence[tuple[str, ...]]) -> set[int]:
    """Positions of the texts that hold of every group a word as a part, letter case aside."""
    return {at for at, text in enumerate(texts) if all(any(word in text.lower() for word in words) for words in groups)}
