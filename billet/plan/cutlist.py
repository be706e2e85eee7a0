"""Which plate comes from which bar of the rack: the cutting-stock problem, solved as an integer programme."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from billet.ledger.rows import Ledger
from billet.plan.goal import Goal
from billet.recipe.tables import RackBar
from billet.steel.library import Steel, find
from billet.steel.plate import read_plate
from billet.steps.restack import Restack


@dataclass(frozen=True)
class Plate:
    """So many plates of one steel and size [m]."""

    steel: Steel
    thickness: float
    width: float
    length: float
    count: int

    @property
    def mass(self) -> float:
        """Mass of all of them [kg]."""
        return self.steel.density * self.thickness * self.width * self.length * self.count


@dataclass(frozen=True)
class Cut:
    """One bar of the rack sawn up: lengths [m] of the plates in it, the offcut that stays [m], and the price of what
    was used.
    """

    bar: RackBar
    lengths: tuple[float, ...]
    offcut: float
    price: float


@dataclass(frozen=True)
class CutList:
    """All bars to be sawn, and what must be bought because the rack is short of it."""

    cuts: tuple[Cut, ...]
    short: tuple[Plate, ...]
    untouched: tuple[tuple[RackBar, int], ...] = ()

    @property
    def price(self) -> float:
        """Price of the steel used, kerfs included [the shop's money]."""
        return sum(c.price for c in self.cuts)


def plates_of(book: Ledger) -> tuple[Plate, ...]:
    """Every plate a recipe asks for: first stacks and spacers."""
    many: Counter[tuple[str, float, float, float]] = Counter()
    steels: dict[str, Steel] = {}
    for bar_run in book.bars:
        first = bar_run.rows[0]
        laminate = first.bar.laminate
        if first.do == "stack" and laminate is not None:
            for k, thick in zip(laminate.steel, laminate.thickness, strict=True):
                steel = laminate.steels[int(k)]
                steels[steel.name] = steel
                many[steel.name, round(float(thick), 9), first.bar.width, first.bar.length] += 1
        for row in bar_run.rows:
            if isinstance(row.step, Restack) and row.step.spacer is not None:
                steel, thick = read_plate(row.step.spacer, book.recipe.own_steels, "spacer")
                steels[steel.name] = steel
                many[steel.name, round(thick, 9), row.bar.width, row.bar.length] += row.step.pieces - 1
    return tuple(Plate(steels[n], t, w, long, k) for (n, t, w, long), k in sorted(many.items()))


def cut_list(goal: Goal, book: Ledger) -> CutList:
    """Saw the plates of a recipe out of the rack: nothing short if it can be, then the least money, the least steel,
    the fewest bars.
    """
    wanted = plates_of(book)
    cuts: list[Cut] = []
    short: list[Plate] = []
    kinds = sorted({(p.steel.name, p.thickness) for p in wanted})
    for steel, thick in kinds:
        mine = [p for p in wanted if (p.steel.name, p.thickness) == (steel, thick)]
        bars = [b for b in goal.rack or () if find(b.steel, goal.own).name == steel and abs(b.thickness - thick) < 1e-6]
        sawn, missing = saw(mine, bars, goal.shop.kerf)
        cuts += sawn
        short += missing
    whole = []
    for bar in goal.rack or ():
        rest = bar.count - sum(c.bar is bar for c in cuts)
        if rest > 0:
            whole.append((bar, rest))
    return CutList(tuple(cuts), tuple(short), tuple(whole))


def saw(plates: Sequence[Plate], rack: Sequence[RackBar], kerf: float) -> tuple[list[Cut], list[Plate]]:
    """Plates of one steel and thickness out of bars of the same; a bar may be wider than the plate. Returns the cuts
    and what is missing.

    Integers x[b, i], plates i out of bar b, and y[b], bar b is sawn: sum of (length + kerf) x <= (bar length + kerf) y.
    """
    single = [b for b in rack for _ in range(min(b.count, _most_of(b, plates)))]
    m, n = len(single), len(plates)
    if m == 0:
        return [], list(plates)
    long = np.array([p.length for p in plates])
    size = m * n + m + n  # x, y, missing
    cost = np.zeros(size)
    rate = np.array([(b.price / b.length if b.price is not None else 0.0) for b in single])
    used = np.array([b.width * b.thickness for b in single])
    cost[: m * n] = (np.outer(rate + 1e3 * used, long + kerf)).ravel()
    cost[m * n : m * n + m] = 1e-3
    cost[m * n + m :] = 1e6
    rows, low, high = [], [], []
    for b, bar in enumerate(single):
        row = np.zeros(size)
        row[b * n : (b + 1) * n] = long + kerf
        row[m * n + b] = -(bar.length + kerf)
        rows.append(row)
        low.append(-np.inf)
        high.append(0.0)
    for i, p in enumerate(plates):
        row = np.zeros(size)
        row[[b * n + i for b in range(m)]] = 1.0
        row[m * n + m + i] = 1.0
        rows.append(row)
        low.append(p.count)
        high.append(p.count)
    top = np.array(
        [p.count if b.width >= p.width - 1e-9 else 0 for b in single for p in plates]
        + [1] * m
        + [p.count for p in plates],
        float,
    )
    done = milp(
        cost,
        constraints=LinearConstraint(np.array(rows), low, high),
        integrality=np.ones(size),
        bounds=Bounds(0, top),
        options={"time_limit": 5.0, "mip_rel_gap": 1e-6},
    )
    if done.x is None:
        return [], list(plates)
    x = np.round(done.x).astype(int)
    return _cuts(x, single, plates, kerf), [
        _missing(p, int(x[m * n + m + i])) for i, p in enumerate(plates) if x[m * n + m + i] > 0
    ]


def _most_of(bar: RackBar, plates: Sequence[Plate]) -> int:
    """No more bars of a kind can be of use than there are plates."""
    return sum(p.count for p in plates if bar.width >= p.width - 1e-9 and bar.length >= p.length - 1e-9)


def _cuts(x: np.ndarray, bars: Sequence[RackBar], plates: Sequence[Plate], kerf: float) -> list[Cut]:
    out = []
    for b, bar in enumerate(bars):
        lengths = tuple(p.length for i, p in enumerate(plates) for _ in range(x[b * len(plates) + i]))
        if lengths:
            used = min(sum(lengths) + kerf * len(lengths), bar.length)
            out.append(Cut(bar, lengths, bar.length - used, (bar.price or 0.0) * used / bar.length))
    return out


def _missing(p: Plate, count: int) -> Plate:
    return Plate(p.steel, p.thickness, p.width, p.length, count)
