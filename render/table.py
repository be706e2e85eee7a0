"""The layers as a table of summed brightness, so that a mean over many layers costs two look-ups.

Brightness is constant within a cell of the laminate; its running sum over height, with the mean taken off, is stored at
equally spaced nodes together with the step to the next. Between two heights the mean brightness is the difference of
the sums over the distance: exact at the nodes for layers of any thickness, however many lie between two of them.

Three tricks keep it quick, for every pixel of every picture comes through here:

- A pixel that sees a wide stretch of height must blend softly at its ends. Blending at look-up would cost many look-ups,
  so the sums are stored averaged over boxes of a few widths, two an octave, and a pixel takes the nearest.
- The widths 1, 1.5, 2, 3, 4, 6 ... are those whose binary fraction begins with 0 or 1 after the leading one. Cutting a
  floating-point number down to its exponent and first bit of fraction therefore *is* rounding down to such a width, and
  those bits, read as a whole number less those of the narrowest, *are* its place in the table (`Places.smoothed`).
  Shifting by 22 bits (51 in double precision) leaves just them: 23 (52) bits of fraction less the one kept (IEEE 754).
- Arrays the size of the picture are worked on in place and taken from a room of buffers, since making new ones costs more
  time than the arithmetic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from billet.bar.laminate import Laminate
from render.banding import streaks
from render.room import Room

Array = NDArray[np.float64]
Floats = NDArray[np.floating]
Ints = NDArray[np.int64]

MOST_CELLS = 1 << 17  # of one leaf in single precision: a height is then known to 1/128 of a cell
_LEAST_CELLS = 1 << 10
PER_FOOTPRINT = 8  # cells across the smallest footprint asked for
_HALVES = [0.5 * 2.0**octave * (1.0, 1.5)[k] for octave in range(7) for k in (0, 1)]  # of the boxes [cells]
_NARROWEST, _WIDEST = _HALVES[0], 0.999 * 2.0**6  # half widths told apart [cells]; the narrowest is as good as none
_TO_NEAREST = 1.2  # before a width is cut down to the next narrower, so that it is at most a fifth off
_APART = 2e-3  # brightness that counts as the same
_EXACT = 16  # so many times as many cells in double precision
_PAD = 64  # cells with which the outer layers are taken to go on, for pixels that reach past the face
_MIX_OVER = 12.0  # layers too thin to stay apart are averaged over so many times the limit


class Places(NamedTuple):
    """Where heights are looked up: what is added to them [cells], the node to count from, and the last cell there is;
    of one leaf, or of one a height. With them the running sums and their steps.
    """

    shift: Floats | np.floating
    first: Ints | int
    last: Floats | np.floating
    sums: Floats
    steps: Floats

    def smoothed(self, short: Floats, room: Room) -> tuple[Floats, Ints]:
        """Replace half widths [cells], in place, by about the nearest ones there are sums for; returns where those
        begin.
        """
        kind = short.dtype
        whole, halves = (np.int32, 22) if kind == np.float32 else (np.int64, 51)
        short *= kind.type(_TO_NEAREST)
        np.clip(short, kind.type(_NARROWEST), kind.type(_WIDEST), out=short)
        bits = short.view(whole)
        level = np.right_shift(bits, halves, out=room("level", short.shape, whole))
        level -= int(np.array(_NARROWEST, kind).view(whole)) >> halves
        np.bitwise_and(bits, whole(-(1 << halves)), out=bits)
        start = np.multiply(level, self.sums.shape[1], out=room("start", short.shape, np.intp))
        start += self.first
        return short, start

    def summed(self, at: Floats, start: Ints, room: Room) -> Floats:
        """Replace heights in cells of their leaf by the running sums there, in place; beyond the outer cells the sum
        stays.
        """
        whole, cell = room("whole", at.shape, at.dtype), room("cell", at.shape, np.intp)
        np.clip(at, at.dtype.type(0), self.last, out=at)
        np.floor(at, out=whole)
        np.copyto(cell, whole, casting="unsafe")
        at -= whole
        cell += start
        np.take(self.steps, cell, out=whole, mode="clip")
        at *= whole
        np.take(self.sums, cell, out=whole, mode="clip")
        at += whole
        return at

    def even(self, low: Floats, high: Floats) -> NDArray[np.bool_]:
        """Tell where the brightness is the same all the way between two heights in cells (n,)."""
        ends = []
        for at in (low, high):
            ends.append(np.clip(np.floor(at), 0, self.last).astype(np.intp) + self.first)
        (a, b), apart = ends, self.sums.dtype.type(_APART)
        sums, steps = self.sums[0], self.steps[0]
        off = sums[b] - sums[a] - steps[a] * (b - a).astype(sums.dtype)
        return np.asarray((np.abs(steps[b] - steps[a]) < apart) & (np.abs(off) < apart * np.maximum(b - a, 1)))


@dataclass(frozen=True, eq=False)
class Table:
    """Running sums of brightness over height for all leaves of a bar, one after another.

    `sums` (levels, cells) holds the sum at every node and `rises` what is added up to the next, in cells times
    brightness less `mean`; one level after the other smoothed over a wider box, of 1, 1.5, 2, 3, 4, 6 ... cells. A
    height z [m] of leaf k lies at z * `per_metre` + `shift[k]` cells, counted from its node `first[k]`; `last[k]` is
    its last one.
    """

    sums: Floats
    rises: Floats
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
            most = kind.type(self.last[k] - self.first[k])
            return Places(kind.type(self.shift[k]), int(self.first[k]), most, self.sums, self.rises)
        many = (self.last - self.first).astype(kind)[leaf]
        return Places(self.shift.astype(kind)[leaf], self.first[leaf], many, self.sums, self.rises)

    @property
    def steps(self) -> Floats:
        """Brightness less `mean` of every cell (cells,)."""
        return self.rises[0]


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
    this [m], in the frame of their leaf, have been mixed and show their mean. exact: double precision, for deep zoom.
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
    sums: list[Floats] = []
    steps: list[Floats] = []
    first, count = {}, 0
    for k in unique.values():
        own = _mixed(leaves[k], _banded(leaves[k], brightness[k], mean, pitch), pitch, float(limits[k]))
        own = np.pad(own, _PAD, mode="edge")
        first[k], count = count, count + len(own)
        smooth = _smoothed(own)
        rise: Floats = np.zeros_like(smooth, dtype=kind)
        np.subtract(smooth[:, 1:], smooth[:, :-1], out=rise[:, :-1], casting="same_kind")
        rise[0] = own
        sums.append(smooth.astype(kind, copy=False))
        steps.append(rise)
    last = {k: first[k] + own.shape[1] - 1 for k, own in zip(unique.values(), steps, strict=True)}
    return Table(
        _beside(sums),
        _beside(steps),
        1 / pitch,
        np.array([0.5 * leaf.total / pitch + _PAD for leaf in leaves]),
        np.array([first[k] for k in place]),
        np.array([last[k] for k in place]),
        mean,
    )


def _beside(parts: list[Floats]) -> Floats:
    """Tables next to one another; a single one as it is, since a copy may take hundreds of megabytes."""
    return parts[0] if len(parts) == 1 else np.concatenate(parts, axis=1)


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


def _banded(leaf: Laminate, brightness: Array, mean: float, pitch: float) -> Array:
    """The same less a mean, with the rows of rich steels where they are wide enough to be told apart."""
    steps = _steps(leaf, brightness - mean, pitch)
    rows = streaks(leaf, leaf.edges[0] + (np.arange(len(steps)) + 0.5) * pitch)
    return steps if rows is None else np.asarray(steps + (steps + mean) * rows)


def _smoothed(steps: Array) -> Array:
    """Running sums over the cells, and those sums averaged over a box of each width (levels, cells); beyond the ends
    they stay.
    """
    n, reach = len(steps), int(_WIDEST) + 2
    rise = np.pad(steps, reach)
    once = np.cumsum(rise) - rise
    twice = np.cumsum(once + 0.5 * rise) - once - 0.5 * rise

    def integral(off: float) -> Array:
        whole = int(np.floor(off))
        part, at = off - whole, slice(reach + whole, reach + whole + n)
        return twice[at] if part == 0 else np.asarray(twice[at] + part * (once[at] + 0.5 * part * rise[at]))

    out = np.empty((len(_HALVES), n))
    out[0] = once[reach : reach + n]
    for row, half in zip(out[1:], _HALVES[1:], strict=True):
        np.divide(integral(half) - integral(-half), 2 * half, out=row)
    return out


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
