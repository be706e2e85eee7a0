"""What follows the laminate: the pattern's own steps, from the bar the search must reach to the bar the blade is ground
from.

Every pattern is written as the steps and bars of a recipe. How long the laminate must be comes from running them
through the ledger at twice the scale loss with a plain bar in its place, so that there is no second model of losses.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from billet.errors import InputError
from billet.ledger import Ledger, run
from billet.operations import step_types
from billet.operations.sizes import Size, heated
from billet.plan.goal import Goal
from billet.plan.habits import Habits
from billet.plan.words import hot, length, shop_table, up
from billet.recipe import build
from billet.steels import Steel

PESSIMISTIC = 2.0  # scale loss over the law's: the far end of the ledger's band
Steps = list[dict[str, Any]]
_TENTH = (1e-4, 0.0254 / 200)  # bars are drawn to a tenth of a millimetre or five thou


@dataclass(frozen=True)
class After:
    """The bar the laminate is drawn to, and what is done to it afterwards.

    width, thickness [m] of the laminate; steps(length) of the same bar and bars(length) after it, as recipe tables;
    heats (K, s, count) that the search itself weighs. Layers in the end are `times` those of the laminate plus `plus`;
    `core` is another steel and its share of the thickness; why: a sentence for the smith.
    """

    width: float
    thickness: float
    steps: Callable[[float], Steps]
    bars: Callable[[float], Steps] = lambda _: []
    heats: tuple[tuple[float, float, int], ...] = ()
    times: int = 1
    plus: int = 0
    core: tuple[Steel, float, float] | None = None
    welds: int = 0
    why: str = ""


def final_bar(goal: Goal, habits: Habits) -> Size:
    """Width and thickness [m] the last draw must give so that need, warp and cleaning up survive the later heats at
    twice the scale; length [m] the bar must then still have.
    """
    width, thick = goal.need.width + 2 * habits.sides, goal.need.thickness + habits.warp
    offset = 2 * abs(goal.blade.design.offset)
    size = Size(1.0, width, thick + offset)
    for _ in range(4):
        end = size
        for kelvin, seconds, times in (habits.normalise, habits.harden):
            for _ in range(times):
                end = heated(end, goal.shop, kelvin, seconds, PESSIMISTIC)
        size = Size(1.0, size.width + width - end.width, size.thickness + thick + offset - end.thickness)
    wide, high = (up(float(v), goal.units, _TENTH) for v in (size.width, size.thickness))
    return Size(goal.need.length * (1 + goal.reserve), wide, high)


def after_for(goal: Goal, habits: Habits, dark: Steel) -> After:
    """The pattern's part of the plan. Raises InputError for a pattern that cannot be planned."""
    makers = {"laminate": _laminate, "clad": _clad, "ladder": _ladder, "raindrop": _raindrop, "twist": _twist}
    name = goal.target.pattern
    if name not in makers or (name in ("ladder", "raindrop", "twist") and name not in step_types()):
        can = ", ".join(makers)
        raise InputError(
            f'target: the pattern "{name}" cannot be planned backwards yet; patterns that can are '
            f"{can}. Plan a laminate of the section it starts from, and add its steps to the recipe by "
            "hand"
        )
    return makers[name](goal, habits, final_bar(goal, habits), dark)


def _post(goal: Goal, habits: Habits) -> Steps:
    """The heats between the last draw and the grinder: normalise and harden."""
    return [{"do": "heat", **hot(h, goal.units)} for h in (habits.normalise, habits.harden) if h[2] > 0]


