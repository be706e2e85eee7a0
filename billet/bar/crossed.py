"""What a line through a bar meets: the steel at each point, where in its laminate it lies, and whether it is a core.

Picture and planner read a drawn face through this one function, so that what is promised is what is drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.laminate import Laminate
from billet.bar.trace import cell_of, trace

Array = NDArray[np.float64]
_CORE, _BEFORE = (
    0.1,
    2.0,
)  # a core takes more than this share of its laminate, and stands out so many times before others


@dataclass(frozen=True, eq=False)
class Crossed:
    """Points along a line (n,): the number of the steel in `names`, the height z [m] in its leaf, the leaf, a key that
    changes where the way back jumps, and whether the layer there is a core.
    """

    steel: NDArray[np.int64]
    z: Array
    leaf: NDArray[np.int64]
    key: NDArray[np.int64]
    core: NDArray[np.bool_]
    names: tuple[str, ...]

    @property
    def changes(self) -> NDArray[np.intp]:
        """Index of the last point before each change of steel."""
        return np.flatnonzero(self.steel[1:] != self.steel[:-1])


def crossed(bar: Bar, points: Array) -> Crossed:
    """Follow points (3, n) back to their layers."""
    sample = trace(bar.material, *points)
    n = points.shape[1]
    leaf, z, key = (np.broadcast_to(a, n) for a in (sample.leaf, sample.z, sample.key))
    steel, core = np.zeros(n, np.int64), np.zeros(n, np.bool_)
    names: list[str] = []
    for k, laminate in enumerate(bar.leaves):
        mine = np.flatnonzero(leaf == k)
        if not len(mine):
            continue
        cell = cell_of(laminate, z[mine])
        own = [s.name for s in laminate.steels]
        names += [name for name in own if name not in names]
        steel[mine] = np.array([names.index(name) for name in own])[laminate.steel[cell]]
        layer = np.searchsorted(laminate.starts, cell, side="right") - 1
        core[mine] = cores(laminate)[layer]
    return Crossed(steel, np.asarray(z, float), np.asarray(leaf), np.asarray(key), core, tuple(names))


def cores(laminate: Laminate) -> NDArray[np.bool_]:
    """Tell of each layer (n,) whether it is a core: the only one of its steel, or far thicker than the others of it."""
    thick, steel = laminate.layer_thickness, laminate.steel[laminate.starts]
    each = [thick[steel == k] for k in range(len(laminate.steels))]
    usual = np.array([np.median(t) if len(t) > 1 else 0.0 for t in each])[steel]
    return np.asarray((thick > _CORE * laminate.total) & (thick > _BEFORE * usual), np.bool_)
