"""This knife against another: how the recipes differ, and stage by stage what was foreseen, measured and went wrong."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any

from billet.record.entry import Entry, latest
from billet.stages import Stage


@dataclass(frozen=True)
class Side:
    """One knife of the two: its title, the text of its recipe, its stages with their sizes, and its notes."""

    title: str
    text: str
    stages: tuple[Stage, ...]
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class AtStage:
    """What one knife was at a stage: sizes foreseen and measured in SI by name, and what went wrong."""

    foreseen: dict[str, float] = field(default_factory=dict)
    measured: dict[str, tuple[float, str]] = field(default_factory=dict)
    wrong: tuple[str, ...] = ()


@dataclass(frozen=True)
class StagePair:
    """A stage that either knife has, by name, and what each was there."""

    name: str
    first: AtStage
    second: AtStage


@dataclass(frozen=True)
class Totals:
    """Sums over one knife: seconds noted, belts, heats, share of the weight lost, last hardness, largest bow [m]."""

    seconds: float | None
    belts: float | None
    heats: float | None
    lost: float | None
    hardness: float | None
    bow: float | None
    wrong: int


@dataclass(frozen=True)
class Compared:
    """Two knives side by side."""

    first: Side
    second: Side
    recipe: tuple[str, ...]
    stages: tuple[StagePair, ...]
    totals: tuple[Totals, Totals]


def compare_knives(first: Side, second: Side) -> Compared:
    """Set two knives side by side; stages are paired by bar and name, in the order of the second knife."""
    names = [_named(stage) for stage in second.stages]
    names += [name for stage in first.stages if (name := _named(stage)) not in names]
    pairs = [StagePair(name, _at(first, name), _at(second, name)) for name in names]
    told = tuple(
        pair for pair in pairs if pair.first.measured or pair.second.measured or pair.first.wrong or pair.second.wrong
    )
    return Compared(first, second, tuple(differences(first.text, second.text)), told, (_totals(first), _totals(second)))


def _named(stage: Stage) -> str:
    return stage.name


def _at(side: Side, name: str) -> AtStage:
    stage = next((one for one in side.stages if _named(one) == name), None)
    if stage is None:
        return AtStage()
    here = [one for one in latest(side.entries) if one.place and (one.place.bar, one.place.number) == stage.key]
    here = [one for one in here if one.place and one.place.do in (stage.do, stage.name)]
    measured = {m.name: (m.value, m.unit) for one in here for m in one.measures if m.value is not None}
    return AtStage(dict(stage.sizes), measured, tuple(one.wrong for one in here if one.wrong))


def _totals(side: Side) -> Totals:
    notes = latest(side.entries)
    masses = [one.measured("mass") for one in notes if one.measured("mass")]
    hard = [m.value for one in notes for m in one.measures if m.name.startswith("hardness") and m.value is not None]
    bows = [abs(m.value) for one in notes for m in one.measures if m.name.startswith("bow") and m.value is not None]
    first, last = (masses[0], masses[-1]) if len(masses) > 1 else (None, None)
    return Totals(
        _sum(notes, "took"), _sum(notes, "belts"), _sum(notes, "heats"),
        1 - last / first if first and last else None, hard[-1] if hard else None, max(bows, default=None),
        sum(bool(one.wrong) for one in notes),
    )  # fmt: skip


def _sum(notes: Iterable[Entry], name: str) -> float | None:
    found = [value for one in notes if (value := one.measured(name)) is not None]
    return sum(found) if found else None


def differences(first: str, second: str) -> Iterator[str]:
    """How the second recipe differs from the first, a sentence for each key, figures as they were typed."""
    try:
        one, other = tomllib.loads(first), tomllib.loads(second)
    except ValueError:
        return
    for data in (one, other):
        for key in ("title", "version"):
            data.pop(key, None)
    yield from _tables(one, other, "")


def _tables(one: dict[str, Any], other: dict[str, Any], where: str) -> Iterator[str]:
    for key in dict.fromkeys((*one, *other)):
        place = f"{where} {key}".strip()
        if key not in other:
            yield f"{place}: left out now, was {_said(one[key])}"
        elif key not in one:
            yield f"{place}: {_said(other[key])} now, was not given"
        else:
            yield from _values(one[key], other[key], place)


def _values(one: Any, other: Any, place: str) -> Iterator[str]:
    if one == other:
        return
    if isinstance(one, dict) and isinstance(other, dict):
        yield from _tables(one, other, place)
    elif _is_tables(one) and _is_tables(other):
        yield from _lists(one, other, place)
    else:
        yield f"{place}: {_said(other)} now, was {_said(one)}"


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(item, dict) for item in value)


def _lists(one: Sequence[dict[str, Any]], other: Sequence[dict[str, Any]], place: str) -> Iterator[str]:
    """Tables paired by what they do or are called, so that a step put in between moves no other."""
    keys = [[str(item.get("do") or item.get("name") or "") for item in items] for items in (one, other)]
    for tag, a, b, c, d in SequenceMatcher(None, keys[0], keys[1], autojunk=False).get_opcodes():
        if tag == "equal":
            for k in range(b - a):
                yield from _tables(one[a + k], other[c + k], f"{place} {c + k + 1} ({keys[1][c + k]})")
            continue
        for k in range(a, b):
            yield f"{place} {k + 1} ({keys[0][k]}): left out now"
        for k in range(c, d):
            yield f"{place} {k + 1} ({keys[1][k]}): put in"


def _said(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key} {_said(item)}" for key, item in value.items())
    if isinstance(value, list):
        return "; ".join(_said(item) for item in value)
    return str(value)
