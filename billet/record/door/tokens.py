"""A line taken apart: numbers with their units, words, and marks between."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from billet.base.units import UNITS, Kind
from billet.record.door.near import nearest

Sort = Literal["number", "unit", "word", "mark"]


@dataclass(frozen=True)
class Token:
    """A piece of a line: its sort, its text in small letters, and where it stands; a number may be ``spelled`` in letters."""

    sort: Sort
    text: str
    start: int
    end: int
    spelled: bool = False


_FRACTIONS = "½⅓⅔¼¾⅛⅜⅝⅞"
_NUMBER = rf"[+-]?(?:\d+(?:\s+|-)\d+/\d+(?![\d.])|\d+/\d+(?![\d.])|\d*[.,]\d+|\d+)(?:\s?[{_FRACTIONS}])?|[{_FRACTIONS}]"
_NAME = r"(?<![\d.])\d+(?![hm]\d)[A-WYZa-wyz]{1,3}\d+\w*|\d+(?:st|nd|rd|th)\b"  # 15N20, 3rd: words, though they begin with a figure
_PATTERN = re.compile(
    rf"(?P<word>(?:{_NAME})|[^\W\d_]+(?:['’-][^\W\d_]+)*)|(?P<number>(?<![\w.])(?:{_NUMBER})|(?<=[hHxX])\d+(?:\.\d+)?)"
    r"|(?P<degree>°\s?[CcFf]?\b)|(?P<mark>[\"″'’,;:.!?()=/&+#~-])"
)
COUNTS = {
    "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
    "ten": "10", "eleven": "11", "twelve": "12", "fifteen": "15", "twenty": "20", "thirty": "30", "forty": "40",
    "half": "1/2",
}  # fmt: skip
HARDNESS_WORDS = ("hrc", "rc", "rockwell")
_KINDS = (Kind.LENGTH, Kind.TEMPERATURE, Kind.TIME, Kind.MASS, Kind.ANGLE, Kind.VOLUME)
UNIT_KINDS: dict[str, tuple[Kind, ...]] = {}
for _unit in UNITS:
    if _unit.kind in _KINDS:
        for _word in _unit.words:
            UNIT_KINDS[_word] = (*UNIT_KINDS.get(_word, ()), _unit.kind)
UNIT_KINDS |= {"thous": (Kind.LENGTH,), "″": (Kind.LENGTH,), "th": (Kind.LENGTH,)}
PLAIN = {"″": "in", '"': "in", "'": "ft", "°": "deg", "thous": "thou", "th": "thou", "f": "F", "c": "C"}
_SPELLED = tuple(word for word in UNIT_KINDS if len(word) >= 5 and word.isalpha())
_BARE = ("mm", "cm", "inch", "inches", "thou", "hrc", "rc")  # may stand alone and hold for the line
_BARE_LAST = ("in", "f", "c", "min", "mins", "minutes", "hours", "kg", "oz")  # may, at the end
_NEVER_UNIT_AFTER = (
    "the",
    "a",
    "an",
    "my",
    "that",
    "this",
    "each",
    "one",
    "quench",
    "fire",
    "vice",
    "oil",
    "oven",
    "water",
)


def unit_of(word: str) -> str | None:
    """The unit a word means, a slip forgiven in a long one; None for any other word."""
    if word in UNIT_KINDS or word in HARDNESS_WORDS:
        return PLAIN.get(word, word)
    return nearest(word, _SPELLED) if len(word) >= 5 else None


def kinds_of(unit: str | None) -> tuple[Kind, ...]:
    """What a unit measures; nothing for a word that is none."""
    return UNIT_KINDS.get((unit or "").lower(), ())


def tokens(line: str) -> list[Token]:
    """The pieces of a line in their order."""
    found = list(_raw(line))
    return [_with_unit(token, found, at) for at, token in enumerate(found)]


def _raw(line: str) -> Iterator[Token]:
    for match in _PATTERN.finditer(line):
        sort = match.lastgroup or "mark"
        text = match[0].lower().strip()
        if sort == "degree":
            text, sort = (text[-1] if text[-1] in "cf" else "deg"), "unit"
        spelled = sort == "word" and text in COUNTS
        if spelled:
            sort, text = "number", COUNTS[text]
        yield Token(sort, text, match.start(), match.end(), spelled)  # type: ignore[arg-type]


def _with_unit(token: Token, every: list[Token], at: int) -> Token:
    """The token as a unit where it is one: a unit word behind a number, or one that may stand alone."""
    if token.sort not in ("word", "mark"):
        return token
    before = every[at - 1] if at else None
    after = every[at + 1] if at + 1 < len(every) else None
    behind = before is not None and before.sort == "number"
    if token.sort == "mark":
        inch = token.text in ('"', "″") and behind and before is not None and before.end == token.start
        return Token("unit", "in", token.start, token.end) if inch else token
    if behind and token.text in ("a", "an") and before is not None and before.text == "1/2":
        return token
    unit = unit_of(token.text)
    if unit is None or (unit == "in" and after is not None and after.text in _NEVER_UNIT_AFTER):
        return token
    half_an = at > 1 and before is not None and before.text in ("a", "an") and every[at - 2].text == "1/2"
    last = after is None or after.sort == "mark"
    alone = token.text in _BARE or (token.text in _BARE_LAST and last)
    return Token("unit", unit, token.start, token.end) if behind or half_an or alone else token
