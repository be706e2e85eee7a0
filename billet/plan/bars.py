"""Multi-bar twists: square bars wound in opposite hands, welded side by side, ground to the middle."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from billet.bar.bar import corner_share
from billet.bar.sizes import Size, heated
from billet.base.errors import InputError
from billet.plan.after import PESSIMISTIC, TENTH, After, Steps, Twin, post, proxy
from billet.plan.goal import Goal, pairs
from billet.plan.recipe_text import hot, length, plate, up
from billet.plan.smiths_habits import Habits
from billet.steel.library import Steel, find

MILD_SHEAR = 2.5  # skin shear planned for; past 3 a square bar tends to tear (common practice, no source)
_SIDE = 12e-3  # [m] square bars of 10 to 12 mm are usual (threads)
_SETS = 1.1  # how much wider the bars are in the end than as laid; judgement
_GROUND = 0.25  # of the flattened bar, off each face: to the middle of the bars (threads)
_EDGE = 0.24  # of the width: the bar along the edge; judgement
_CORNER_OUT = 1.15  # farthest point of such a section over half its side; as for a single twist
_LONGER = 1.2  # the edge bar over the others at twice the scale: they are longer as expected, and it is cut to them
_NEAR = 1.15  # an edge bar may be so much thicker than the others
_CORNERS = 0.5  # how far corners are broken before the twist; judgement
_TWIST_HEATS = 2
_SPARE = 1.05  # a wound bar over the square it is forged to; judgement
SQUARED = 0.3  # a square bar may be drawn to so much of its stack's width: it is forged from all four sides
_NAMES = ("billet", "second bar", "third bar", "fourth bar", "fifth bar", "sixth bar")


def multi_bar(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """The after-part of a multi-bar twist: as many equal bars as the width takes, hands in turn, over an edge bar where
    a third steel is named. Raises InputError where lines are asked for, which depend on how deep the bars are ground.
    """
    if goal.target.line is not None:
        raise InputError(
            "target: the lines of twisted bars depend on how deep they are ground, so no line width can be planned; "
            "ask for layers instead"
        )
    edged = len(goal.target.steels or ()) > 2
    left = final.width * (1 - _EDGE * edged)
    many = min(max(2, round(left / _SETS / _SIDE)), len(_NAMES))
    side = _side(goal, habits, final, many, edged)
    edge = _edge(goal, side)
    after = _with(goal, habits, final, many, side, edge)
    narrowest, most = min(w for p in pairs(goal) for w in p.widths), after.width / after.narrow
    if narrowest > most:
        raise InputError(
            f"rack: square bars of {length(after.width, goal.units)} are drawn from plates up to "
            f"{length(math.floor(most * 1e3) / 1e3, goal.units)} wide, and the narrowest in the rack are "
            f"{length(narrowest, goal.units)}; slit them or buy narrower ones"
        )
    return after if edge is None else _with_share(goal, dark, after, edge)


def _flat(goal: Goal, final: Size) -> float:
    """Thickness [m] the welded bars are flattened to before they are ground to their middle."""
    return up(final.thickness / (1 - 2 * _GROUND), goal.units, TENTH)


def _strip(goal: Goal, final: Size, side: float) -> float:
    """Width [m] of the edge bar: its share of the blade's, and no less than it is thick."""
    return up(max(_EDGE * final.width, up(side, goal.units)), goal.units)


def _side(goal: Goal, habits: Habits, final: Size, many: int, edged: bool) -> float:
    """Side [m] of the squares: what fills the width, beside an edge bar or not, and still has enough metal to be
    flattened when the weld has scaled twice as much.
    """
    flat = _flat(goal, final)
    grid, clean = TENTH[goal.units == "imperial"], 2 * goal.shop.face_cleanup * (many - (not edged))
    side = up((final.width * (1 - _EDGE * edged) / _SETS + clean) / many, goal.units, TENTH)
    while True:
        strip = _strip(goal, final, side) if edged else 0.0
        size = Size(1.0, strip + many * side - clean, side)
        for _ in range(habits.weld[2] + 1):
            size = heated(size, goal.shop, *habits.weld[:2], PESSIMISTIC)
        if size.thickness > flat and size.width * size.thickness >= _SPARE * flat * final.width:
            return side
        side += grid


def _edge(goal: Goal, side: float) -> tuple[Steel, float] | None:
    """The third steel named, if any, and how thick [m] the bar along the edge is. Raises InputError when the rack has
    none that can lie beside the others.
    """
    named = goal.target.steels
    if not named or len(named) < 3:
        return None
    steel = find(named[2], goal.own)
    if goal.rack is None:
        return steel, up(side, goal.units)
    fit = sorted(
        b.thickness
        for b in goal.rack
        if find(b.steel, goal.own).name == steel.name and side <= b.thickness <= _NEAR * side
    )
    if not fit:
        raise InputError(
            f"rack: no bar of {steel.name} {length(side, goal.units)} to {length(_NEAR * side, goal.units)} thick for "
            "the edge; buy one or name two steels only in [target] steels"
        )
    return steel, fit[0]


