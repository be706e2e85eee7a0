"""The maps of a relief that is made flat again: cut and forged flat, or pressed and ground flat.

Cut then forged: every column keeps its metal, stands `flat` high in the end and spreads in the plane. Pressed then
ground: the bar takes the relief of the dies, its columns stretched or squeezed between the two faces, and a plane is
cut through it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from billet.bar.maps import PointMap, Pulled
from billet.base.interpolation import Curve, Sheet
from billet.base.messages import long, refuse, thin
from billet.forming.planar_flow import middles, spread, turned_round
from billet.forming.relief_shapes import Depths, Grooves, Hollows

Array = NDArray[np.floating[Any]]

_CELLS_PER_MARK = 32
_MOST_CELLS = 1_200_000
_FEWEST_CELLS = 80_000
_FEWEST = 48
_BUDGET = 1_500_000  # cells; more is refused before anything is laid out
_BYTES = 700  # of memory a cell takes while the flow is solved (a rough estimate)
_INVERSE = 4096  # samples of a pitch; one Newton step follows


class Means(NamedTuple):
    """Mean and greatest depth of hollows [m]: top face, bottom face, and both on one column."""

    top: float
    bottom: float
    deepest_top: float
    deepest_bottom: float
    deepest_both: float


def grid_of(hollows: Hollows, length: float, width: float) -> tuple[Array, Array]:
    """Middles of the cells on which hollows are sampled [m]: a 32nd of a mark, within bounds on their number.

    Raises `RefusedError` before anything is laid out where a bar so narrow and long would take more than there is room
    for.
    """
    fewest, most = (np.sqrt(length * width / n) for n in (_FEWEST_CELLS, _MOST_CELLS))
    cell = max(min(hollows.mark / _CELLS_PER_MARK, fewest), most)
    along, across = (max(_FEWEST, round(size / cell)) for size in (length, width))
    if along * across > _BUDGET:
        raise refuse(
            "the bar is only {wide} wide and {long} long, and such a relief on it would take about {memory} GB of memory; "
            "make it on a wider bar, before it is drawn so narrow, or cut the bar first",
            wide=thin(width),
            long=long(length),
            memory=f"{along * across * _BYTES / 1e9:.1f}",
        )
    return middles(length, along), middles(width, across)


def sampled(hollows: Hollows, length: float, width: float) -> Depths:
    """The depths over the bar: (n, 1) along one bar for grooves, else (nx, ny)."""
    if isinstance(hollows, Grooves):
        x = middles(length, max(20_000, 200 * round(length / hollows.pitch)))
        return Depths(*(d[:, None] for d in hollows.depths(x)))
    return _fields(hollows, length, width)


@lru_cache(maxsize=4)
def _fields(hollows: Hollows, length: float, width: float) -> Depths:
    assert not isinstance(hollows, Grooves)
    return hollows.depths(*grid_of(hollows, length, width), length, width)


def means_of(hollows: Hollows, length: float, width: float) -> Means:
    """Mean and greatest depths over a bar of this size [m]."""
    if isinstance(hollows, Grooves):
        d = hollows.depths(hollows.one_pitch())
        mean = hollows.means(length)
    else:
        d = sampled(hollows, length, width)
        mean = (float(d.top.mean()), float(d.bottom.mean()))
    return Means(*mean, float(d.top.max()), float(d.bottom.max()), float((d.top + d.bottom).max()))


@dataclass(frozen=True)
class CutAcross(PointMap):
    """Grooves cut across the bar, then forged flat: exact, x' = integral of h/flat, z = -T/2 + g_bottom + (z'/flat +
    1/2) h.

    thickness T before and flat after [m]; h = T - g_top - g_bottom.
    """

    hollows: Grooves
    thickness: float
    flat: float
    keeps_order = True

    @cached_property
    def _pitch_after(self) -> float:
        return (self.thickness * self.hollows.pitch - self.hollows.gathered_a_pitch) / self.flat

    @cached_property
    def _inverse(self) -> Curve:
        half = 0.5 * self.hollows.pitch
        x = np.linspace(-half, half, 4 * _INVERSE + 1)
        after = np.linspace(-0.5, 0.5, _INVERSE + 1) * self._pitch_after
        return Curve(after[0], after[-1], np.interp(after, self._along(x), x))

    def _along(self, x: Array) -> Array:
        """Where a column at x comes to stand."""
        gathered = self.hollows.gathered(x)
        real = x.dtype.type
        return (real(self.thickness) * x - gathered.top - gathered.bottom) * real(1 / self.flat)

    def _heights(self, x: Array) -> tuple[Array, Array]:
        """Bottom hollow and height of the column."""
        d = self.hollows.depths(x)
        return d.bottom, x.dtype.type(self.thickness) - d.top - d.bottom

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        real = x.dtype.type
        number = np.round(x * real(1 / self._pitch_after))
        old = number * real(self.hollows.pitch) + self._inverse(x - number * real(self._pitch_after))
        old = old - (self._along(old) - x) * real(self.flat) / self._heights(old)[1]
        low, high = self._heights(old)
        return Pulled(old, y, (z * real(1 / self.flat) + real(0.5)) * high + (low - real(0.5 * self.thickness)))

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        low, high = self._heights(x)
        real = x.dtype.type
        return self._along(x), y, real(self.flat) * ((z + real(0.5 * self.thickness) - low) / high - real(0.5))


@dataclass(frozen=True)
class PressedAcross(PointMap):
    """Grooves pressed across the bar, then ground flat: exact. The dies' relief stands in the coordinates after.

    thickness T [m] before and on the mean after pressing; `raised` (top, bottom): how far the faces rise over the
    grooves' zero so that the volume stays (the mean depths); `plane` [m]: height of the middle of the ground bar in the
    pressed one.
    """

    hollows: Grooves
    thickness: float
    raised: tuple[float, float]
    plane: float
    keeps_order = True

    def _faces(self, x: Array) -> tuple[Array, Array]:
        """Height of the bottom face and of the column."""
        d = self.hollows.depths(x)
        low = d.bottom - x.dtype.type(0.5 * self.thickness + self.raised[1])
        return low, x.dtype.type(0.5 * self.thickness + self.raised[0]) - d.top - low

    def _before(self, x: Array) -> Array:
        gathered = self.hollows.gathered(x)
        real = x.dtype.type
        return (real(self.thickness + sum(self.raised)) * x - gathered.top - gathered.bottom) * real(1 / self.thickness)

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        low, high = self._faces(x)
        real = x.dtype.type
        return Pulled(
            self._before(x), y, real(self.thickness) * (z + real(self.plane) - low) / high - real(0.5 * self.thickness)
        )

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """Solved by Newton's method from where nothing moves."""
        new = x.copy()
        for _ in range(12):
            new = new - (self._before(new) - x) * self.thickness / self._faces(new)[1]
        low, high = self._faces(new)
        return new, y, low + (z / self.thickness + 0.5) * high - self.plane


