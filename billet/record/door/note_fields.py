"""What stands in a note in so many words: quoted texts, photographs, ``name=value``, who wrote it, what is taken back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from billet.base.errors import InputError
from billet.record.entry import Measure
from billet.record.measures import named, read_measure

TEXTS = ("note", "wrong", "cure", "photo", "by")
NOTHING = "none"
_QUOTED = re.compile(r'\b(note|wrong|cure|photo|by)\b\s*[:=]?\s*["“]([^"”]*)["”](?!\w)', re.IGNORECASE)
_PHOTO = re.compile(r"\b(?:photo(?:graph|s)?|picture|pic)\b\s*[:=]?\s*(\S+\.\w{2,5})\b", re.IGNORECASE)
_PAIR = re.compile(r'(?<!\S)([^\W\d][\w.-]*)(\s*)=\s*("[^"]*"|[^\s,;]+)')
_BY = re.compile(r"\bby\s*:\s*(\S+)|\bby\s+([A-Z][a-z]*\.?|[A-Z]\.?[A-Z]?\.?)\s*[.!]?\s*$")
_NONE = re.compile(r"\b(after|step|note|wrong|cure|photo|by|[a-z]+(?:\.\w+)?)\s*[:=]?\s*none\b", re.IGNORECASE)


@dataclass
class Fields:
    """The line as it was typed, the same with what was taken out of it blanked, and what was taken out."""

    typed: str
    line: str
    texts: list[tuple[str, str]] = field(default_factory=list)
    measures: list[Measure] = field(default_factory=list)
    photos: tuple[str, ...] = ()
    by: str = ""
    dropped: tuple[str, ...] = ()
    doubts: list[str] = field(default_factory=list)


def take_fields(words: str | Sequence[str]) -> Fields:
    """Take out of a note what needs no understanding. Words of a command line keep their quotes."""
    if not isinstance(words, str) and len(words) == 1:
        words = words[0]
    fields = Fields(words, words) if isinstance(words, str) else _of_words([word for word in words if word.strip()])
    _take(fields, _QUOTED, lambda found: _text(fields, found[1].lower(), found[2]))
    _take(fields, _PHOTO, lambda found: _text(fields, "photo", found[1]))
    _take(
        fields, _PAIR, lambda found: (not found[2] or named(found[1])) and _pair(fields, found[1], found[3].strip('"'))
    )
    _take(fields, _NONE, lambda found: _drop(fields, found[1].lower()))
    shouted = fields.line.upper() == fields.line
    _take(fields, _BY, lambda found: (not shouted or found[1]) and _text(fields, "by", found[1] or found[2]))
    return fields


def _take(fields: Fields, pattern: re.Pattern[str], use) -> None:  # type: ignore[no-untyped-def]
    def blank(found: re.Match[str]) -> str:
        return " " * len(found[0]) if use(found) else found[0]

    fields.line = pattern.sub(blank, fields.line)


def _of_words(words: Sequence[str]) -> Fields:
    """The words of a command line: a text of several words behind ``note`` and the like is that field and no more."""
    fields = Fields("", "")
    shown: list[str] = []
    kept: list[str] = []
    at = 0
    while at < len(words):
        word = words[at].strip()
        name, following = word.lower().rstrip(":"), words[at + 1].strip() if at + 1 < len(words) else ""
        first, _, rest = word.partition(" ")
        pair = re.fullmatch(r"([^\W\d][\w.-]*)\s*=\s*(.+)", word, re.DOTALL)
        whole = name in ("photo", "by") or " " in following
        if named(name) and " " in following and not re.search(r"\d", following) and _pair(fields, name, following):
            shown.append(f'{word} "{following}"')
            at += 2
            continue
        if name in TEXTS and following and whole and _text(fields, name, following):
            shown.append(f'{word} "{following}"')
            at += 2
            continue
        done = (pair and _pair(fields, pair[1], pair[2])) or (
            first.lower().rstrip(":") in TEXTS and rest and _text(fields, first.lower().rstrip(":"), rest)
        )
        shown.append(word)
        if not done:
            kept.append(word)
        at += 1
    fields.typed, fields.line = " ".join(shown), " ".join(kept)
    return fields


def _text(fields: Fields, name: str, text: str) -> bool:
    text = text.strip()
    if text.lower() == NOTHING:
        return _drop(fields, name)
    if name == "photo":
        fields.photos = (*fields.photos, text)
    elif name == "by":
        fields.by = text
    else:
        fields.texts.append((name, text))
    return bool(text)


def _pair(fields: Fields, name: str, text: str) -> bool:
    low = name.lower()
    if low in TEXTS:
        return _text(fields, low, text)
    if low in ("after", "step") or not text:
        return False
    if text.lower() == NOTHING:
        return _drop(fields, low)
    try:
        measure = read_measure(name, text)
    except InputError as error:
        fields.doubts.append(f"{error} It was kept in the note.")
        return False
    if any(other.name == measure.name for other in fields.measures):
        return False
    fields.measures.append(measure)
    return True


def _drop(fields: Fields, name: str) -> bool:
    """Take a field or a measure back; any other word before ``none`` is only a word."""
    base, dot, where = name.partition(".")
    full = "after" if name in ("after", "step") else name if name in TEXTS else f"{named(base) or ''}{dot}{where}"
    if not full.strip("."):
        return False
    fields.dropped = (*fields.dropped, full)
    return True
