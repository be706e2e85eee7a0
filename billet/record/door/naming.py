"""Give every number of a line its measure, its place and its unit, as far as the words around it tell."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from billet.base.units import Kind
from billet.record.door.quantity import Quantity, around, fits
from billet.record.door.tokens import PLAIN, Token, kinds_of
from billet.record.door.vocabulary import FILLERS, measure_word, place_word
from billet.record.measures import BY_NAME
from billet.stages import Stage

ALONG = ("heel", "middle", "tip")
_LISTED = ("spine", "edge", "thickness", "hardness", "height", "bow")
_HOT = ("weld", "heat", "draw", "normalise", "anneal", "harden", "temper")
_MOST_HEAT_NUMBER = 20  # "heat 3" is the third heat, not a temperature
_LEAST_TEMPERATURE = 90.0  # "400 degrees" is a temperature, "15 degrees" an angle


def named(every: Sequence[Token], found: Sequence[Quantity], taken: set[int], stage: Stage | None) -> list[Quantity]:
    """The quantities with their measures and places; one that nothing names keeps no ``base``."""
    claimed = set(taken)
    out: list[Quantity] = []
    current: str | None = None
    for at, one in enumerate(found):
        told = _told(every, one, found[at + 1 :], claimed, current, has_before=bool(out))
        if told.where and told.base is None and told.where.startswith("@"):
            out = _moved(out, told)
        else:
            out.append(told)
            current = told.base or _by_kind(told, stage).base or current
        claimed |= told.used
    out = _next_place(out)
    hot, sized = (
        any(kind in kinds_of(token.text) for token in every if token.sort == "unit")
        for kind in (Kind.TEMPERATURE, Kind.LENGTH)
    )
    return [
        _by_kind(one, stage, hot=hot, sized=sized) for one in _sizes(_share_unit(_listed(out, every), every), every)
    ]


def _told(
    every: Sequence[Token], one: Quantity, later: Sequence[Quantity], claimed: set[int], current: str | None,
    *, has_before: bool,
) -> Quantity:  # fmt: skip
    far = _distance(every, one, alone=not later and not has_before)
    if far is not None:
        return far
    back, ahead = around(every, one.first - 1, -1, claimed, one), around(every, one.last + 1, 1, claimed, one)
    suffix = _ends_in(every, later or [one], claimed)
    base, used = None, {*range(one.first, one.last + 1)}
    counted = _counts(every, one) and not (back.base is not None and _is_count(measure_word(every[back.base].text)))
    order = ((back.base, True), (ahead.base, counted or suffix or not _leads(every, ahead.base)))
    for index, free in reversed(order) if counted else order:
        name = None if index is None else measure_word(every[index].text)
        if name and base is None and free and fits(name, one) and not _counts_heats(name, one):
            base = name
            used.add(index or 0)
    where = ""
    if base is not None and not _has_places(base):
        back, ahead = replace(back, where=None), replace(ahead, where=None)
    for index, free in ((back.where, True), (ahead.where, not _leads(every, ahead.where) or suffix)):
        if index is not None and not where and free:
            where = place_word(every[index].text) or ""
            used.add(index)
    side = next((every[index].text for index in (ahead.side, back.side) if index is not None), "")
    used |= {index for index in (ahead.side, back.side) if index is not None and side}
    if base is None and current is not None and where and fits(current, one):
        base = current
    return replace(one, base=base, where=where, side=side, used=frozenset(used))


def _is_count(name: str | None) -> bool:
    return name in BY_NAME and BY_NAME[name or ""].most > 0


def _counts(every: Sequence[Token], one: Quantity) -> bool:
    """Whether the noun right behind a bare number is counted by it: ``3 heats``, ``120 grit``."""
    at = one.last + 1
    return one.unit is None and at < len(every) and _is_count(measure_word(every[at].text))


def _has_places(base: str) -> bool:
    """Whether a measure is read at places on the piece."""
    known = BY_NAME.get(base)
    return known is None or base == "hardness" or any(kind is Kind.LENGTH for kind, _ in known.kinds)


def _counts_heats(name: str, one: Quantity) -> bool:
    """``heat 3`` counts heats and is no temperature."""
    small = one.unit is None and re.fullmatch("[0-9]{1,2}", one.text) is not None and int(one.text) <= _MOST_HEAT_NUMBER
    return name == "temperature" and small


def _leads(every: Sequence[Token], index: int | None) -> bool:
    """Whether a word stands right before another number, so that it may belong to that one."""
    if index is None:
        return False
    at = index + 1
    while at < len(every) and every[at].sort == "word" and (every[at].text in FILLERS or place_word(every[at].text)):
        at += 1
    return at < len(every) and every[at].sort == "number"


def _ends_in(every: Sequence[Token], later: Sequence[Quantity], claimed: set[int]) -> bool:
    """Whether the last quantity before a full stop has its word behind it: then so have those before it."""
    last = later[0]
    for one in later[1:]:
        between = every[last.last + 1 : one.first]
        if any(token.text in (",", ";", ".") for token in between):
            break
        if one.first and every[one.first - 1].sort == "word" and _names_length(every[one.first - 1].text):
            break  # "... 1.1 tip edge 0.25": another measure begins
        last = one
    ahead = around(every, last.last + 1, 1, claimed)
    return ahead.base is not None or ahead.where is not None


def _names_length(word: str) -> bool:
    """Whether a word names a measure that is a length."""
    known = BY_NAME.get(measure_word(word) or "")
    return known is not None and any(kind is Kind.LENGTH for kind, _ in known.kinds)


def _distance(every: Sequence[Token], one: Quantity, *, alone: bool) -> Quantity | None:
    """``at 50 mm`` and ``50 mm from the heel`` are places; their ``where`` is marked with an @."""
    if Kind.LENGTH not in one.kinds or alone:
        return None
    used = set(range(one.first, one.last + 1))
    start, at = "", one.last + 1
    if at < len(every) and every[at].text in ("from", "off", "behind", "before"):
        word = next((k for k in range(at + 1, min(at + 3, len(every))) if every[k].text != "the"), None)
        place = place_word(every[word].text) if word is not None else None
        if place is None or word is None:
            return replace(one, where="@")  # 3 mm from the edge: told, not measured
        start, used = place, used | set(range(at, word + 1))
    elif not (one.first and every[one.first - 1].text == "at"):
        return None
    millimetres = _metres(one) * 1e3
    words = f"@{millimetres:g}mm" + (f" from {start}" if start and start != "heel" else "")
    return replace(one, where=words, used=frozenset(used))


def _metres(one: Quantity) -> float:
    from billet.base.units import read

    return read(f"{one.text} {one.unit}", Kind.LENGTH, "place")


def _moved(out: list[Quantity], far: Quantity) -> list[Quantity]:
    """Put a distance on the quantity before it; with none before it waits for the next."""
    if far.where == "@":
        return [*out, far]
    if out and not out[-1].where:
        return [*out[:-1], replace(out[-1], where=far.where[1:], used=out[-1].used | far.used)]
    return [*out, far]


def _next_place(out: list[Quantity]) -> list[Quantity]:
    """A distance that stood first belongs to the quantity behind it."""
    done: list[Quantity] = []
    waiting: Quantity | None = None
    for one in out:
        if one.where == "@":
            done.append(one)
        elif one.where.startswith("@"):
            waiting = one
        elif waiting is not None and not one.where:
            done.append(replace(one, where=waiting.where[1:], used=one.used | waiting.used))
            waiting = None
        else:
            done.append(one)
    return done if waiting is None else [*done, waiting]


def _between(every: Sequence[Token], one: Quantity, other: Quantity, marks: tuple[str, ...]) -> bool:
    """Whether nothing but these marks stands between two quantities."""
    return all(every[at].text in marks for at in range(one.last + 1, other.first))


def _share_unit(out: list[Quantity], every: Sequence[Token]) -> list[Quantity]:
    """``1600 1500 1400 F``: bare numbers that nothing names have the unit at the end of their row."""
    done = list(out)
    for at in range(len(done) - 2, -1, -1):
        one, behind = done[at], done[at + 1]
        bare = one.base is None and one.unit is None and behind.base is None and behind.unit is not None
        if bare and _between(every, one, behind, (",", "/", "-")):
            done[at] = replace(one, unit=behind.unit)
    return done


def _listed(out: list[Quantity], every: Sequence[Token]) -> list[Quantity]:
    """``spine 2.6 2.1 1.1`` is told from heel to tip."""
    done = list(out)
    for at in range(len(done) - 2):
        first, *rest = three = done[at : at + 3]
        plain = all(one.base is None and not one.where for one in rest) and not first.where
        close = all(_between(every, a, b, (",", "/", "-")) for a, b in zip(three, rest, strict=False))
        if first.base in _LISTED and plain and close:
            done[at : at + 3] = [
                replace(one, base=first.base, where=place) for one, place in zip(three, ALONG, strict=True)
            ]
    return done


def _sizes(out: list[Quantity], every: Sequence[Token]) -> list[Quantity]:
    """``12 x 41 x 380`` is thickness, width and length, the smallest first whatever the order."""
    done = list(out)
    for count in (3, 2):
        for at in range(len(done) - count + 1):
            few = done[at : at + count]
            joined = all(_between(every, a, b, ("x", "by")) and b.first > a.last + 1 for a, b in pairwise(few))
            joined = joined and all(one.unit is None or Kind.LENGTH in one.kinds for one in few)
            if joined and all(one.base is None or one is few[0] or one is few[-1] for one in few) and not few[0].base:
                order = sorted(range(count), key=lambda k, few=few: _size(few[k]))  # type: ignore[misc]
                for name, k in zip(("thickness", "width", "length"), order, strict=False):
                    marks = range(few[k].last + 1, few[k + 1].first) if k + 1 < count else range(0)
                    done[at + k] = replace(few[k], base=name, used=few[k].used | set(marks))
                return done
    return done


def _size(one: Quantity) -> float:
    from fractions import Fraction

    parts = one.text.replace("-", " ").split()
    try:
        return float(sum(Fraction(part) for part in parts)) * (25.4 if one.unit in ("in", "inch", "inches") else 1.0)
    except (ValueError, ZeroDivisionError):
        return 0.0


def _by_kind(one: Quantity, stage: Stage | None, *, hot: bool = False, sized: bool = False) -> Quantity:
    """A quantity that no word names, by what its unit measures and the stage it was read at; ``hot``: the line speaks
    of a temperature."""
    if one.base is not None or one.where.startswith("@"):
        on_bar = stage is not None and stage.kind == "bar"
        return replace(one, base="thickness") if one.base == "height" and on_bar else one
    if one.unit == "hrc":
        return replace(one, base="hardness")
    kind = one.kinds[0] if one.kinds else None
    at_fire = stage is not None and stage.do in _HOT
    if (
        one.unit is None
        and hot
        and at_fire
        and re.fullmatch("[0-9]{2,4}", one.text)
        and float(one.text) >= _LEAST_TEMPERATURE
    ):
        return replace(one, base="temperature")
    if one.unit is None and sized and one.where and stage is not None and stage.kind == "blade":
        return replace(one, base="spine")
    if kind is Kind.LENGTH and one.side:
        return replace(one, base="bow")
    if one.unit in ("deg", "degree", "degrees", "°"):
        return replace(one, base="temperature" if _size(one) > _LEAST_TEMPERATURE else "edge")
    base = {
        Kind.TEMPERATURE: "temperature", Kind.MASS: "mass", Kind.TIME: "soak" if at_fire else "took",
        Kind.LENGTH: "spine" if one.where and stage is not None and stage.kind == "blade" else "thickness",
    }.get(kind) if kind else None  # fmt: skip
    return replace(one, base=base)


def unit_for(every: Sequence[Token], one: Quantity, units: str) -> tuple[str | None, bool]:
    """The unit of a bare number: one of its kind given elsewhere in the line, else the recipe's (then True: a guess)."""
    known = BY_NAME.get(one.base or "")
    kinds = [kind for kind, _ in known.kinds] if known else [Kind.LENGTH]
    behind = [token for token in every[one.last + 1 :] if token.sort == "unit"]
    before = [token for token in reversed(every[: one.first]) if token.sort == "unit"]
    for token in (*behind, *before):
        if any(kind in kinds_of(token.text) for kind in kinds[:1]):
            return PLAIN.get(token.text, token.text), False
    if not kinds:
        return None, False
    return _habit(one, kinds[0], units), True


def _habit(one: Quantity, kind: Kind, units: str) -> str | None:
    """The unit a shop would mean without saying it; None where it could be two."""
    if kind is Kind.LENGTH and units == "imperial":
        if "." in one.text and _size(one) >= 10:
            return None  # thousandths, or a caliper left on millimetres
        return "in" if "/" in one.text or _size(one) < 10 else "thou"
    plain = {
        ("metric", Kind.LENGTH): "mm", ("metric", Kind.TEMPERATURE): "C", ("imperial", Kind.TEMPERATURE): "F",
        ("metric", Kind.MASS): "g", ("metric", Kind.TIME): "min", ("imperial", Kind.TIME): "min",
    }  # fmt: skip
    return plain.get((units, kind))
