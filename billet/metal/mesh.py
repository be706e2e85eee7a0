"""Cells where profiles are steep, none to spare where they are flat.

`refine` before a hold, `merge` after it. Both take and give plain arrays, and an index that says which old cell a new
one comes from, so that the caller can carry its tags along: new_tags = tags[mesh.parent].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.metal.limits import Array, OutsideRange

Index = NDArray[np.intp]

FINEST = 0.2  # size of the cell beside a jump, in diffusion lengths of the coming hold
FINEST_AT_FACE = 0.125  # the same at a face where carbon burns out
GROWTH = 0.4  # cells grow by about this share from one to the next
STEEP = 0.03  # a jump is worth resolving from this share of its element's spread through the stack on
STEEP_LEAST = 0.005  # [wt%] and from here on
FLAT_CARBON, FLAT_ALLOY = 3e-3, 2e-2  # [wt%] spread that one cell may hide, after a hold
UNRESOLVED = 1.0 / 40.0  # an alloying element is not resolved while its diffusion length is under this share of a layer


@dataclass(frozen=True, eq=False)
class Mesh:
    """A stack anew: `thickness` (m,) [m], `composition` (m, elements) [wt%] and `parent` (m,), the old cell each comes
    from.

    Where several old cells became one, the parent is the first of them.
    """

    thickness: Array
    composition: Array
    parent: Index


def cell_budget(layers: int) -> int:
    """Cells a stack of so many layers may have: 3000 to 500 layers, six a layer to 40,000, at least 1.5 a layer."""
    return max(3000, min(6 * layers, 40_000), int(1.5 * layers))


def _stack(thickness: ArrayLike, composition: ArrayLike, tags: ArrayLike) -> tuple[Array, Array, Index]:
    """The three as arrays, raising OutsideRange where they do not belong together."""
    h, c, t = np.asarray(thickness, dtype=float), np.asarray(composition, dtype=float), np.asarray(tags)
    if h.ndim != 1 or c.ndim != 2 or not len(h) == len(c) == len(t):
        raise OutsideRange(
            f"a stack is thickness (n,), composition (n, elements), tags (n,), not {h.shape}, {c.shape}, {t.shape}"
        )
    return h, c, t


def _layers(thickness: Array, tags: Index) -> tuple[int, Array]:
    """The number of runs of one tag, and the thickness [m] of the run each cell is in (n,)."""
    run = np.concatenate([[0], np.cumsum(tags[1:] != tags[:-1])])
    return int(run[-1]) + 1, np.bincount(run, thickness)[run]


def _wanted_at_faces(thickness: Array, composition: Array, layer: Array, target: Array) -> Array:
    """Size [m] wanted at each inner face (n - 1,), from the jumps there; infinite where there is none."""
    jump = np.abs(np.diff(composition, axis=0))
    worth = jump > np.maximum(STEEP * np.ptp(composition, axis=0), STEEP_LEAST)
    thin = np.minimum(layer[:-1], layer[1:])[:, np.newaxis]
    worth[:, 1:] &= target[1:] > UNRESOLVED * thin
    return np.min(np.where(worth & (target > 0.0), FINEST * target, np.inf), axis=1, initial=np.inf)


def _graded(edges: Array, wanted: Array) -> Array:
    """Size [m] at each edge (n + 1,), the lower envelope of what is wanted anywhere, growing with distance."""
    slope = GROWTH * edges
    from_left = np.minimum.accumulate(wanted - slope) + slope
    from_right = np.minimum.accumulate((wanted + slope)[::-1])[::-1] - slope
    return np.minimum(from_left, from_right)


def _cells_within(thickness: Array, size: Array) -> tuple[Array, Array]:
    """For each cell the number of sizes that fit in it (n,), and how many of them before its coarsest place (n,)."""
    a, b = size[:-1], size[1:]
    peak = np.clip(0.5 * (b - a + GROWTH * thickness) / GROWTH, 0.0, thickness)
    coarsest = a + GROWTH * peak
    before = np.log(coarsest / a) / GROWTH
    return before + np.log(coarsest / b) / GROWTH, before


def _divided(thickness: Array, size: Array, pieces: Index) -> Array:
    """Thickness of the new cells [m] when every cell is divided into `pieces`, by equal numbers of the local size."""
    fits, before = _cells_within(thickness, size)
    parent = np.repeat(np.arange(len(thickness)), pieces)
    step = np.arange(len(parent)) - np.repeat(np.cumsum(pieces) - pieces, pieces) + 1
    level = fits[parent] * step / pieces[parent]
    left = size[:-1][parent] / GROWTH * np.expm1(GROWTH * np.minimum(level, before[parent]))
    right = size[1:][parent] / GROWTH * np.expm1(GROWTH * (fits[parent] - np.maximum(level, before[parent])))
    upto = np.where(level <= before[parent], left, thickness[parent] - right)
    upto[step == pieces[parent]] = thickness
    start = np.where(step == 1, 0.0, np.concatenate([[0.0], upto[:-1]]))
    return upto - start


def _cut_at(thickness: Array, places: list[float]) -> tuple[Array, Index]:
    """The cells (m,) [m] cut in two at these heights [m], and the cell each comes from (m,)."""
    edges = np.concatenate([[0.0], np.cumsum(thickness)])
    smallest = 1e-6 * edges[-1]
    inner = [x for x in places if smallest < x < edges[-1] - smallest and np.min(np.abs(edges - x)) > smallest]
    cell = np.searchsorted(edges, inner) - 1
    parent = np.sort(np.concatenate([np.arange(len(thickness)), cell]).astype(np.intp))
    cut = np.diff(np.sort(np.concatenate([edges, inner])))
    cut[~np.isin(parent, cell)] = thickness[parent[~np.isin(parent, cell)]]
    return cut, parent


def refine(
    thickness: ArrayLike,
    composition: ArrayLike,
    tags: ArrayLike,
    target: ArrayLike,
    *,
    open_faces: tuple[bool, bool] = (False, False),
    recession: tuple[float, float] = (0.0, 0.0),
    budget: int | None = None,
) -> Mesh:
    """The stack with cells divided beside jumps of composition and at open faces, finest there and growing with
    distance.

    `thickness` (n,) [m]; `composition` (n, elements) [wt%], carbon first; `tags` (n,) equal within a layer; `target`
    [m] the diffusion lengths of the coming hold, one for all elements or (elements,)
    (`billet.metal.solve.diffusion_lengths`). An open face of carbon burning out is refined too, down to the depth its
    `recession` [m] will reach. Layers thinner than the sizes wanted keep one cell. `budget` is the most cells to make
    (default `cell_budget`); where it is short, all sizes grow alike. Contents are copied, so nothing is gained or lost.
    Raises OutsideRange where the arrays do not belong together.
    """
    h, c, t = _stack(thickness, composition, tags)
    lengths = np.broadcast_to(np.asarray(target, dtype=float), (c.shape[1],))
    total = float(h.sum())
    h, first = _cut_at(h, [recession[0], total - recession[1]] if max(recession) > 0.0 else [])
    c, t = c[first], t[first]
    count, layer = _layers(h, t)
    edges = np.concatenate([[0.0], np.cumsum(h)])
    wanted = np.concatenate([[np.inf], _wanted_at_faces(h, c, layer, lengths), [np.inf]])
    for side, gone in enumerate(recession):
        if open_faces[side] and lengths[0] > 0.0:
            near = edges <= gone * 1.000001 if side == 0 else edges >= total - gone * 1.000001
            wanted[near | (np.arange(len(edges)) == (0, len(h))[side])] = FINEST_AT_FACE * lengths[0]
    if np.all(np.isinf(wanted)):
        return Mesh(h, c, first)
    size, pieces = _affordable(h, edges, wanted, budget or cell_budget(count))
    parent = np.repeat(np.arange(len(h)), pieces)
    return Mesh(_divided(h, size, pieces), c[parent], first[parent])


def _affordable(thickness: Array, edges: Array, wanted: Array, budget: int) -> tuple[Array, Index]:
    """Sizes at the edges (n + 1,) [m] and pieces per cell (n,), all sizes grown alike until the budget is kept."""
    while True:
        size = _graded(edges, wanted)
        pieces = np.maximum(np.rint(_cells_within(thickness, size)[0]), 1.0).astype(np.intp)
        if pieces.sum() <= max(budget, len(thickness)):
            return size, pieces
        wanted = 1.3 * wanted


def _pairs(may: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Of neighbours that may join (n - 1,), every second in each row of them, so that no cell joins twice."""
    start = np.maximum.accumulate(np.where(may, 0, np.arange(1, len(may) + 1)))
    return may & ((np.arange(len(may)) - start) % 2 == 0)


