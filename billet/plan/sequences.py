"""The sequences there are: plates, restacks, heights and widths, laid out in tables and pruned before anything is
weighed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from itertools import combinations_with_replacement
from typing import Any

import numpy as np
from numpy.typing import NDArray

from billet.plan.after import After
from billet.plan.goal import Goal, Pair, plate_choices
from billet.plan.habits import Habits

Array = NDArray[np.float64]

HEIGHTS = tuple(h * 1e-3 for h in (16, 20, 25, 32, 40, 50, 63, 80))  # restacks are laid about so high [m]
GRIDS = {"metric": 0.5e-3, "imperial": 0.0254 / 64}  # bars are drawn to this grid before a restack [m]
_THINNEST_PIECE = 3e-3  # [m] under it a bar is no longer cut and restacked; judgement
_LEAST_SPACER = 0.8e-3


@dataclass(frozen=True)
class Space:
    """How far the search looks: most plates in a stack, the heights restacks are laid to [m], most restacks, and how
    many plates a stack needs at least.
    """

    most_plates: int = 31
    least_plates: int = 3
    heights: tuple[float, ...] = HEIGHTS
    most_restacks: int = 5
    widths: tuple[float, ...] | None = None
    plates: tuple[tuple[float, float], ...] | None = None
    spacers: bool = True


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
    """How stacks are built so that unlike faces meet: cap or none, which steel lies lowest, which steel the spacers are
    (None: no spacer).
    """

    cap: int
    dark_first: bool
    spacer_dark: bool | None
    bold: bool = False


MODES = (
    Mode(0, True, None),
    Mode(1, True, False),
    Mode(1, False, True),
    Mode(1, True, True),
    Mode(1, True, None, bold=True),
    Mode(1, False, None, bold=True),
)


def cuts(most_pieces: int, restacks: int) -> list[tuple[int, ...]]:
    """Ways to cut a bar up in so many restacks, most pieces first; the order hardly matters, since every restack is
    laid to one height.
    """
    return [tuple(sorted(c, reverse=True)) for c in combinations_with_replacement(range(2, most_pieces + 1), restacks)]


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
        for mode in MODES:
            if (
                (mode.bold and not goal.bold)
                or (restacks == 0 and mode.spacer_dark is not None)
                or (not space.spacers and mode.spacer_dark is not None)
            ):
                continue
            for key, row in _counted(goal, space, restacks, mode, wanted, notice):
                found.setdefault(key, []).append(row)
        if restacks == 0:
            for mode in (Mode(1, True, None), Mode(1, False, None)):
                for key, row in _counted(goal, space, 0, mode, wanted, notice):
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
    for cut in cuts(goal.shop.most_pieces, restacks):
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
    sizes = np.array(
        [(d, b, w, h) for d, b in plates for w in widths for h in (space.heights if group.restacks else (0.0,))]
    )
    if not len(sizes):
        return
    each = max(1, most // len(sizes))
    for start in range(0, len(group.rows), each):
        made = _table(goal, habits, after, pair, group.rows[start : start + each], sizes, group.restacks)
        if len(made):
            yield made


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
    dark, bright, width, target = (np.tile(c, len(rows)) for c in sizes.T)
    dark_first = col([r[1].dark_first for r in rows], bool)
    has = col([r[1].spacer_dark is not None for r in rows], bool)
    spacer_dark = col([bool(r[1].spacer_dark) for r in rows], bool)
    thick = np.where(spacer_dark, _spacer(pair.dark_plates), _spacer(pair.bright_plates))
    pieces = np.repeat(np.array([r[2] for r in rows], float).reshape(len(rows), restacks).T, m, axis=1)
    spacer = np.where(has, thick, 0.0)
    grid, clean = GRIDS[goal.units], goal.shop.face_cleanup
    drawn = np.floor(((target + 2 * (pieces - 1) * clean - (pieces - 1) * spacer) / pieces) / grid + 1e-6) * grid
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
    top = np.minimum(opening, b.width)
    ok = (b.height <= top) & (b.height > after.thickness * 1.05)
    before = b.height
    for p, t in zip(b.pieces, b.drawn, strict=True):
        high = laid_up(t, p, goal.shop.face_cleanup, b.spacer)
        ok &= (
            (t >= _THINNEST_PIECE)
            & (t <= habits.deepest_draw * before)
            & (high <= top)
            & (high > after.thickness * 1.05)
        )
        before = high
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.log(after.width / b.width) / np.log(before / after.thickness)
    return ok & (spread <= habits.widest_spread) & (after.width >= after.narrow * b.width)