def _laminate(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    heats = tuple(h for h in (habits.normalise, habits.harden) if h[2] > 0)
    return After(final.width, final.thickness, lambda _: _post(goal, habits), heats=heats)


def _ladder(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """The thirds rule: start three times as thick as it ends, grooves a third of that deep in either face, then forge
    flat.
    """
    start, flat = 3 * final.thickness, final.thickness
    u = goal.units
    step = {
        "do": "ladder",
        "made": "cut",
        "pitch": length(round(3.5 * flat, 4), u),
        "groove": length(round(1.5 * flat, 4), u),
        "depth": length(flat, u),
        "faces": "staggered",
        "flat": length(flat, u),
        **hot((*habits.last, 3), u),
    }
    why = (
        f"thirds rule: a bar {length(start, u)} thick, grooves {length(flat, u)} deep in both faces "
        f"half a pitch apart, forged flat to {length(flat, u)}"
    )
    return After(final.width, start, lambda _: [step, *_post(goal, habits)], why=why)


def _raindrop(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """Dimples a third of the thickness deep; the bar starts so thick that none remains."""
    u = goal.units
    start = up(1.6 * final.thickness, u, _TENTH)
    step = {
        "do": "raindrop",
        "made": "cut",
        "across": length(8e-3, u),
        "depth": length(round(start / 3, 5), u),
        "spacing": length(14e-3, u),
        "flat": length(final.thickness, u),
        **hot((*habits.last, 2), u),
    }
    why = (
        f"dimples at most a third of the {length(start, u)} bar deep, not opposite one another, "
        f"forged flat to {length(final.thickness, u)}"
    )
    return After(final.width, start, lambda _: [step, *_post(goal, habits)], why=why)


_TWIST_GROUND = 1e-3  # [m] off each face after a twist, to clear the corner folds; common practice, no source
_MILD_SHEAR = 2.5  # skin shear planned for; past 3 a square bar tends to tear (common practice, no source)


def _twist(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """A square bar wound short of tearing, drawn flat and ground clear of its corner folds."""
    u = goal.units
    flat = final.thickness + 2 * _TWIST_GROUND
    side = up(max(0.5 * final.width, 3 * flat), u)

    def steps(long: float) -> Steps:
        turns = max(1.0, round(_MILD_SHEAR / (0.5 * side * 1.15) * long / 6.2831853 * 2) / 2)
        draws = int(habits.heats_to_draw(side, flat))
        return [
            {"do": "twist", "turns": turns, "corners": 0.5, **hot((*habits.draw, 1), u)},
            {
                "do": "draw",
                "thickness": length(flat, u),
                "width": length(final.width, u),
                **hot((*habits.last, draws), u),
            },
            {"do": "surface", "top": length(_TWIST_GROUND, u), "bottom": length(_TWIST_GROUND, u)},
            *_post(goal, habits),
        ]

    return After(
        side,
        side,
        steps,
        why=(
            f"drawn square to {length(side, u)}, wound to a skin shear of about {_MILD_SHEAR:g}, drawn "
            f"flat, {length(_TWIST_GROUND, u)} ground off each face to clear the corner folds"
        ),
    )


def _clad(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """Cladding, core, cladding turned over: the same face of the cladding lies outside on both sides."""
    from billet.plan.clad import clad

    return clad(goal, habits, final, dark)


def proxy(goal: Goal, steel: Steel, after: After, long: float, factor: float = PESSIMISTIC) -> Ledger:
    """The steps after the laminate, run on a plain bar of one steel in its place, `long` [m]."""
    u = goal.units
    bar = {
        "name": "billet",
        "width": length(after.width, u),
        "length": length(long, u),
        "stack": [f"{steel.name} {length(after.thickness, u)}"],
        "step": after.steps(long),
    }
    tables = {
        "shop": shop_table(goal.shop),
        "units": u,
        "steels": dict(goal.recipe.tables.steels),
        "bar": [bar, *after.bars(long)],
    }
    return run(build(tables), scale_factor=factor, diffuse=False)


def laminate_length(goal: Goal, steel: Steel, after: After) -> float:
    """Length [m] the laminate must have so that the last bar is as long as the need and its reserve at twice the scale
    loss.

    Secant steps over the ledger; the length of the last bar is all but straight in it.
    """
    want = goal.need.length * (1 + goal.reserve)
    a, b = 0.2, 0.4
    fa, fb = (proxy(goal, steel, after, v).last.length for v in (a, b))
    for _ in range(6):
        if abs(fb - want) < 1e-6 or fb == fa:
            break
        a, fa, b = b, fb, max(0.05, b + (want - fb) * (b - a) / (fb - fa))
        fb = proxy(goal, steel, after, b).last.length
    return b if fb >= want else b * (1 + 1e-4) * want / fb
