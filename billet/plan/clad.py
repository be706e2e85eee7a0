"""Clad blades: a core between two lengths of one layered bar."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from billet.bar.sizes import Size
from billet.base.errors import InputError
from billet.plan.after import After, Steps, post, proxy
from billet.plan.goal import Goal
from billet.plan.recipe_text import hot, length, up
from billet.plan.smiths_habits import Habits
from billet.steel.library import Steel, find

USUAL_CORE = 1 / 3  # of the thickness; a quarter to a half is common, no source
_THICKEST_CORE = 8e-3


def core_steel(goal: Goal, dark: Steel) -> tuple[Steel, float, float]:
    """The steel of the core, and the thickness and width [m] of the plate it is cut from."""
    named = goal.target.steels
    if goal.rack is None:
        name = named[2] if named and len(named) > 2 else "1095"
        return find(name, goal.own), 6e-3, 50e-3
    bars = {(find(b.steel, goal.own).name, b.thickness, b.width) for b in goal.rack}
    wanted = find(named[2], goal.own).name if named and len(named) > 2 else None
    fit = sorted(
        (find(n, goal.own).carbon, t, w, n)
        for n, t, w in bars
        if (wanted is None or n == wanted) and t <= _THICKEST_CORE
    )
    if not fit:
        raise InputError(
            f"rack: no bar for the core{f' of {wanted}' if wanted else ''} up to "
            f"{length(_THICKEST_CORE, goal.units)} thick; buy one or name another steel third in "
            "[target] steels"
        )
    _, thick, wide, name = fit[-1]
    return find(name, goal.own), thick, wide


def clad(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """The after-part of a clad blade; the cladding's thickness is solved so that the core keeps its share in the
    finished bar.
    """
    steel, thick, wide = core_steel(goal, dark)
    share = goal.target.core if goal.target.core is not None else USUAL_CORE
    wide = min(wide, final.width)
    side = thick * (1 / share - 1) / 2
    for _ in range(8):
        after = _with(goal, habits, final, steel, thick, wide, side)
        got = _core_share(goal, dark, after)
        side = float(np.clip(side * (1 / share - 1) / max(1 / got - 1, 1e-3), 1e-3, 40e-3))
    side = up(side, goal.units, (1e-4, 0.0254 / 200))
    after = _with(goal, habits, final, steel, thick, wide, side)
    return replace(after, core=(steel, thick, _core_share(goal, dark, after)))


def _with(goal: Goal, habits: Habits, final: Size, steel: Steel, thick: float, wide: float, side: float) -> After:
    u, stack = goal.units, 2 * side + thick
    draws = int(habits.heats_to_draw(stack, final.thickness))

    def bars(long: float) -> Steps:
        piece = 0.5 * (long - goal.shop.kerf)
        core: dict[str, Any] = {
            "name": "core",
            "width": length(wide, u),
            "length": length(piece, u),
            "stack": [f"{steel.name} {length(thick, u)}"],
        }
        last = {
            "name": "blade bar",
            "join": ["billet", "core", {"bar": "billet", "turn": "over"}],
            "as": "layers",
            "step": [
                {"do": "weld", **hot(habits.weld, u)},
                {
                    "do": "draw",
                    "thickness": length(final.thickness, u),
                    "width": length(final.width, u),
                    **hot((*habits.last, draws), u),
                },
                *post(goal, habits),
            ],
        }
        return [core, last]

    why = (
        f"core of {steel.name} {length(thick, u)} between two lengths of cladding {length(side, u)} "
        "thick, the upper one turned over so that the same face lies outside"
    )
    return After(
        wide, side, lambda _: [], bars, times=2, plus=1, core=(steel, thick, 0.0), welds=habits.weld[2], why=why
    )


def _core_share(goal: Goal, dark: Steel, after: After) -> float:
    """Share of the finished thickness that is core, in a nominal run with plain cladding."""
    laminate = proxy(goal, dark, after, 0.4, 1.0).last.laminate
    assert laminate is not None
    return (
        float(laminate.layer_thickness[len(laminate.layer_thickness) // 2] / laminate.total)
        if laminate.distinct == 3
        else _by_joint(laminate.thickness)
    )


def _by_joint(thickness: np.ndarray) -> float:
    """The middle of three cells, where core and cladding are one steel."""
    return float(thickness[len(thickness) // 2] / thickness.sum())
