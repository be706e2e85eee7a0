"""Stations typed in on the command line: the words in any order, in any unit.

"50 mm spine 3.1 mm bow 0.2 mm left" and "bow left 8 thou, 2 in, thick 122 thou, spine" both read. Of two bare lengths
the longer is the distance from the heel; where that cannot be told, "at" and "thick" settle it. Commas part phrases.
"""

from __future__ import annotations

import difflib
import re

from billet.base.errors import InputError
from billet.base.units import UNITS, Kind, read
from billet.grinding.stations import Place, Reading

_UNIT_WORDS = sorted((w for unit in UNITS if unit.kind is Kind.LENGTH for w in unit.words), key=len, reverse=True)
_NUMBER = r"-?(?:\d+(?:\s+|-)\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d*[.,]?\d+)"
_LENGTH = re.compile(
    rf"({_NUMBER})\s*({'|'.join(map(re.escape, _UNIT_WORDS))})(?![a-z])|(?<![\w.])(0)(?![\w.,/])", re.IGNORECASE
)
_BEFORE = {"at": "position", "position": "position", "measures": "thickness", "bow": "bow", "bowed": "bow"}
_EITHER = {
    "from": "position",
    "thick": "thickness",
    "thickness": "thickness",
    "high": "height",
    "up": "height",
    "above": "height",
    "height": "height",
}
_SIDES = ("left", "right")
_FILLERS = ("the", "is", "to", "of", "and", "heel")
_WORDS = {*_BEFORE, *_EITHER, *_SIDES, *_FILLERS, "spine", "edge", "straight", ","}
_SURELY_POSITION = 12e-3  # a bare length over this is no thickness of a kitchen blade [m]
_LONGEST = 300  # letters
_EXAMPLE = 'write it like "50 mm spine 3.1 mm bow 0.2 mm left"'


def read_typed(text: str, source: str = "--at") -> Reading:
    """Read one typed station. Raises InputError with one sentence that says what is not understood."""
    if len(text) > _LONGEST:
        raise InputError(
            f'{source} "{text[:60]} ...": found {len(text):,} letters, and a station is a few words; {_EXAMPLE}.'
        )
    found, words = _tokens(text, source)
    roles = _roles(found, words, text, source)
    bare = [length for length, role in zip(found, roles, strict=True) if role == "bare"]
    told: dict[str, tuple[float, str]] = {}
    for length, role in zip(found, roles, strict=True):
        if role != "bare" and told.setdefault(role, length) is not length:
            raise InputError(f'{source} "{text}": two lengths are given for the {role}; {_EXAMPLE}.')
    _settle(told, bare, words, text, source)
    bow = _bow(told, words, text, source)
    thickness, typed = told["thickness"]
    return Reading(told["position"][0], _place(told, words, text, source), thickness, bow, typed, f'{source} "{text}"')


def _tokens(text: str, source: str) -> tuple[list[tuple[float, str]], list[str | int]]:
    """Return the lengths with their texts, and the words, where a number stands for the length of that index."""
    found: list[tuple[float, str]] = []
    words: list[str | int] = []
    at = 0
    for match in _LENGTH.finditer(text):
        words += _plain_words(text[at : match.start()], text, source)
        typed = re.sub(r"\s+", " ", match[0].strip())
        words.append(len(found))
        found.append((0.0 if match[3] else read(typed, Kind.LENGTH, f'{source} "{text}"', signed=True), typed))
        at = match.end()
    return found, [*words, *_plain_words(text[at:], text, source)]


def _plain_words(text: str, whole: str, source: str) -> list[str | int]:
    words = re.findall(r"[,;]|[^\s,;:]+", text.lower())
    for word in words:
        if word not in _WORDS and word != ";":
            near = difflib.get_close_matches(word, sorted(_WORDS), n=1)
            offer = f'did you mean "{near[0]}"' if near else _EXAMPLE
            raise InputError(f'{source} "{whole}": I do not know "{word}" here; {offer}.')
    return list(words)


def _roles(found: list[tuple[float, str]], words: list[str | int], text: str, source: str) -> list[str]:
    """Return what each length is: named by a word before it, or by one right behind it."""
    roles = ["bare"] * len(found)
    for place, word in enumerate(words):
        role = _BEFORE.get(str(word)) or _EITHER.get(str(word))
        if role is None:
            continue
        ahead = next((w for w in words[place + 1 :] if w not in (*_SIDES, *_FILLERS)), None)
        behind = words[place - 1] if place else None
        if word in _EITHER and isinstance(ahead, int) and isinstance(behind, int):
            raise InputError(
                f'{source} "{text}": whether "{word}" belongs to {found[behind][1]} or to {found[ahead][1]} cannot be '
                "told; put a comma between the two."
            )
        named = ahead if isinstance(ahead, int) else behind
        if isinstance(named, int):
            roles[named] = role
    for place, word in enumerate(words[:-1]):
        if isinstance(word, int) and roles[word] == "bare" and words[place + 1] in _SIDES and "bow" not in roles:
            roles[word] = "bow"
    return roles


def _settle(
    told: dict[str, tuple[float, str]], bare: list[tuple[float, str]], words: list[str | int], text: str, source: str
) -> None:
    """Give the bare lengths to position and thickness: the longer is the position, unless that cannot be told."""
    if "heel" in words and "position" not in told and len(bare) + len({"thickness"} & told.keys()) == 1:
        told["position"] = (0.0, "heel")
    missing = [role for role in ("position", "thickness") if role not in told]
    if len(bare) != len(missing):
        lacks = " and ".join(missing) or "nothing more"
        raise InputError(f'{source} "{text}": found {len(bare)} lengths for {lacks}; {_EXAMPLE}.')
    if len(missing) == 2:
        short, long = sorted(bare, key=lambda length: length[0])
        if long[0] < _SURELY_POSITION and short[0] != 0:
            raise InputError(
                f'{source} "{text}": which of {short[1]} and {long[1]} is the thickness cannot be told; '
                f'write "at {short[1]}, thick {long[1]}" or the other way round.'
            )
        position, thickness = (short, long) if long[0] < _SURELY_POSITION else (long, short)
        told.update(position=position, thickness=thickness)
    elif missing:
        told[missing[0]] = bare[0]


def _place(told: dict[str, tuple[float, str]], words: list[str | int], text: str, source: str) -> Place:
    if "height" in told:
        return told["height"][0]
    named = [word for word in ("spine", "edge") if word in words]
    if len(named) != 1:
        raise InputError(f'{source} "{text}": say spine, edge, or a height such as "20 mm up", once.')
    return "spine" if named == ["spine"] else "edge"


def _bow(told: dict[str, tuple[float, str]], words: list[str | int], text: str, source: str) -> float | None:
    sides = [word for word in ("left", "right") if word in words]
    if "bow" not in told:
        if sides:
            raise InputError(f'{source} "{text}": a side without a bow; {_EXAMPLE}.')
        return 0.0 if "straight" in words else None
    if len(sides) == 2 or (sides and told["bow"][0] < 0):
        raise InputError(f'{source} "{text}": the bow goes to one side; {_EXAMPLE}.')
    return -told["bow"][0] if sides == ["left"] else told["bow"][0]
