"""The life of a knife in a handful of parts: each bar forged, the blade shaped, its fire, its finish."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from billet.stages.stage import Stage

# What the blade's stages belong to; common practice, no source. A stage not named here stays with the one before it.
PARTS = {
    "shape": ("profile", "rough grind"),
    "heat treat": ("normalise", "anneal", "harden", "straighten", "temper"),
    "finish": ("thin", "finish", "etch", "handle", "sharpen"),
}
_PART_OF = {do: part for part, dos in PARTS.items() for do in dos}
MOST_BARS = 2  # more bars than these are told as one


@dataclass(frozen=True)
class Part:
    """Consecutive stages told as one: the first and the last of them, minutes in sum, and what the piece then weighs [kg]."""

    name: str
    first: Stage
    last: Stage
    minutes: float
    mass: float | None


def in_parts(every: Sequence[Stage]) -> tuple[Part, ...]:
    """The stages of a knife, those that belong together as one part; `every` holds at least one."""
    bars = list(dict.fromkeys(stage.bar for stage in every if stage.bar))
    many = f"forge {len(bars)} bars" if len(bars) > MOST_BARS else ""
    runs = groupby(_told(every, many), key=lambda pair: pair[0])
    return tuple(_part(name, [stage for _, stage in group]) for name, group in runs)


def _told(every: Iterable[Stage], many: str) -> Iterator[tuple[str, Stage]]:
    """Each stage with the part it belongs to."""
    name = next(iter(PARTS))
    for stage in every:
        name = many or f"forge {stage.bar}" if stage.bar else _PART_OF.get(stage.do, name)
        yield name, stage


def _part(name: str, stages: Sequence[Stage]) -> Part:
    return Part(name, stages[0], stages[-1], sum(stage.minutes or 0.0 for stage in stages), stages[-1].mass)