def _before(goal: Goal, habits: Habits, side: float) -> float:
    """Side [m] of a bar that broken corners and twice the scale of twisting and squaring leave thicker than `side`."""
    start = _SPARE * side / math.sqrt(corner_share(2 / _CORNERS))
    size = Size(1.0, start, start)
    for _ in range(_TWIST_HEATS + 1):
        size = heated(size, goal.shop, *habits.draw, PESSIMISTIC)
    return up(2 * start - size.thickness, goal.units, TENTH)


def _with(goal: Goal, habits: Habits, final: Size, many: int, side: float, edge: tuple[Steel, float] | None) -> After:
    u, wound, flat = goal.units, _before(goal, habits, side), _flat(goal, final)
    ground = round(0.5 * (flat - final.thickness), 6)
    names = _NAMES[:many]

    def bars(long: float) -> Steps:
        own = (
            []
            if edge is None
            else [_edge_bar(goal, final, edge, _LONGER * _squared(goal, habits, (wound, side), long))]
        )
        return [*own, _joined(goal, habits, final, [*(bar["name"] for bar in own), *names], (side, flat, ground))]

    hands = [_twisted(goal, habits, (wound, side), ("right", "left")[k % 2]) for k in range(many)]
    twins = tuple(Twin(name, steps) for name, steps in zip(names[1:], hands[1:], strict=True))
    over = "" if edge is None else f" over an edge bar of {edge[0].name}"
    why = (
        f"{many} bars alike, drawn square to {length(wound, u)} and wound in opposite hands, turns counted, forged "
        f"square to {length(side, u)}, welded side by side{over}, flattened to {length(flat, u)}, {length(ground, u)} "
        "ground off each face to the middle of the bars"
    )
    more, welds = int(edge is not None), habits.weld[2]
    return After(wound, wound, hands[0], bars, times=many, plus=more, welds=welds, why=why, twins=twins, narrow=SQUARED)


def _twisted(goal: Goal, habits: Habits, squares: tuple[float, float], hand: str) -> Callable[[float], Steps]:
    """The steps of one bar: wound at one square, forged to the other [m]."""
    u, (wound, side) = goal.units, squares

    def steps(long: float) -> Steps:
        turns = max(1.0, round(MILD_SHEAR / (0.5 * wound * _CORNER_OUT) * long / (2 * math.pi) * 2) / 2)
        heats, square = hot((*habits.draw, _TWIST_HEATS), u), {"thickness": length(side, u), "width": length(side, u)}
        return [
            {"do": "twist", "turns": turns, "hand": hand, "corners": _CORNERS, **heats},
            {"do": "draw", **square, **hot((*habits.draw, 1), u)},
        ]

    return steps


def _squared(goal: Goal, habits: Habits, squares: tuple[float, float], long: float) -> float:
    """How long [m] a bar is once wound and forged square at twice the scale loss."""
    wound, side = squares
    size = Size(long, wound, wound)
    for _ in range(_TWIST_HEATS + 1):
        size = heated(size, goal.shop, *habits.draw, PESSIMISTIC)
    return float(size.box * corner_share(2 / _CORNERS) / side**2)


def _edge_bar(goal: Goal, final: Size, edge: tuple[Steel, float], long: float) -> dict[str, Any]:
    """A plain bar `long` [m] before it is cut to the others."""
    u, (steel, thick) = goal.units, edge
    return {
        "name": "edge bar",
        "width": length(_strip(goal, final, thick), u),
        "length": length(up(long, u), u),
        "stack": [plate(steel.name, thick, u)],
    }


def _joined(
    goal: Goal, habits: Habits, final: Size, names: list[str], sizes: tuple[float, float, float]
) -> dict[str, Any]:
    """The bar the blade is ground from: welded, flattened from `side`, ground off both faces [m]."""
    u, (side, flat, ground) = goal.units, sizes
    size = {"thickness": length(flat, u), "width": length(final.width, u)}
    steps: Steps = [
        {"do": "weld", **hot(habits.weld, u)},
        {"do": "draw", **size, **hot((*habits.last, int(habits.heats_to_draw(side, flat))), u)},
        {"do": "surface", "top": length(ground, u), "bottom": length(ground, u)},
        *post(goal, habits),
    ]
    return {"name": "blade bar", "join": names, "as": "side by side", "step": steps}


def _with_share(goal: Goal, dark: Steel, after: After, edge: tuple[Steel, float]) -> After:
    """The after-part with the edge bar's share of the last bar."""
    *_, along, joined = (r.rows[0].bar for r in proxy(goal, dark, after, 0.2, 1.0).bars)
    return replace(after, core=(*edge, along.mass * joined.length / along.length / joined.mass))
