"""Feather: a tall stack split hot down its middle, welded again, stood on end and drawn out."""

from __future__ import annotations

from dataclasses import replace

from billet.bar.sizes import Size
from billet.base.errors import InputError
from billet.plan.after import After, Steps, laminate_length, post, proxy
from billet.plan.goal import Goal, pairs
from billet.plan.press import HAND_HIGH
from billet.plan.recipe_text import hot, length, step_of, up
from billet.plan.rules import feather_layers
from billet.plan.smiths_habits import Habits
from billet.steel.library import Steel

DRAG = 1 / 6  # of the height: how far the wedge takes the layers along; common practice, no source
_REACH = 0.8  # of half the width: barbs that run out into straight lines before the edge; judgement
_PROVED = 1.08  # the last stack over the height it is drawn to, which proves its welds; judgement
_LEAST_HIGH = 25e-3  # [m] a lower stack gives barbs of a few millimetres; judgement
HEIGHTS = tuple(h * 1e-3 for h in (16, 20, 25, 32, 40, 50, 63, 80))  # a stack is drawn to less than one of these [m]
_WIDE = {"metric": 75e-3, "imperial": 3 * 0.0254}  # tall stacks want wide plates: about 3 in (a thread)
_LEAN = 0.25  # least length of such a stack over its height: a short block that stands on its width; common practice


def feather(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """The after-part of a feather. The stack is as tall as press and plates allow; its length is what the bar takes.

    All layers are laid out along the blade, but for those dressed off with the drag: so layers per length of stack are
    lines per length times final length over stack height.
    """
    widest = _widest(goal, final.width)
    high = _tallest(goal, widest)
    after = _with(goal, habits, final, high, min(final.width, widest))
    return _spread(goal, dark, after, high)


def _widest(goal: Goal, final: float) -> float:
    """Width [m] of the widest plates that a draw still brings down to the width `final` [m]; 0 when there are none."""
    wide = (w for p in pairs(goal) for w in (*p.widths, *((_WIDE[goal.units],) if goal.rack is None else ())))
    return max((w for w in wide if w <= final / After.narrow), default=0.0)


def _tallest(goal: Goal, widest: float) -> float:
    """Height [m] to draw the last stack to."""
    shop = goal.shop
    opening = shop.press_opening if shop.forge_tool == "press" else min(shop.press_opening, HAND_HIGH)
    top = max((h for h in HEIGHTS if h <= min(opening, widest)), default=0.0)
    high = up(top / _PROVED - step_of(goal.units), goal.units)
    if high < _LEAST_HIGH:
        raise InputError(
            f"target: a feather is split from a stack at least {length(up(_LEAST_HIGH, goal.units), goal.units)} high after drawing, "
            f"and this press and these plates give {length(high, goal.units)}; a wider plate or a press that opens "
            "further is wanted"
        )
    return high


def _with(goal: Goal, habits: Habits, final: Size, high: float, width: float) -> After:
    """A stack `high` and `width` [m], and what is done to it."""
    u = goal.units
    drag, reach = round(DRAG * high, 4), round(_REACH * 0.5 * width, 4)

    def steps(long: float) -> Steps:
        draws = int(habits.heats_to_draw(long, final.thickness))
        last = {"thickness": length(final.thickness, u), "width": length(final.width, u)}
        return [
            {"do": "split", "drag": length(drag, u), "reach": length(reach, u), **hot((*habits.weld[:2], 1), u)},
            {"do": "weld", **hot(habits.weld, u)},
            {"do": "stand"},
            {"do": "draw", **last, **hot((*habits.draw, draws), u)},
            *post(goal, habits),
        ]

    why = (
        f"a stack {length(high, u)} high is split down its middle, the wedge dragging the layers about "
        f"{length(drag, u)}, welded again, stood on end and drawn out with the split along the blade"
    )
    return After(width, high, steps, welds=habits.weld[2], why=why, lean=_LEAN, widths=(_WIDE[u],))


def _spread(goal: Goal, dark: Steel, after: After, high: float) -> After:
    """The after-part with the length its laminate must have and what its layers are laid out over."""
    long = laminate_length(goal, dark, after)
    book = proxy(goal, dark, after, long, 1.0)
    stood = next(r.bar.length for r in book.bars[-1].rows if r.do == "upend")
    lines = feather_layers(1.0, book.last.length, stood) * high / long
    return replace(after, want=long, spread=lambda drawn: lines * drawn)
