"""Patterns that lie on the end of the bar and are brought to its face: accordion, and W's in tiles."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from billet.bar.sizes import Size, heated
from billet.base.errors import InputError
from billet.plan.after import PESSIMISTIC, TENTH, After, Steps, post, proxy
from billet.plan.goal import Goal, widest
from billet.plan.recipe_text import hot, length, up
from billet.plan.smiths_habits import Habits
from billet.steel.library import Steel
from billet.steps.end_grain import EndGrain

_SPREADS = 1.15  # the last draw widens the opened bar by so much; judgement
_BLOCK = 30e-3  # [m] side of a bar for an accordion (a smith's write-up: 30 mm square)
_WEB = 1 / 3  # of that side: the legs (the same write-up: about 10 mm)
_PITCH = 1.62  # cuts every so many webs, which leaves root holes of 0.62 of one (the same write-up: 6 to 8 mm for 10)
_FITS = 8

_TILE = 3.5  # tiles are so many times as thick as the bar in the end; judgement
_LYING = (26e-3, 40e-3)  # thickness and width [m] the laminate is drawn to before it is stood on edge; the demo's
_BULGE = 0.5  # amount of barrelling; judgement
_PIECE = 11e-3  # [m] the barrelled bar is drawn edge-on to before each restack
_SECTION = 45e-3  # [m] width of the standing stacks
_MOST_ROW = 4  # pieces a standing stack is laid from


@dataclass(frozen=True)
class _Cut:
    """Pieces the end is opened in, how long each is [m], and what is sawn between them [m]."""

    pieces: int
    pitch: Callable[[After], float]
    kerf: float = 0.0


def accordion(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """The after-part of an accordion: a square-ish bar cut from both sides, unfolded and drawn flat. Its thickness is
    fitted so that whole segments give the bar wanted.
    """
    width = min(up(final.width / _SPREADS, goal.units), widest(goal))

    def made(side: float) -> After:
        return _folded(goal, habits, final, width, side)

    unfolded = _WEB * _BLOCK * width / (final.thickness * final.width)
    segments = max(2, math.ceil(_wanted(goal) / (_BLOCK * unfolded)))
    after = _fitted(goal, dark, made, _Cut(segments, lambda a: _pitch(a.thickness, goal)), _BLOCK, 2.0)
    each = _wanted(goal) / segments
    return replace(after, spread=lambda _: each)


def _pitch(side: float, goal: Goal) -> float:
    return up(_PITCH * _web(side, goal), goal.units, (1e-4, 0.0254 / 200))


def _web(side: float, goal: Goal) -> float:
    return up(_WEB * side, goal.units, (1e-4, 0.0254 / 200))


def _folded(goal: Goal, habits: Habits, final: Size, width: float, side: float) -> After:
    u, web, pitch = goal.units, _web(side, goal), _pitch(side, goal)

    def steps(_: float) -> Steps:
        return [
            {
                "do": "end_grain",
                "by": "accordion",
                "segment": length(pitch, u),
                "web": length(web, u),
                **hot((*habits.weld[:2], 2), u),
            },
            *_drawn_flat(goal, habits, final, web),
        ]

    why = (
        f"the bar, {length(side, u)} high, is cut from either side in turn every {length(pitch, u)}, legs of "
        f"{length(web, u)} left and holes drilled at the roots, unfolded hot and drawn flat: the layers cross the blade"
    )
    return After(width, side, steps, why=why)


def _drawn_flat(goal: Goal, habits: Habits, final: Size, start: float) -> Steps:
    u = goal.units
    draws = int(habits.heats_to_draw(start, final.thickness))
    size = {"thickness": length(final.thickness, u), "width": length(final.width, u)}
    return [{"do": "draw", **size, **hot((*habits.last, draws), u)}, *post(goal, habits)]


def zigzag(goal: Goal, habits: Habits, final: Size, dark: Steel) -> After:
    """The after-part of W's: turned on edge, barrelled, drawn edge-on, restacked standing twice, squashed, and cut into
    tiles that bring the end to the face. The squashed height is fitted so that whole tiles give the bar wanted, near
    that at which the last draw makes the W's as high as they were.
    """
    rows = min(_MOST_ROW, goal.shop.most_pieces)
    if rows < 3:
        raise InputError(
            f"most_pieces: W's are laid from 3 or 4 standing pieces twice, and this shop restacks {rows} at once; "
            "allow more pieces"
        )
    width, segment = up(final.width / _SPREADS, goal.units), up(_TILE * final.thickness, goal.units)

    def made(low: float) -> After:
        return _standing(goal, habits, final, rows, (low, width, segment))

    longer = segment * width / (final.thickness * final.width)
    low = _PIECE * rows / _SECTION * final.width / longer
    tiles = max(2, round(_wanted(goal) / (low * longer)))
    return _fitted(goal, dark, made, _Cut(tiles, lambda _: segment, goal.shop.kerf), low, 1.0)


def _standing(goal: Goal, habits: Habits, final: Size, rows: int, squashed: tuple[float, float, float]) -> After:
    u, shop = goal.units, goal.shop
    thick, wide = (up(v, u) for v in _LYING)
    piece, section = up(_PIECE, u, (1e-4, 0.0254 / 200)), up(_SECTION, u)
    low, width, segment = squashed
    stack = rows * piece - 2 * (rows - 1) * shop.face_cleanup

    def drawn(start: float, thickness: float, width: float) -> Steps:
        draws = int(habits.heats_to_draw(start, thickness))
        return [
            {
                "do": "draw",
                "thickness": length(thickness, u),
                "width": length(width, u),
                **hot((*habits.draw, draws), u),
            }
        ]

    again: Steps = [{"do": "restack", "pieces": rows}, {"do": "weld", **hot(habits.weld, u)}]

    def steps(_: float) -> Steps:
        return [
            {"do": "turn"},
            {"do": "bulge", "amount": _BULGE, **hot((*habits.draw, 2), u)},
            *drawn(wide, piece, section),
            *again,
            *drawn(stack, piece, section),
            *again,
            *drawn(stack, low, width),
            {"do": "end_grain", "by": "tiles", "segment": length(segment, u)},
            {"do": "weld", **hot(habits.weld, u)},
            *_drawn_flat(goal, habits, final, segment),
        ]

    why = (
        f"stood on edge, barrelled, drawn edge-on to {length(piece, u)}, cut in {rows} and laid up standing, and so "
        f"again; squashed to {length(low, u)}, cut into tiles {length(segment, u)} long that are stood on end in a row, "
        "welded and drawn flat"
    )
    return After(
        wide, thick, steps, times=rows * rows, welds=3 * habits.weld[2], why=why, spread=lambda _: rows * rows * final.width
    )  # fmt: skip


def _wanted(goal: Goal) -> float:
    return goal.need.length * (1 + goal.reserve)


def _fitted(
    goal: Goal,
    dark: Steel,
    made: Callable[[float], After],
    cut: _Cut,
    size: float,
    power: float,
) -> After:
    """The after-part at the size [m] at which so many pieces, opened and drawn, are as long as wanted at twice the
    scale loss, with the shortest laminate that gives as many. The bar's length goes as the size to `power`.
    """
    want = _wanted(goal)
    for _ in range(_FITS):
        size = up(size, goal.units, TENTH)
        after = made(size)
        long = _long_enough(goal, dark, after, cut)
        got = proxy(goal, dark, after, long).last.length
        if want <= got <= 1.01 * want:
            break
        size *= (want / got) ** (1 / power)
    return replace(after, want=long)


def _long_enough(goal: Goal, dark: Steel, after: After, cut: _Cut) -> float:
    """Length [m] of laminate from which so many pieces can be cut at twice the scale loss."""
    trims = sum(goal.shop.trims)
    want = cut.pieces * cut.pitch(after) + (cut.pieces - 1) * cut.kerf + trims
    a, b = 0.5, 1.0
    fa, fb = (_before_cut(goal, dark, after, v) for v in (a, b))
    for _ in range(4):
        if abs(fb - want) < 1e-7 or fb == fa:
            break
        a, fa, b = b, fb, max(5e-3, b + (want - fb) * (b - a) / (fb - fa))
        fb = _before_cut(goal, dark, after, b)
    return b + 1e-4


def _before_cut(goal: Goal, dark: Steel, after: After, long: float) -> float:
    """Length [m] of the bar as its end is brought to the face, at twice the scale loss."""
    rows = proxy(goal, dark, after, long).bars[0].rows
    row = next(r for r in rows if r.do == "end_grain")
    bar, step = rows[row.number - 1].bar, row.step
    size = Size(bar.length, bar.width, bar.thickness)
    if isinstance(step, EndGrain) and step.temperature is not None:
        for _ in range(step.heats):
            size = heated(size, goal.shop, step.temperature, step.soak or 0.0, PESSIMISTIC)
    return float(size.length)
