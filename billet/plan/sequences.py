"""The sequences there are: plates, restacks, heights and widths, laid out in tables and pruned before anything is
weighed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from itertools import combinations_with_replacement, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from billet.plan.after import After
from billet.plan.goal import Goal, Pair, plate_choices
from billet.plan.smiths_habits import Habits

Array = NDArray[np.float64]

# Bars are drawn to one of these before they are cut [m]: sizes a smith sets his calipers to; common practice, no source.
DRAWN = {
    "metric": tuple(v * 1e-3 for v in (4, 6, 8, 10, 12, 15, 18, 22, 28, 36)),
    "imperial": tuple(v * 0.0254 for v in (0.1875, 0.25, 0.375, 0.5, 0.625, 0.75, 1.0, 1.25, 1.5)),
}
TALLEST = 1.5  # a stack may be so many times as high as it is wide; a thread says 1, presses with guides take more
_LEAST_SPACER = 0.8e-3


@dataclass(frozen=True)
class Space:
    """How far the search looks: most plates in a stack, how many it needs at least, what bars are drawn to before they
    are cut [m] (None: usual sizes), most restacks.
    """

    most_plates: int = 31
    least_plates: int = 3
    drawn: tuple[float, ...] | None = None
    most_restacks: int = 5
    widths: tuple[float, ...] | None = None
    plates: tuple[tuple[float, float], ...] | None = None


@dataclass(frozen=True, eq=False)
class Batch:
    """Candidates as columns. All arrays (n,), but `pieces` and `drawn` (restacks, n).

    repeat, cap: plates; dark_first: whether the lowest plate is dark; first, second [m]: thickness of the lowest plate
    and of the next; width [m]; pieces; drawn [m]: thickness before each restack; spacer [m], 0 for none; spacer_dark.
    """

    pair: Pair
    repeat: Array
    cap: Array
    dark_first: NDArray[np.bool_]
    first: Array
    second: Array
    width: Array
    pieces: Array
    drawn: Array
    spacer: Array
    spacer_dark: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.repeat)

    @property
    def height(self) -> Array:
        """Height of the stack as laid [m]."""
        return self.repeat * (self.first + self.second) + self.cap * self.first

    @property
    def counted(self) -> Array:
        """Layers as the trade counts them."""
        n = 2 * self.repeat + self.cap
        for p in self.pieces:
            n = n * p + (p - 1) * (self.spacer > 0)
        return n

    def take(self, rows: Any) -> Batch:
        """Some of the candidates."""
        picked = {f.name: getattr(self, f.name)[..., rows] for f in fields(self) if f.name != "pair"}
        return replace(self, **picked)


@dataclass(frozen=True)
class Mode:
    """How stacks are built: cap or none, which steel lies lowest, which steel the spacers are (None: no spacer)."""

    cap: int
    dark_first: bool
    spacer_dark: bool | None


def modes(goal: Goal, restacks: int) -> list[Mode]:
    """The ways a stack may be built in this shop and for this target: odd with one steel outside, or even; spacers only
    when asked for.
    """
    t, dark = goal.target, goal.target.outside == "dark"
    found = []
    if t.plates != "odd" and not goal.bold:
        found.append(Mode(0, True, None))
    if t.plates != "even":
        found.append(Mode(1, dark, None))
        if t.spacers and restacks:
            found += [Mode(1, dark, False), Mode(1, dark, True)]
    return found


def cuts(goal: Goal, restacks: int) -> list[tuple[int, ...]]:
    """Ways to cut a bar up in so many restacks, most pieces first: the order changes neither layers nor losses much."""
    shop = goal.shop
    some = range(max(2, min(shop.fewest_pieces, shop.most_pieces)), shop.most_pieces + 1)
    return [tuple(sorted(c, reverse=True)) for c in combinations_with_replacement(some, restacks)]


@dataclass(frozen=True)
class Group:
    """Sequences that share a number of restacks and a lower bound of their score: rows of (repeat, mode, cut)."""

    bound: int
    restacks: int
    rows: tuple[tuple[int, Mode, tuple[int, ...]], ...]


def groups(
    goal: Goal, habits: Habits, after: After, space: Space, wanted: tuple[float, float] | None, notice: float
) -> list[Group]:
    """All groups, the most promising first. `wanted` bounds the layers of the laminate; a count outside costs one point
    in each tenth of `notice` (a share).
    """
    found: dict[tuple[int, int], list[tuple[int, Mode, tuple[int, ...]]]] = {}
    for restacks in range(space.most_restacks + 1):
        if habits.weld[2] * (restacks + 1) + after.welds > goal.shop.most_welds:
            break
        for mode in modes(goal, restacks):
            for key, row in _counted(goal, space, restacks, mode, wanted, notice):
                found.setdefault(key, []).append(row)
    return [
        Group(bound, restacks, tuple(rows)) for (bound, restacks), rows in sorted(found.items(), key=lambda i: i[0])
    ]


def _counted(
    goal: Goal, space: Space, restacks: int, mode: Mode, wanted: tuple[float, float] | None, notice: float
) -> Iterator[tuple[tuple[int, int], tuple[int, Mode, tuple[int, ...]]]]:
    """Rows of one mode with their bound, layers counted exactly."""
    from math import ceil, log

    low = max(1, -(-(space.least_plates - mode.cap) // 2))
    for cut in cuts(goal, restacks):
        for repeat in range(low, (space.most_plates - mode.cap) // 2 + 1):
            n = 2 * repeat + mode.cap
            for p in cut:
                n = n * p + (p - 1) * (mode.spacer_dark is not None)
            bound = 0
            if wanted is not None:
                off = max(log(wanted[0] / n), log(n / wanted[1]), 0.0)
                bound = ceil(10 * off / notice - 1e-6)
            yield (bound, restacks), (repeat, mode, cut)


def batches(
    goal: Goal, habits: Habits, after: After, pair: Pair, space: Space, group: Group, most: int
) -> Iterator[Batch]:
    """The candidates of a group as tables of at most about `most` rows: every plate, width and height, what cannot be
    laid left out.
    """
    plates = space.plates or tuple(plate_choices(goal, pair))
    widths = space.widths or (*pair.widths, *(after.widths if goal.rack is None else ()))
    steps = drawings(goal, space, group.restacks)
    sizes = np.array([(d, b, w, *s) for d, b in plates for w in widths for s in steps])
    if not len(sizes):
        return
    each = max(1, most // len(sizes))
    for start in range(0, len(group.rows), each):
        made = _table(goal, habits, after, pair, group.rows[start : start + each], sizes, group.restacks)
        if len(made):
            yield made


def drawings(goal: Goal, space: Space, restacks: int) -> list[tuple[float, ...]]:
    """What the bar is drawn to before each restack [m]: any of the sizes before one or two, the same before all of
    three and more.
    """
    sizes = [t for t in space.drawn or DRAWN[goal.units] if t >= goal.shop.thinnest_piece - 1e-9]
    return list(product(sizes, repeat=restacks)) if restacks < 3 else [(t,) * restacks for t in sizes]


def _table(
    goal: Goal,
    habits: Habits,
    after: After,
    pair: Pair,
    rows: tuple[tuple[int, Mode, tuple[int, ...]], ...],
    sizes: Array,
    restacks: int,
) -> Batch:
    m = len(sizes)
    col = lambda values, kind=float: np.repeat(np.array(values, kind), m)  # noqa: E731
    dark, bright, width, *steps = (np.tile(c, len(rows)) for c in sizes.T)
    dark_first = col([r[1].dark_first for r in rows], bool)
    has = col([r[1].spacer_dark is not None for r in rows], bool)
    spacer_dark = col([bool(r[1].spacer_dark) for r in rows], bool)
    thick = np.where(spacer_dark, _spacer(pair.dark_plates), _spacer(pair.bright_plates))
    pieces = np.repeat(np.array([r[2] for r in rows], float).reshape(len(rows), restacks).T, m, axis=1)
    spacer = np.where(has, thick, 0.0)
    drawn = np.array(steps).reshape(restacks, len(dark))
    batch = Batch(
        pair,
        col([r[0] for r in rows]),
        col([r[1].cap for r in rows]),
        dark_first,
        np.where(dark_first, dark, bright),
        np.where(dark_first, bright, dark),
        width,
        pieces,
        drawn,
        spacer,
        spacer_dark,
    )
    return batch.take(laid(goal, habits, after, batch))


def _spacer(plates: tuple[float, ...]) -> float:
    """The thinnest plate fit for a spacer."""
    return min((p for p in plates if p >= _LEAST_SPACER), default=plates[-1])


def laid(goal: Goal, habits: Habits, after: After, b: Batch) -> NDArray[np.bool_]:
    """Which stacks and restacks can be laid at all: under the press, not taller than wide, thick enough to cut, drawn
    far enough to prove the weld, wide enough in the end.
    """
    from billet.bar.sizes import laid_up
    from billet.plan.press import HAND_HIGH

    opening = goal.shop.press_opening if goal.shop.forge_tool == "press" else min(goal.shop.press_opening, HAND_HIGH)
    top = np.minimum(opening, (goal.shop.stack_ratio or TALLEST) * b.width) + 1e-9
    ok = b.height <= top
    before = b.height
    for p, t in zip(b.pieces, b.drawn, strict=True):
        high = laid_up(t, p, goal.shop.face_cleanup, b.spacer)
        ok &= (t >= goal.shop.thinnest_piece - 1e-9) & (t <= habits.deepest_draw * before) & (high <= top)
        before = high
    ok &= before > after.thickness * 1.05
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.log(after.width / b.width) / np.log(before / after.thickness)
    return ok & (spread <= habits.widest_spread) & (after.width >= after.narrow * b.width)
