"""The search: groups in the order of their lower bound, weighed in tables, cut off as soon as nothing ahead can be
better.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from billet.base.shop import Shop
from billet.plan.after import After, laminate_length, proxy
from billet.plan.goal import Goal, Pair, pairs
from billet.plan.patterns import after_for
from billet.plan.press import DRAWING_DIE, push, resistance
from billet.plan.rack import affordable, price_of
from billet.plan.score import FAR, LOSS, NOTICE, OFF, Reached, least_miss, minded, misses, reached, scores
from billet.plan.sequences import Batch, Group, Space, batches, groups
from billet.plan.smiths_habits import Habits, habits_of
from billet.plan.weigh import Tail, Weighed, weigh

Array = NDArray[np.float64]
Progress = Callable[[int, int], None]
MOST_WEIGHED = 400_000
_ENOUGH = 400  # plans given out by a search
NEAR_BALANCE = 0.08  # of the balance wanted is as good as it; judgement
OFF_BALANCE = 0.15  # of the face: further from the balance wanted than this it looks wrong; judgement
_TABLE = 20_000  # rows weighed at once
_KEPT = 400  # best rows kept of every table


@dataclass(frozen=True, eq=False)
class Found:
    """One candidate: a one-row batch, the length its laminate is drawn to and its stack starts with [m], its score, and
    how far it misses each target.
    """

    batch: Batch
    after: After
    habits: Habits
    want: float
    start: float
    score: tuple[float, ...]
    missed: dict[str, float]
    contrast: float
    share_left: float
    key: tuple[float, ...] = field(default=())

    @property
    def objectives(self) -> tuple[float, ...]:
        """Closeness, weld heats, loss and contrast lost, coarsely."""
        return (self.score[OFF], self.score[1], self.score[LOSS], float(round(20 * (1 - self.contrast))))


@dataclass(frozen=True)
class Searched:
    """The candidates, best first, how many were weighed, and whether all steel for them lies in the rack."""

    found: tuple[Found, ...]
    weighed: int
    in_hand: bool


@dataclass(frozen=True)
class _Line:
    """A pair of steels with what follows its laminate."""

    pair: Pair
    habits: Habits
    after: After
    want: float
    tail: Tail
    groups: list[Group]


def lines_of(goal: Goal, space: Space) -> list[_Line]:
    """Every pair of steels with its pattern part, laminate length and groups."""
    out = []
    for pair in pairs(goal):
        habits = habits_of(goal.shop, (pair.dark, pair.bright), goal.units)
        after = after_for(goal, habits, pair.dark)
        want = laminate_length(goal, pair.dark, after)
        out.append(
            _Line(
                pair,
                habits,
                after,
                want,
                _tail(goal, pair, after, want),
                groups(goal, habits, after, space, layers_wanted(goal, after), NOTICE["layers"]),
            )
        )
    return out


def _tail(goal: Goal, pair: Pair, after: After, want: float) -> Tail:
    """Run plain bars through the steps after the laminate; more than one where whole pieces or a bar cut to
    others make the share jump."""
    if after.heats:
        return Tail()
    jumps = after.want is not None or (after.twins and after.core is not None)
    lengths = tuple(want * (1 + k / 40) for k in range(25)) if jumps else (want,)
    books = [proxy(goal, pair.dark, after, long, 1.0) for long in lengths]
    own = books[0].bars[1 + len(after.twins) :]
    core = sum(r.rows[0].bar.mass for r in own if r.rows[0].do == "stack")
    return Tail(lengths, tuple(float(b.last.mass / b.bars[0].rows[0].bar.mass) for b in books), core)


def layers_wanted(goal: Goal, after: After) -> tuple[float, float] | None:
    """Bounds of the laminate's counted layers between which a plan may meet the target; distinct layers are at most the
    counted and hardly less than half.
    """
    t, low, high = goal.target, 0.0, np.inf
    if t.layers is not None:
        low = high = float(t.layers)
    count: float | None = t.distinct
    if t.layers is None and t.line is not None:
        thick = after.thickness if after.core is None else goal.need.thickness * (1 - after.core[2])
        count = thick / (t.line * goal.sine) if after.spread is None else float(after.spread(after.want)) / t.line
    if t.layers is None and count is not None:
        low, high = float(count) * (0.8 if t.distinct is None else 1.0), 2.0 * float(count)
    if not np.isfinite(high):
        return None
    return max((low - after.plus) / after.times, 2.0), max((high - after.plus) / after.times, 2.0)


def search(
    goal: Goal, space: Space | None = None, most: int = MOST_WEIGHED, until: float = np.inf, keep: int = _ENOUGH
) -> Searched:
    """The best plans that meet the target, from what the rack allows; where it allows nothing, with what would have to
    be bought.
    """
    stream = Stream(goal, space, Limits(most, until=until))
    return Searched(tuple(islice(stream, keep)), stream.weighed, stream.in_hand)


def nearest(goal: Goal, space: Space | None = None, most: int = 40_000, until: float = np.inf) -> Searched:
    """Plans however far from the target, the nearest first, when nothing meets it; only some thousands of each group
    are weighed.
    """
    stream = Stream(goal, space, Limits(most, np.inf, 1500, until), in_hand=False)
    return Searched(tuple(islice(stream, _ENOUGH)), stream.weighed, in_hand=False)


@dataclass(frozen=True)
class Limits:
    """When to stop weighing: after so many, past so many tenths of a miss, so many rows of each group, at a time of
    `time.process_time`, so that a busy machine plans no worse.
    """

    most: int = MOST_WEIGHED
    far: float = float(FAR)
    each: int | None = None
    until: float = np.inf


class Stream:
    """Plans in the exact order of their score, weighed only as far as they are asked for.

    A group is weighed as soon as its lower bound is no worse than the best plan waiting, so that what is given out can
    no longer be beaten.
    """

    def __init__(
        self, goal: Goal, space: Space | None = None, limits: Limits | None = None, in_hand: bool = True
    ) -> None:
        self.goal, self.space, self.limits = goal, space or Space(), limits or Limits()
        self.lines = lines_of(goal, self.space)
        self.weighed, self.in_hand = 0, in_hand
        self._open()

    def _open(self) -> None:
        self._queue = sorted(
            (
                float(minded(g.bound)),
                line.habits.weld[2] * (g.restacks + 1) * (1 + len(line.after.twins)) + line.after.welds,
                k, j,
            )
            for k, line in enumerate(self.lines)
            for j, g in enumerate(line.groups)
            if g.bound <= self.limits.far
        )  # fmt: skip
        self._heap: list[tuple[tuple[float, ...], int, Found]] = []
        self._given = self._pushed = 0

    def __iter__(self) -> Iterator[Found]:
        return self

    def __next__(self) -> Found:
        while True:
            while self._queue and (not self._heap or (0.0, *self._queue[0][:2]) <= self._heap[0][0][:3]):
                if self.weighed >= self.limits.most or time.process_time() > self.limits.until:
                    self._queue = []
                    break
                self._weigh_next()
            if self._heap:
                self._given += 1
                return heappop(self._heap)[2]
            if not (self.in_hand and self.goal.rack is not None and not self._given):
                raise StopIteration
            self.in_hand = False
            self._open()

    def _weigh_next(self) -> None:
        _, _, k, j = self._queue.pop(0)
        line, each = self.lines[k], self.limits.each
        goal = self.goal
        for batch in batches(goal, line.habits, line.after, line.pair, self.space, line.groups[j], each or _TABLE):
            some = batch.take(least_miss(goal, line.after, batch) <= self.limits.far)
            self.weighed += len(some)
            for f in _weigh(goal, line, some, self.in_hand):
                if f.score[OFF] <= self.limits.far:
                    self._pushed += 1
                    heappush(self._heap, (f.key, self._pushed, f))
            if self.weighed >= self.limits.most or each or time.process_time() > self.limits.until:
                break


def _weigh(goal: Goal, line: _Line, batch: Batch, in_hand: bool) -> list[Found]:
    """The feasible rows of a table, the best of them and those nobody beats."""
    if not len(batch):
        return []
    w = weigh(goal, line.habits, line.after, batch, line.want, line.tail)
    ok = allowed(goal, line.habits, line.after, batch, w)
    if goal.rack is not None and in_hand:
        ok &= affordable(goal, line.after, batch, w)
    rows = np.flatnonzero(ok)
    if not len(rows):
        return []
    r = reached(goal, line.after, batch, w)
    columns = scores(goal, batch, w, r, price_of(goal, line.after, batch, w))
    each = misses(goal, r)
    keys = _keys(goal, columns, r, batch)[:, rows]
    order = rows[np.lexsort(keys[::-1])[:_KEPT]]
    kept = dict(zip(rows, keys.T, strict=True))
    return [
        Found(
            batch.take(slice(i, i + 1)),
            line.after,
            line.habits,
            line.want,
            float(w.start[i]),
            tuple(map(float, columns[:, i])),
            {n: float(m[i]) for n, m in each.items()},
            float(w.contrast[i]),
            float(w.share_left[i]),
            tuple(map(float, kept[i])),
        )
        for i in order
    ]


def _keys(goal: Goal, columns: Array, r: Reached, b: Batch) -> Array:
    """What plans are ranked by (keys, n): how near dark and bright come to the balance wanted (0 near, 1 still right, 2
    wrong) and whether loose plates stand taller than wide (1), the score, then ties broken by a last restack whose seam lies off the edge, fewer plates, fewer pieces,
    greater width: the same every time.
    """
    off = np.abs(r.own_dark - goal.wanted_dark)
    pale = np.where(off <= NEAR_BALANCE, 0, np.where(off <= OFF_BALANCE, 1, 2)) * (goal.target.dark is None)
    habit = np.maximum(pale, b.height > b.width * (1 + 1e-9))
    even = b.pieces[-1] % 2 == 0 if len(b.pieces) else np.zeros(len(b))
    return np.stack(
        [
            habit, *columns, even, 2 * b.repeat + b.cap, b.pieces.sum(axis=0), -b.width, b.first, b.second, *b.drawn, b.spacer,
        ]
    ).astype(float)  # fmt: skip


def longest_worked(shop: Shop) -> float:
    """Longest bar [m] a plan may ask for: twice the fire, unless the shop says that it works none in two halves."""
    return shop.fire_length * (2 if shop.two_halves or "two_halves" not in shop.model_fields_set else 1)


def allowed(goal: Goal, habits: Habits, after: After, b: Batch, w: Weighed) -> NDArray[np.bool_]:
    """Which candidates this shop can make: fire, press, stacks that stand, faces that meet unlike."""
    shop = goal.shop
    ok = (
        w.forgeable
        & np.isfinite(w.start)
        & (w.longest <= longest_worked(shop))
        & (w.steadiest >= after.lean)
        & (w.start >= min(1.0, 2 * after.lean) * b.width)
        & (w.start <= shop.fire_length)
    )
    if goal.target.plates == "even":
        ok &= w.doubles == 0
    if shop.press_force is not None and shop.forge_tool == "press":
        carbon = max(b.pair.dark.carbon, b.pair.bright.carbon)
        ok &= push(resistance(carbon, habits.weld[0]), b.width, DRAWING_DIE, b.height) <= shop.press_force
        ok &= push(resistance(carbon, habits.last[0]), after.width, DRAWING_DIE, after.thickness) <= shop.press_force
    return ok
