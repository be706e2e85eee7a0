"""The numbers of a line with what stands around them: the measure, the place, the side and the unit they belong to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from billet.base.units import Kind
from billet.record.door.tokens import HARDNESS_WORDS, PLAIN, Token, kinds_of
from billet.record.door.vocabulary import FILLERS, SIDES, measure_word, place_word
from billet.record.measures import BY_NAME

COMPOUND = {Kind.TIME, Kind.MASS}


@dataclass(frozen=True)
class Quantity:
    """A number of the line: tokens ``first`` to ``last``, its ``text`` without unit, its ``unit`` if it has one.

    ``base`` is the measure that names it, ``where`` the place on the piece, ``side`` left or right; ``used`` are the
    tokens that say so.
    """

    first: int
    last: int
    text: str
    unit: str | None = None
    base: str | None = None
    where: str = ""
    side: str = ""
    used: frozenset[int] = field(default_factory=frozenset)

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """What its unit can measure; none without a unit or for a hardness."""
        return kinds_of(self.unit)


def plain_number(text: str) -> str:
    """The number with a point for a decimal comma: ``12,1`` is 12.1, ``1,200`` is 1200."""
    whole, comma, rest = text.partition(",")
    if not comma:
        return text
    return whole + rest if len(rest) == 3 and whole not in ("", "0") else f"{whole}.{rest}"


def quantities(every: Sequence[Token], taken: set[int]) -> list[Quantity]:
    """The numbers of a line that are still free, each with its own unit; two pounds three ounces are one."""
    found: list[Quantity] = []
    at = 0
    while at < len(every):
        if every[at].sort != "number" or at in taken:
            at += 1
            continue
        one = _one(every, at)
        found.append(one)
        at = one.last + 1
    return _ranges(found, every)


def _one(every: Sequence[Token], at: int) -> Quantity:
    text, last = plain_number(every[at].text), at
    unit, end = _unit_behind(every, at)
    if unit is None:
        ahead = at and every[at - 1].sort == "unit" and every[at - 1].text in HARDNESS_WORDS
        return Quantity(at - 1 if ahead else at, at, text, "hrc" if ahead else None)
    last, parts = end, [f"{text} {unit}"]
    kind = (kinds_of(unit) or (None,))[0]
    while kind in COMPOUND and last + 1 < len(every) and every[last + 1].sort == "number":
        more, more_end = _unit_behind(every, last + 1)
        number = plain_number(every[last + 1].text)
        if (
            more is None
            and kind is Kind.TIME
            and unit in ("h", "hr", "hrs")
            and every[last + 1].start == every[last].end
        ):
            more, more_end = "min", last + 1  # 2h10
        if more is None or (kinds_of(more) or (None,))[0] is not kind or more == unit:
            break
        parts.append(f"{number} {more}")
        unit, last = more, more_end
    if len(parts) == 1:
        return Quantity(at, last, text, unit)
    return Quantity(at, last, " ".join(parts), unit)


def _unit_behind(every: Sequence[Token], at: int) -> tuple[str | None, int]:
    """The unit behind the number at a place, and where it ends: ``5 mm``, ``half an hour``."""
    step = at + 1
    if every[at].text == "1/2" and step < len(every) and every[step].text in ("a", "an"):
        step += 1
    if step < len(every) and every[step].sort == "unit":
        word = "hrc" if every[step].text in HARDNESS_WORDS else every[step].text
        return PLAIN.get(word, word), step
    return None, at


def _ranges(found: list[Quantity], every: Sequence[Token]) -> list[Quantity]:
    """``60-61 HRC`` is one reading, the middle of the two."""
    out: list[Quantity] = []
    for one in found:
        last = out[-1] if out else None
        if (
            last is not None and (last.unit in (None, one.unit) or (last.unit == "hrc" and one.unit is None)) and one.first == last.last + 2
            and every[last.last + 1].text == "-" and _number(last.text) < _number(one.text)
        ):  # fmt: skip
            middle = (_number(last.text) + _number(one.text)) / 2
            out[-1] = replace(one, first=last.first, text=f"{middle:g}", unit=one.unit or last.unit)
        else:
            out.append(one)
    return out


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


@dataclass(frozen=True)
class Around:
    """What stands on one side of a quantity: token numbers of a measure word, a place word and a side."""

    base: int | None = None
    where: int | None = None
    side: int | None = None


def around(every: Sequence[Token], start: int, step: int, taken: set[int], one: Quantity | None = None) -> Around:
    """Look from a token on, backwards or forwards, over words that say nothing, to the next number, mark or other word.

    A measure that cannot have the quantity ``one`` ends the look too.
    """
    found, at = Around(), start
    while 0 <= at < len(every) and at not in taken and every[at].sort == "word":
        word = every[at].text
        if word in SIDES and found.side is None:
            found = replace(found, side=at)
        elif place_word(word) and found.where is None:
            found = replace(found, where=at)
        elif found.base is None and (name := measure_word(word)) and (one is None or fits(name, one)):
            found = replace(found, base=at)
        elif word not in FILLERS:
            break
        at += step
    if 0 <= at < len(every) and at not in taken and every[at].text in (":", "=", "(") and step < 0:
        return _beyond(every, at, taken, found, one)
    return found


def _beyond(every: Sequence[Token], at: int, taken: set[int], found: Around, one: Quantity | None) -> Around:
    """A colon or an equals sign between name and number is looked across."""
    more = around(every, at - 1, -1, taken, one)
    return Around(
        found.base or more.base, found.where if found.where is not None else more.where, found.side or more.side
    )


def fits(base: str, one: Quantity) -> bool:
    """Whether a measure can have that quantity: ``heats`` no unit, a thickness a length."""
    known = BY_NAME.get(base)
    if known is None:
        return one.unit is None or Kind.LENGTH in one.kinds
    if known.most:
        return one.unit is None
    if base == "hardness":
        return one.unit in (None, "hrc")
    return one.unit is None or any(kind in one.kinds for kind, _ in known.kinds)
