"""The plan in a few lines: is the metal enough, then a line a place, from the heel to the tip."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from billet.base.units import Kind, show
from billet.grinding.grinding_plan import Plan, StationPlan
from billet.grinding.grinding_text import next_words, pattern_words, pinch_words, small, sum_of, verdict, warnings
from billet.grinding.stations import along
from billet.grinding.straighten import before_grinding

_NAME = {"metric": "mm", "imperial": "thou"}


def head(plan: Plan, units: str) -> str:
    """Return whether there is enough metal."""
    return "Enough metal, and the blade ends straight." if plan.verdict == "on target" else verdict(plan, units)


def bending(plan: Plan, units: str) -> Iterator[str]:
    """Yield how to straighten where grinding alone cannot make it straight."""
    if plan.verdict == "straighten":
        yield from before_grinding(plan, units, small)


def places(plan: Plan, units: str) -> Iterator[str]:
    """Yield what the figures mean, then a line for every distance from the heel: what comes off there, and what stays."""
    when = "To harden" if plan.state == "hardening" else "To finish"
    yield f"{when}: {_NAME[units]} off left|right to stay; edge down, tip away"
    for x, rows in groupby(plan.stations, key=lambda row: row.station.x):
        yield f"  {along(x, units):<8} " + ", ".join(_place(row, units) for row in rows)


def further(plan: Plan, units: str, core: float | None = None) -> Iterator[str]:
    """Yield what to know besides, most important first."""
    yield from pinch_words(plan, units)
    yield from warnings(plan, units, core)
    yield from pattern_words(plan, units, core)
    yield from next_words(plan, units)


def _place(row: StationPlan, units: str) -> str:
    place = row.station.place if row.station.place != "face" else f"{show(row.station.height, Kind.LENGTH, units)} up"
    if row.gone:
        return f"{place} nothing left: do not grind"
    s = sum_of(row, units)

    def bare(said: str) -> str:
        return said.rsplit(" ", 1)[0]

    off = f"{bare(s.side(s.left))} each" if s.even else f"{bare(s.say(s.left))}|{bare(s.say(s.right))}"
    return f"{place} {off if s.off else 'none'} to {bare(s.say(s.final))}"