@dataclass(frozen=True)
class FlatSheet(PointMap):
    """Hollows of any shape, cut and forged flat or pressed and ground flat, on a grid.

    hollows over a bar of length by width by thickness [m]; `made` "cut" or "pressed"; `flat` [m] thickness after;
    `plane` [m] as for pressed grooves. The flow is solved to 1e-4 of the volume, once for equal values.
    """

    hollows: Hollows
    made: str
    length: float
    width: float
    thickness: float
    flat: float
    plane: float = 0.0
    keeps_order = True

    @property
    def _back(self) -> Sheet:
        """(x shift, y shift, height of the column's foot, height of the column) over places after the uniform part."""
        return _sheets(self.hollows, self.made, self.length, self.width, self.thickness)[0]

    @cached_property
    def _stretch(self) -> float:
        """Length after over length before."""
        if self.made == "pressed":
            return 1.0
        mean = means_of(self.hollows, self.length, self.width)
        return (self.thickness - mean.top - mean.bottom) / self.flat

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        real = x.dtype.type
        x = x * real(1 / self._stretch)
        u, v, foot, high = self._back(x, y)
        if self.made == "cut":
            return Pulled(x + u, y + v, (z * real(1 / self.flat) + real(0.5)) * high + foot)
        return Pulled(
            x + u, y + v, (z + real(self.plane) - foot) / high * real(self.thickness) - real(0.5 * self.thickness)
        )

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        u, v, foot, high = _sheets(self.hollows, self.made, self.length, self.width, self.thickness)[1](x, y)
        if self.made == "cut":
            return (x + u) * self._stretch, y + v, self.flat * ((z - foot) / high - 0.5)
        return x + u, y + v, foot + (z / self.thickness + 0.5) * high - self.plane


@lru_cache(maxsize=3)
def _sheets(hollows: Hollows, made: str, length: float, width: float, thickness: float) -> tuple[Sheet, Sheet]:
    """The way back, over places after; and the way there, over places before."""
    d = _fields(hollows, length, width)
    high = thickness - d.top - d.bottom
    if made == "pressed":
        high = high + d.top.mean() + d.bottom.mean()
        foot = d.bottom - d.bottom.mean() - 0.5 * thickness
    else:
        foot = d.bottom - 0.5 * thickness
    flow = spread(high, length, width)
    here = _sheet(length, width, flow.u, flow.v, foot, high)
    there = turned_round(flow, length, width)
    moved = _sheet(
        length, width, there.u, there.v, *(_carried(f, there.u, there.v, length, width) for f in (foot, high))
    )
    return (moved, here) if made == "cut" else (here, moved)


def _carried(values: Array, u: Array, v: Array, length: float, width: float) -> Array:
    """A field looked up at displaced places."""
    nx, ny = values.shape
    i, j = np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij", sparse=True)
    return map_coordinates(values, [i + u * (nx / length), j + v * (ny / width)], order=3, mode="reflect")


def _sheet(length: float, width: float, u: Array, v: Array, foot: Array, high: Array) -> Sheet:
    return Sheet(
        length, width, np.stack([u, v, foot, high]), ((True, False), (False, True), (False, False), (False, False))
    )