def _spread(elements: int, tolerance: ArrayLike | None) -> Array:
    """The tolerance [wt%] for each element (elements,), the usual ones where None is given."""
    usual = np.r_[FLAT_CARBON, np.full(elements - 1, FLAT_ALLOY)]
    return usual if tolerance is None else np.asarray(tolerance, dtype=float)


def merge(thickness: ArrayLike, composition: ArrayLike, tags: ArrayLike, tolerance: ArrayLike | None = None) -> Mesh:
    """The stack with neighbours of one tag joined where every element's contents lie within `tolerance` [wt%] of each
    other.

    `thickness` (n,) [m], cells of zero thickness (eaten) leave; `composition` (n, elements) [wt%], carbon first; `tags`
    (n,); `tolerance` one for all or (elements,), None for 0.003 % of carbon and 0.02 % of the rest. The tolerance
    bounds the spread of the old contents within a new cell, so errors do not creep; contents are means by thickness,
    which conserves them. Raises OutsideRange where the arrays do not belong together.
    """
    h, c, t = _stack(thickness, composition, tags)
    parent = np.flatnonzero(h > 0.0)
    h, low, t = h[parent], c[parent], t[parent]
    high, content, spread = low, h[:, np.newaxis] * low, _spread(c.shape[1], tolerance)
    while len(h) > 1:
        apart = np.maximum(high[1:], high[:-1]) - np.minimum(low[1:], low[:-1])
        join = _pairs((t[1:] == t[:-1]) & np.all(apart <= spread, axis=1))
        if not join.any():
            break
        kept = np.flatnonzero(np.concatenate([[True], ~join]))
        h, content = np.add.reduceat(h, kept), np.add.reduceat(content, kept, axis=0)
        low, high = np.minimum.reduceat(low, kept, axis=0), np.maximum.reduceat(high, kept, axis=0)
        parent, t = parent[kept], t[kept]
    return Mesh(h, content / h[:, np.newaxis], parent)
