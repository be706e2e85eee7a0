"""How plans are ranked: an absolute score, read from left to right, and the set of plans none of which beats another in
everything.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.bar.sizes import laid_up
from billet.base.units import Kind, show
from billet.plan.after import After
from billet.plan.goal import Goal
from billet.plan.sequences import Batch
from billet.plan.weigh import Weighed

Array = NDArray[np.float64]

# What a smith would notice; judgement. Layers and lines as a share, carbon in weight percent, shares of steel as such.
NOTICE = {"layers": 0.10, "distinct": 0.10, "line": 0.10, "carbon": 0.05, "dark": 0.05}
MINDED = 5  # tenths of a noticeable miss up to which fewer weld heats are worth more than coming closer; judgement
FAR = 10  # tenths of a noticeable miss past which a plan no longer meets its target


OFF, TALL, LOSS, STEEL = 3, 4, 5, 6  # places in a score


class Score(NamedTuple):
    """Smaller is better, compared from left to right. miss: tenths of a noticeable miss of the worst-met target, rounded
    up, and 0 where a smith would not mind; welds: weld heats; long: bars longer than the fire on the way; off: the
    tenths themselves; tall: stacks taller than they are wide; loss: whole percent of the steel put in; steel: put in, in steps of ten grams; money: price of
    the steel used, in the shop's own money."""

    miss: int
    welds: int
    long: int
    off: int
    tall: int
    loss: int
    steel: int
    money: float

    def say(self, units: str = "metric") -> str:
        """The score as it is printed, in the recipe's units."""
        money = f", money {self.money:g}" if self.money else ""
        return (
            f"{self.off / 10:g} off the target (a smith would notice 1), {self.welds} weld heats, {self.long} bars longer than "
            f"the fire, {self.tall} stacks taller than wide, {self.loss} % lost, {show(self.steel / 100, Kind.MASS, units)} of steel{money}"
        )


@dataclass(frozen=True)
class Reached:
    """What each target comes to in each plan; arrays (n,). own_dark is the share in the layers alone, without core or
    edge bar.
    """

    layers: Array
    distinct: Array
    line: Array
    carbon: Array
    dark: Array
    own_dark: Array


def reached(goal: Goal, after: After, b: Batch, w: Weighed) -> Reached:
    """Layers, line width on the bevel [m], carbon [wt%] and dark share of the last bar, before carbon is lost at the
    skin.
    """
    dark, bright = b.pair.dark, b.pair.bright
    mass = np.stack([w.dark * dark.density, (1 - w.dark) * bright.density])
    own = share = mass[0] / mass.sum(axis=0)
    carbon = share * dark.carbon + (1 - share) * bright.carbon
    if after.core is not None:
        steel, _, part = after.core
        carbon = (1 - part) * carbon + part * steel.carbon
        share = (1 - part) * share + part * (steel.name == dark.name)
    distinct = after.times * w.distinct + after.plus
    thick = w.thickness if after.heats else _side(goal, after)
    layer = thick / (after.times * w.distinct)
    line = layer / goal.sine if after.spread is None else after.spread(w.end) / (after.times * w.distinct)
    return Reached(after.times * w.counted + after.plus, distinct, line, carbon, share, own)


def misses(goal: Goal, r: Reached) -> dict[str, Array]:
    """By target, how far each plan misses it, in noticeable misses (1: a smith would just notice)."""
    t, out = goal.target, {}
    for name in ("layers", "distinct", "line"):
        wanted = getattr(t, name)
        if wanted is not None:
            out[name] = np.abs(np.log(np.maximum(getattr(r, name), 1e-9) / wanted)) / np.log1p(NOTICE[name])
    for name in ("carbon", "dark"):
        wanted = getattr(t, name)
        if wanted is not None:
            out[name] = np.abs(getattr(r, name) - wanted) / NOTICE[name]
    return out


_SLACK = {"carbon": 0.04, "dark": 0.10}  # what faces eaten away may shift these [wt%, 1]
# Distinct layers over those cleaning leaves on the mean; 0.73 to 1.06 were met in neutral and oxidising fires.
_BAND = (0.65, 1.10)


