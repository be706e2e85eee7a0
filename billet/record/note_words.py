"""Read a note from free words in any order, as typed with dirty hands; what could mean two things is refused.

``after 5 thickness 12.1 mm wide "41 mm" wrong "cold shut" note edges cold``: names before values, a unit with every
quantity, quotes or not. A note without quotes runs to the end of the line.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from billet.base.errors import InputError
from billet.record.entry import Measure
from billet.record.measures import NAMES, named, read_measure

AFTER = ("after", "step")
TEXTS = ("note", "wrong", "photo", "by")
NOTHING = "none"


@dataclass(frozen=True)
class Said:
    """What the words say. ``None`` means not mentioned; an empty text or a measure in ``dropped`` means taken back."""

    after: str | None = None
    measures: tuple[Measure, ...] = ()
    dropped: tuple[str, ...] = ()
    note: str | None = None
    wrong: str | None = None
    photos: tuple[str, ...] | None = None
    by: str | None = None


def read_words(words: Sequence[str]) -> Said:
    """Sort the words of one note; ``none`` as a value takes a field back in a correction. Raises ``InputError``."""
    texts: dict[str, list[str]] = {}
    measures: list[Measure] = []
    dropped: list[str] = []
    for name, value in _pairs(_plain(words)):
        if name in ("after", *TEXTS):
            texts.setdefault(name, []).append("" if value.lower() == NOTHING else value)
        elif value.lower() == NOTHING:
            dropped.append(named(name) or name.lower())
        else:
            measures.append(read_measure(name, value))
    _refuse_twice([*(name for name in texts if name != "photo" for _ in texts[name]), *(m.name for m in measures)])
    one = {name: values[0] for name, values in texts.items() if name != "photo"}
    photos = tuple(path for path in texts["photo"] if path) if "photo" in texts else None
    return Said(measures=tuple(measures), dropped=tuple(dropped), photos=photos, **one)


def _plain(words: Sequence[str]) -> list[str]:
    """The words as said at the bench: "went wrong" is one word for what went wrong."""
    return [
        word
        for k, word in enumerate(words)
        if not (word.lower() == "went" and [w.lower() for w in words[k + 1 : k + 2]] == ["wrong"])
    ]


def _refuse_twice(names: list[str]) -> None:
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise InputError(f"{twice} is given twice; give it once, or write a second note.")


def _pairs(words: list[str]) -> list[tuple[str, str]]:
    """The words as (name, value) pairs, values joined from as many words as they take."""
    pairs: list[tuple[str, str]] = []
    at = 0
    while at < len(words):
        name, value = _opens(words[at])
        if name is None:
            raise InputError(_not_understood(words[at], pairs))
        at += 1
        if not value:
            taken = _taken(name, words[at:])
            value, at = " ".join(words[at : at + taken]).strip(" ,"), at + taken
        if not value:
            raise InputError(f'Nothing follows "{name}"; say what it is, or leave the word out.')
        pairs.append((name, value))
    return pairs


def _opens(word: str) -> tuple[str | None, str]:
    """The name a word opens, and the value when both stand in one word: ``thickness=12.1mm``, ``"note cold"``."""
    own = re.fullmatch(r"([^\W\d][\w.-]*)\s*=\s*(.*)", word.strip(), re.DOTALL)
    if own:
        return _keyword(own[1]) or own[1].lower(), own[2].strip()
    first, _, rest = word.strip().partition(" ")
    return _keyword(first.rstrip(":")), rest.strip()


def _keyword(word: str) -> str | None:
    low = word.lower()
    if low in AFTER:
        return "after"
    base, dot, where = low.partition(".")
    known = named(base)
    return low if low in TEXTS else f"{known}{dot}{where}" if known else None


def _taken(name: str, rest: list[str]) -> int:
    """How many of the following words are the value of ``name``."""
    if not rest:
        return 0
    if name == "note" and " " not in rest[0]:
        _refuse_swallowing(rest)
        return len(rest)
    if name in TEXTS:
        return 1
    return next((at for at, word in enumerate(rest) if at and _opens(word)[0]), len(rest)) if rest else 0


def _refuse_swallowing(rest: list[str]) -> None:
    """An unquoted note that holds what looks like a measurement or another field is refused."""
    for word, following in pairwise(rest[1:]):
        name = _opens(word)[0]
        if name in ("wrong", "photo") or (name not in (None, "note", "by") and re.search(r"\d", following)):
            raise InputError(f'"{word} {following}" may be part of the note or not; put the note in quotes or last.')
    swallowed = next((word for word in rest[1:] if "=" in word), None)
    if swallowed:
        raise InputError(f'"{swallowed}" may be part of the note or not; put the note in quotes or last.')


def _not_understood(word: str, pairs: list[tuple[str, str]]) -> str:
    low = word.lower()
    several = [name for name in NAMES if low and name.startswith(low)]
    if len(several) > 1:
        return f'"{word}" may mean {" or ".join(several)}; write one of them.'
    if re.match(r"[+-]?[\d.]", word):
        return f'"{word}" stands before any name; say what it is first, such as: thickness 12.1 mm.'
    if pairs and pairs[-1][0] in TEXTS:
        return f'I do not understand "{word}" after {pairs[-1][0]} "{pairs[-1][1]}"; put several words in quotes.'
    return (
        f'I do not understand "{word}"; the words are after, {", ".join(NAMES)}, note, wrong, photo, by, or name=value.'
    )
