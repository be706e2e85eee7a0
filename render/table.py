"""The layers as a table of summed brightness, so that a mean over many layers costs two look-ups.

Brightness is constant within a cell of the laminate; its running sum over height, with the mean taken off, is stored at
equally spaced nodes together with the step to the next. Between two heights the mean brightness is the difference of
the sums over the distance: exact at the nodes for layers of any thickness, however many lie between two of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from billet.laminate import Laminate
from render.room import Room

Array = NDArray[np.float64]
Floats = NDArray[np.floating]
Ints = NDArray[np.int64]

MOST_CELLS = 1 << 17  # of one leaf in single precision: a height is then known to 1/128 of a cell
_LEAST_CELLS = 1 << 10
PER_FOOTPRINT = 8  # cells across the smallest footprint asked for
_APART = 2e-3  # brightness that counts as the same
_EXACT = 16  # so many times as many cells in double precision
_PAD = 64  # cells with which the outer layers are taken to go on, for pixels that reach past the face
_MIX_OVER = 12.0  # layers too thin to stay apart are averaged over so many times the limit


class Places(NamedTuple):
    """Where heights are looked up: what is added to them [cells], the running sums and their steps, and for heights of
    several leaves the node to count from and the last cell of each.
    """

    shift: Floats | np.floating
    sums: Floats
    steps: Floats
    first: Ints | None
    last: Floats | None

    def summed(self, at: Floats, room: Room) -> Floats:
        """Replace heights in cells of their leaf by the running sums there, in place; beyond the outer cells the sum
        stays, but for less than a cell's.
        """
        whole, cell = room("whole", at.shape, at.dtype), room("cell", at.shape, np.intp)
        if self.last is not None:
            np.minimum(at, self.last, out=at)
            np.maximum(at, 0, out=at)
        np.floor(at, out=whole)
        np.copyto(cell, whole, casting="unsafe")
        at -= whole
        if self.first is not None:
            cell += self.first
        np.take(self.steps, cell, out=whole, mode="clip")
        at *= whole
        np.take(self.sums, cell, out=whole, mode="clip")
        at += whole
        return at

    def even(self, low: Floats, high: Floats) -> NDArray[np.bool_]:
        """Tell where the brightness is the same all the way between two heights in cells (n,)."""
        ends = []
        for at in (low, high):
            cell = np.floor(at).astype(np.intp)
            if self.first is not None and self.last is not None:
                cell = np.clip(cell, 0, self.last.astype(np.intp)) + self.first
            ends.append(np.clip(cell, 0, len(self.sums) - 1))
        (a, b), apart = ends, self.sums.dtype.type(_APART)
        step = self.steps[a]
        off = self.sums[b] - self.sums[a] - step * (b - a).astype(self.sums.dtype)
        return np.asarray((np.abs(self.steps[b] - step) < apart) & (np.abs(off) < apart * np.maximum(b - a, 1)))


@dataclass(frozen=True, eq=False)
class Table:
    """Running sums of brightness over height for all leaves of a bar, one after another.

    `sums` holds the sum at every node and `steps` what is added up to the next, in cells times brightness less `mean`.
    A height z [m] of leaf k lies at z * `per_metre` + `shift[k]` cells, counted from its node `first[k]`; `last[k]` is
    its
    last one.
    """

    sums: Floats
    steps: Floats
    per_metre: float
    shift: Array
    first: Ints
    last: Ints
    mean: float

    @cached_property
    def single(self) -> bool:
        """Tell whether all leaves are the same laminate."""
        return len(np.unique(self.first)) == 1

    def places(self, leaf: Ints | int) -> Places:
        """Return where the heights of leaves are looked up: of one leaf, or of one a height."""
        kind = self.sums.dtype
        if isinstance(leaf, int) or self.single:
            k = leaf if isinstance(leaf, int) else 0
            own = slice(int(self.first[k]), int(self.last[k]) + 1)
            return Places(kind.type(self.shift[k]), self.sums[own], self.steps[own], None, None)
        most = (self.last - self.first).astype(kind)
        return Places(self.shift.astype(kind)[leaf], self.sums, self.steps, self.first[leaf], most[leaf])



def build(
    leaves: Sequence[Laminate],
    brightness: Sequence[Array],
    footprint: float,
    *,
    mix_below: Array | float = 0.0,
    exact: bool = False,
) -> Table:
    """Return the table of some laminates with the brightness of their cells.

    footprint: the smallest stretch of height a pixel sees [m], which sets the pitch. mix_below: layers thinner than
    this [m],
    in the frame of their leaf, have been mixed and show their mean. exact: double precision, for deep zoom.
    """
    unique: dict[int, int] = {}
    place = [unique.setdefault(id(leaf), k) for k, leaf in enumerate(leaves)]
    thickest = max(leaf.total for leaf in leaves)
    most = MOST_CELLS * (_EXACT if exact else 1)
    cells = int(np.clip(thickest * PER_FOOTPRINT / max(footprint, 1e-15), _LEAST_CELLS, most))
    pitch = thickest / cells
    means = [float((leaf.thickness * b).sum()) / leaf.total for leaf, b in zip(leaves, brightness, strict=True)]
    mean = float(np.mean(means))
    limits = np.broadcast_to(np.asarray(mix_below, float), len(leaves))
    kind = np.float64 if exact else np.float32
    sums, steps, first, count = [], [], {}, 0
    for k in unique.values():
        own = _mixed(leaves[k], _steps(leaves[k], brightness[k] - mean, pitch), pitch, float(limits[k]))
        own = np.pad(own, _PAD, mode="edge")
        first[k], count = count, count + len(own)
        steps.append(own)
        sums.append(np.cumsum(own) - own)
    last = {k: first[k] + len(own) - 1 for k, own in zip(unique.values(), steps, strict=True)}
    return Table(
        np.concatenate(sums).astype(kind),
        np.concatenate(steps).astype(kind),
        1 / pitch,
        np.array([0.5 * leaf.total / pitch + _PAD for leaf in leaves]),
        np.array([first[k] for k in place]),
        np.array([last[k] for k in place]),
        mean,
    )


def _steps(leaf: Laminate, brightness: Array, pitch: float) -> Array:
    """Mean brightness of every table cell, exact: differences of the laminate's own running sum, which is straight
    within a layer.
    """
    count = max(1, int(np.ceil(leaf.total / pitch - 1e-9)))
    nodes = leaf.edges[0] + pitch * np.arange(count + 1)
    whole = np.concatenate(([0.0], np.cumsum(leaf.thickness * brightness)))
    sums = np.interp(nodes, leaf.edges, whole)
    sums[-1] += (nodes[-1] - leaf.edges[-1]) * brightness[-1]
    return np.asarray(np.diff(sums) / pitch, dtype=np.float64)


def _mixed(leaf: Laminate, steps: Array, pitch: float, limit: float) -> Array:
    """Average the cells whose layers are thinner than the limit over their neighbourhood; between 2/3 and 4/3 of it,
    partly.
    """
    if limit <= 0 or pitch > limit:
        return steps
    apart = np.clip((leaf.layer_thickness / limit - 2 / 3) * 1.5, 0, 1)
    if np.all(apart == 1):
        return steps
    even = uniform_filter1d(steps, max(1, round(_MIX_OVER * limit / pitch)), mode="nearest")
    if np.any(apart > 0):
        tops = leaf.edges[np.append(leaf.starts[1:], len(leaf.thickness))]
        centres = leaf.edges[0] + (np.arange(len(steps)) + 0.5) * pitch
        kept = apart[np.minimum(np.searchsorted(tops, centres), len(apart) - 1)]
        return np.asarray(even + kept * (steps - even), dtype=np.float64)
    return np.asarray(even, dtype=np.float64)