def least_miss(goal: Goal, after: After, b: Batch) -> Array:
    """A lower bound of each plan's miss in tenths, from shares alone and before anything is weighed."""
    t, worst = goal.target, np.zeros(len(b))
    counted, (share, kept) = after.times * b.counted + after.plus, _mixed(goal, b)
    if t.layers is not None:
        worst = np.abs(np.log(counted / t.layers)) / np.log1p(NOTICE["layers"])
    flat = t.line is not None and after.spread is None
    wanted = t.distinct if t.distinct is not None else _lines(goal, after) if flat else None
    if wanted is not None:
        low, high = counted * kept * _BAND[0], np.minimum(counted * kept * _BAND[1], counted)
        off = np.maximum(np.maximum(np.log(low / wanted), np.log(wanted / high)), 0.0)
        worst = np.maximum(worst, off / np.log1p(NOTICE["distinct"]))
    dark = np.where(b.dark_first, share, 1 - share)
    mixed = {"dark": dark, "carbon": dark * b.pair.dark.carbon + (1 - dark) * b.pair.bright.carbon}
    for name, value in mixed.items() if after.core is None else ():
        if getattr(t, name) is not None:
            worst = np.maximum(worst, (np.abs(value - getattr(t, name)) - _SLACK[name]) / NOTICE[name])
    return tenths(worst)


def _mixed(goal: Goal, b: Batch) -> tuple[Array, Array]:
    """Share of the first steel with spacers and cleaning, and the share of layers that cleaning leaves, on the mean."""
    share, kept = (b.repeat + b.cap) * b.first / b.height, np.ones(len(b))
    for p, t in zip(b.pieces, b.drawn, strict=True):
        clean = 1 - 2 * (p - 1) * goal.shop.face_cleanup / (p * t)
        high = p * t * clean + (p - 1) * b.spacer
        share = (share * p * t * clean + (p - 1) * b.spacer * (b.spacer_dark == b.dark_first)) / high
        kept = kept * clean
    return share, kept


def _side(goal: Goal, after: After) -> float:
    """Thickness [m] of all that is layered in the last bar of a pattern."""
    return goal.need.thickness * (1 - after.core[2] if after.core else 1.0)


def _lines(goal: Goal, after: After) -> float:
    """Distinct layers that give the line wanted."""
    thick = after.thickness if after.heats else _side(goal, after)
    return float(thick / ((goal.target.line or 1.0) * goal.sine))


def tenths(miss: Array) -> Array:
    """Misses in tenths, rounded up."""
    return np.ceil(10 * miss - 1e-6).astype(int)


def minded(off: Any) -> Any:
    """A miss in tenths as it counts first: none where a smith would not mind."""
    return np.where(np.asarray(off) <= MINDED, 0, off)


def scores(goal: Goal, b: Batch, w: Weighed, r: Reached, money: Array) -> Array:
    """Score columns (8, n)."""
    worst = np.max(list(misses(goal, r).values()), axis=0) if misses(goal, r) else np.zeros(len(b))
    loss = np.round(100 * (1 - w.share_left))
    off = tenths(worst)
    steel = np.round(100 * (w.laid + w.added))
    return np.stack([minded(off), w.welds, w.long, off, tall(goal, b), loss, steel, np.round(money, 2)])


def tall(goal: Goal, b: Batch) -> Array:
    """How many stacks of each plan are taller than they are wide."""
    heights = [
        b.height,
        *(laid_up(t, p, goal.shop.face_cleanup, b.spacer) for p, t in zip(b.pieces, b.drawn, strict=True)),
    ]
    return np.sum([h > b.width * (1 + 1e-9) for h in heights], axis=0)


def pareto(points: Array) -> NDArray[np.bool_]:
    """Which columns of (objectives, n) no other column beats or equals in all objectives and beats in one; smaller is
    better.
    """
    n = points.shape[1]
    order = np.lexsort(points[::-1])
    kept: list[int] = []
    for k in order:
        p = points[:, k]
        if not any(np.all(points[:, j] <= p) and np.any(points[:, j] < p) for j in kept):
            kept.append(int(k))
    out = np.zeros(n, bool)
    out[kept] = True
    return out
