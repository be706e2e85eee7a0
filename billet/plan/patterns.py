"""The patterns that can be planned, each with what it does to the laminate."""

from __future__ import annotations

from collections.abc import Callable

from billet.bar.sizes import Size
from billet.plan.after import PESSIMISTIC, TENTH, After, Steps, final_bar, post
from billet.plan.bars import SQUARED, multi_bar
from billet.plan.clad import clad
from billet.plan.feather import feather
from billet.plan.goal import Goal
from billet.plan.integral import Block, block_of
from billet.plan.opened import accordion, zigzag
from billet.plan.recipe_text import hot, length, up
from billet.plan.smiths_habits import Habits
from billet.steel.library import Steel

HALF = (5e-4, 0.0254 / 32)  # grooves and dimples are laid out to half a millimetre or a 32nd of an inch
Maker = Callable[[Goal, Habits, Size, Steel], After]


def after_for(goal: Goal, habits: Habits, dark: Steel) -> After:
    """The pattern's part of the plan. Raises InputError where this blade or shop cannot have it."""
    makers: dict[str, Maker] = {
        "laminate": _laminate,
        "clad": clad,
        "ladder": _ladder,
        "raindrop": _raindrop,
        "twist": _twist,
        "multi-bar": multi_bar,
        "w": zigzag,
        "feather": feather,
        "accordion": accordion,
    }
    return makers[goal.target.pattern](goal, habits, final_bar(goal, habits), dark)


def _laminate(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    heats = tuple(h for h in (habits.normalise, habits.harden) if h[2] > 0)
    block = block_of(goal.blade, goal.shop, goal.units, heats, PESSIMISTIC)
    if block is not None:
        return _drawn_out(goal, habits, block)
    return After(final.width, final.thickness, lambda _: post(goal, habits), heats=heats)


def _drawn_out(goal: Goal, habits: Habits, block: Block) -> After:
    """A block that stays for the bolster: blade and tang are drawn out of its ends, and layers thin with them."""
    thin = block.blade / goal.sine
    why = f"a block {length(block.thickness, goal.units)} thick stays for the bolster; blade and tang are drawn out of its ends"
    steps = [*map(dict, block.steps), *post(goal, habits)]
    return After(
        block.width, block.thickness, lambda _: steps, want=block.length, spread=lambda _: thin, why=why, lean=0.6
    )


def _ladder(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """The thirds rule: start three times as thick as it ends, grooves a third of that deep in either face, then forge
    flat.
    """
    start, flat = 3 * final.thickness, final.thickness
    u = goal.units
    step = {
        "do": "ladder",
        "made": "cut",
        "pitch": length(up(2.8 * flat, u, HALF), u),
        "groove": length(up(1.4 * flat, u, HALF), u),
        "depth": length(flat, u),
        "faces": "staggered",
        "flat": length(flat, u),
        **hot((*habits.last, 3), u),
    }
    why = (
        f"thirds rule: a bar {length(start, u)} thick, grooves {length(flat, u)} deep in both faces "
        f"half a pitch apart, forged flat to {length(flat, u)}"
    )
    return After(final.width, start, lambda _: [step, *post(goal, habits)], why=why)


def _raindrop(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """Dimples a third of the thickness deep; the bar starts so thick that none remains."""
    u = goal.units
    start = up(1.6 * final.thickness, u, TENTH)
    step = {
        "do": "raindrop",
        "made": "cut",
        "across": length(up(8e-3, u, HALF), u),
        "depth": length(up(start / 3 - TENTH[u == "imperial"], u, TENTH), u),
        "spacing": length(up(14e-3, u, HALF), u),
        "flat": length(final.thickness, u),
        **hot((*habits.last, 2), u),
    }
    why = (
        f"dimples at most a third of the {length(start, u)} bar deep, not opposite one another, "
        f"forged flat to {length(final.thickness, u)}"
    )
    return After(final.width, start, lambda _: [step, *post(goal, habits)], why=why)


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
            *post(goal, habits),
        ]

    return After(
        side,
        side,
        steps,
        narrow=SQUARED,
        why=(
            f"drawn square to {length(side, u)}, wound to a skin shear of about {_MILD_SHEAR:g}, drawn "
            f"flat, {length(_TWIST_GROUND, u)} ground off each face to clear the corner folds"
        ),
    )
