"""The search: groups in the order of their lower bound, weighed in tables, cut off as soon as nothing ahead can be
better.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from billet.plan.after import After, laminate_length, proxy
from billet.plan.goal import Goal, Pair, pairs
from billet.plan.habits import Habits, habits_of
from billet.plan.patterns import after_for
from billet.plan.press import DRAWING_DIE, push, resistance
from billet.plan.rack import affordable, price_of
from billet.plan.score import FAR, NOTICE, least_miss, misses, pareto, reached, scores
from billet.plan.sequences import Batch, Group, Space, batches, groups
from billet.plan.weigh import Tail, Weighed, weigh

Array = NDArray[np.float64]
Progress = Callable[[int, int], None]
MOST_WEIGHED = 400_000
_MORE = 60_000  # weighed for the sake of other good plans once the best is settled
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
        habits = habits_of(goal.shop, (pair.dark, pair.bright))
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
    goal: Goal, space: Space | None = None, progress: Progress | None = None, most: int = MOST_WEIGHED
) -> Searched:
    """Plans that meet the target: from what the rack allows; where it allows nothing, with what would have to be
    bought.
    """
    space = space or Space()
    lines = lines_of(goal, space)
    done = _run(goal, space, lines, progress, most, in_hand=True)
    if goal.rack is not None and not done.found:
        done = _run(goal, space, lines, progress, most, in_hand=False)
    return done


def nearest(goal: Goal, space: Space | None = None, most: int = 40_000) -> Searched:
    """Plans however far from the target, the nearest first, when nothing meets it; only some thousands of each group
    are weighed.
    """
    space = space or Space()
    return _run(goal, space, lines_of(goal, space), None, most, in_hand=False, far=np.inf, each=1500)


def _run(
    goal: Goal,
    space: Space,
    lines: list[_Line],
    progress: Progress | None,
    most: int,
    *,
    in_hand: bool,
    far: float = float(FAR),
    each: int | None = None,
) -> Searched:
    """Groups of all pairs by (bound, weld heats); stop when the best plan beats the next group's bound and enough was
    seen. No plan past `far` is kept.
    """
    queue = sorted(
        (
            (g.bound, line.habits.weld[2] * (g.restacks + 1) * (1 + len(line.after.twins)) + line.after.welds, k, j)
            for k, line in enumerate(lines)
            for j, g in enumerate(line.groups)
        ),
    )
    found: list[Found] = []
    weighed = extra = 0
    best: tuple[float, float] = (np.inf, np.inf)
    for bound, welds, k, j in queue:
        settled = best < (bound, welds)
        if weighed >= most or bound > far or (settled and extra >= _MORE):
            break
        for batch in batches(
            goal, lines[k].habits, lines[k].after, lines[k].pair, space, lines[k].groups[j], each or _TABLE
        ):
            batch = batch.take(least_miss(goal, lines[k].after, batch) <= min(far, best[0] + FAR))
            weighed += len(batch)
            extra += len(batch) if settled else 0
            found += [f for f in _weigh(goal, lines[k], batch, in_hand) if f.score[0] <= far]
            if weighed >= most or each:
                break
            if found:
                best = min(best, min((f.score[0], f.score[1]) for f in found))
            if progress:
                progress(weighed, len(found))
        found = _thinned(found)
    return Searched(tuple(sorted(found, key=lambda f: f.key)), weighed, in_hand)


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
    columns = scores(goal, batch, w, r, price_of(goal, line.after, batch, w))[:, rows]
    each = {n: m[rows] for n, m in misses(goal, r).items()}
    order = np.lexsort(columns[::-1])[:_KEPT]
    order = np.union1d(order[:40], order[pareto(_objectives(columns, w, rows)[:, order])])
    return [
        Found(
            batch.take(slice(rows[i], rows[i] + 1)),
            line.after,
            line.habits,
            line.want,
            float(w.start[rows[i]]),
            tuple(map(float, columns[:, i])),
            {n: float(m[i]) for n, m in each.items()},
            float(w.contrast[rows[i]]),
            float(w.share_left[rows[i]]),
            _key(columns[:, i], batch, rows[i]),
        )
        for i in order
    ]


def _key(score: Array, b: Batch, row: int) -> tuple[float, ...]:
    """The score, then ties broken by fewer plates, fewer pieces, greater width: the same every time."""
    return (
        *score,
        float(2 * b.repeat[row] + b.cap[row]),
        float(b.pieces[:, row].sum()),
        -float(b.width[row]),
        float(b.first[row]),
        float(b.second[row]),
        *map(float, b.drawn[:, row]),
        float(b.spacer[row]),
    )


def _objectives(columns: Array, w: Weighed, rows: NDArray[np.intp]) -> Array:
    """Closeness, weld heats, loss and contrast lost, coarsely."""
    return np.stack([columns[0], columns[1], columns[2], np.round(20 * (1 - w.contrast[rows]))])


def _thinned(found: list[Found]) -> list[Found]:
    """The best so far and those nobody beats."""
    found = sorted(found, key=lambda f: f.key)
    points = np.array([[f.score[0], f.score[1], f.score[2], round(20 * (1 - f.contrast))] for f in found]).T
    if len(found) < 200:
        return found
    keep = pareto(points)
    return [f for k, f in enumerate(found) if k < 60 or keep[k]]


def allowed(goal: Goal, habits: Habits, after: After, b: Batch, w: Weighed) -> NDArray[np.bool_]:
    """Which candidates this shop can make: fire, press, stacks that stand, faces that meet unlike."""
    shop = goal.shop
    ok = (
        w.forgeable
        & np.isfinite(w.start)
        & (w.longest <= shop.fire_length)
        & (w.steadiest >= after.lean)
        & (w.start >= min(1.0, 2 * after.lean) * b.width)
        & (w.start <= shop.fire_length)
    )
    if not goal.bold:
        ok &= w.doubles == 0
    if shop.press_force is not None and shop.forge_tool == "press":
        carbon = max(b.pair.dark.carbon, b.pair.bright.carbon)
        ok &= push(resistance(carbon, habits.weld[0]), b.width, DRAWING_DIE, b.height) <= shop.press_force
        ok &= push(resistance(carbon, habits.last[0]), after.width, DRAWING_DIE, after.thickness) <= shop.press_force
    return ok
