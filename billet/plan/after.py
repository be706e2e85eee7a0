"""What follows the laminate: the pattern's own steps, from the bar the search must reach to the bar the blade is ground
from.

Every pattern is written as the steps and bars of a recipe. How long the laminate must be comes from running them
through the ledger at twice the scale loss with a plain bar in its place, so that there is no second model of losses.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from billet.bar.sizes import Size, heated
from billet.base.errors import InputError
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.plan.goal import Goal
from billet.plan.recipe_text import hot, length, shop_table, up
from billet.plan.smiths_habits import Habits
from billet.recipe.read import build
from billet.steel.library import Steel

PESSIMISTIC = 2.0  # scale loss over the law's: the far end of the ledger's band
Steps = list[dict[str, Any]]
Spread = Callable[[Any], Any]
TENTH = (1e-4, 0.0254 / 200)  # bars are drawn to a tenth of a millimetre or five thou


class Twin(NamedTuple):
    """A bar of the same laminate and what is done to it alone."""

    name: str
    steps: Callable[[float], Steps]


@dataclass(frozen=True)
class After:
    """The bar the laminate is drawn to, and what is done to it afterwards.

    width, thickness [m] of the laminate; steps(length) of the same bar and bars(length) after it, as recipe tables;
    heats (K, s, count) that the search itself weighs. Layers in the end are `times` those of the laminate plus `plus`;
    `core` is another steel and its share of the last bar; why: a sentence for the smith. twins: further bars laid up
    and drawn like the first, and their own steps. spread: from the length [m] the laminate is drawn to, what all
    layers are laid out over where they show [m]; None when they lie flat in the last bar. want [m]: how long the laminate must be, None to solve for it. narrow: least
    width over the stack's; lean: least length of a stack over its height. widths [m]: plates wider than usual that may
    be bought too. stack: single plates in place of two steels in turn.
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
    twins: tuple[Twin, ...] = ()
    spread: Spread | None = None
    want: float | None = None
    narrow: float = 0.6
    lean: float = 1.0
    widths: tuple[float, ...] = ()
    stack: tuple[tuple[Steel, float], ...] = ()


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
    wide, high = up(float(size.width), goal.units), up(float(size.thickness), goal.units, TENTH)
    return Size(goal.need.length * (1 + goal.reserve), wide, high)


def post(goal: Goal, habits: Habits) -> Steps:
    """The heats between the last draw and the grinder: normalise and harden."""
    return [{"do": "heat", **hot(h, goal.units)} for h in (habits.normalise, habits.harden) if h[2] > 0]


def proxy(goal: Goal, steel: Steel, after: After, long: float, factor: float = PESSIMISTIC) -> Ledger:
    """The steps after the laminate, run on a plain bar of one steel in its place, `long` [m]. Raises InputError when
    this shop's losses leave too little for one of them.
    """
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
        "bar": [bar, *twins(after, long), *after.bars(long)],
    }
    try:
        return run(build(tables), scale_factor=factor, diffuse=False)
    except InputError as error:
        raise InputError(
            f'target: the pattern "{goal.target.pattern}" cannot be planned for this blade with this shop\'s losses '
            f"({str(error).removeprefix('recipe: ')}); less scale or another pattern is wanted"
        ) from None


def twins(after: After, long: float, laminate: Steps | None = None) -> Steps:
    """The further bars of the same laminate as recipe tables; `laminate` are the steps they share with the first."""
    return [{"like": "billet", "name": t.name, "step": [*(laminate or []), *t.steps(long)]} for t in after.twins]


def laminate_length(goal: Goal, steel: Steel, after: After) -> float:
    """Length [m] the laminate must have so that the last bar is as long as the need and its reserve at twice the scale
    loss.

    Secant steps over the ledger; the length of the last bar is all but straight in it.
    """
    if after.want is not None:
        return after.want
    want = goal.need.length * (1 + goal.reserve)
    a, b = 0.2, 0.4
    fa, fb = (proxy(goal, steel, after, v).last.length for v in (a, b))
    for _ in range(6):
        if abs(fb - want) < 1e-6 or fb == fa:
            break
        a, fa, b = b, fb, max(5e-3, b + (want - fb) * (b - a) / (fb - fa))
        fb = proxy(goal, steel, after, b).last.length
    return b if fb >= want else b * (1 + 1e-4) * want / fb
