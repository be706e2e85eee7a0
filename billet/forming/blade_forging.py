"""A bar forged towards a blade: the way back from the forging to the bar, the layers following the surface."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal, NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.bar.maps import PointMap, Pulled
from billet.base.interpolation import running_integral

Array = NDArray[np.float64]

_ALONG, _ACROSS = 0.5e-3, 0.1e-3  # spacing of the tables [m]
_MOST_ALONG, _MOST_ACROSS = 1600, 1400
_COARSE = 301
_NEWTON = 40
ROUNDING = 1 + 1e-9


class Place(Protocol):
    """Where the knife lies in the bar: heel and edge line [m]."""

    @property
    def heel_x(self) -> float: ...
    @property
    def edge_y(self) -> float: ...


class Knife(Protocol):
    """What the step must know of the knife it forges towards."""

    @property
    def design(self) -> Any: ...
    @property
    def length(self) -> float: ...
    def edge_y(self, x: ArrayLike) -> Array: ...
    def spine_y(self, x: ArrayLike) -> Array: ...
    def half(self, x: ArrayLike, y: ArrayLike, side: Literal["left", "right"]) -> Array: ...
    def placement(self, bar_length: float | None = None, bar_width: float | None = None) -> Any: ...


class Columns(NamedTuple):
    """Forged column height and height of its middle over the bar's [m]."""

    height: Array
    middle: Array


class Tables(NamedTuple):
    """Even tables over the forged bar from (x0, y0) by (dx, dy) [m]: dx_old/dx (nx), x_old (nx); dy_old/dy and y_old,
    and the height of the columns' middles (nx, ny)."""

    x0: float
    dx: float
    y0: float
    dy: float
    along: Array
    x: Array
    across: Array
    y: Array
    middle: Array | None


@dataclass(frozen=True)
class Forged(PointMap):
    """The bar before, `size` = (length, width, thickness) [m], forged towards a knife by a share.

    Columns become c = (1 - share) T + share t high, T the bar's thickness and t the knife's with its allowance; x grows
    by m = (mean over y of T/c)^lengthen, y by T/(c m). Outside its outline the knife counts as thick as on the outline;
    both sides of the bar spread alike. Tables of the two slopes are integrated exactly, so the determinant is 1 to
    rounding.
    """

    size: tuple[float, float, float]
    knife: Knife
    share: float
    lengthen: float
    _kept: dict[np.dtype[Any], Tables] = field(default_factory=dict, repr=False, compare=False)
    keeps_order = True

    @cached_property
    def place(self) -> Place:
        """Where the knife lies in the forged bar; when it is measured from the bar's end or side it is sought by
        repetition."""
        return self._forging[0]

    @cached_property
    def _forging(self) -> tuple[Place, Array, Array, Array]:
        """The place; and stations along the forged bar, end to end [m], half its width there [m], and dx_old/dx."""
        length, width = self.size[:2]
        for _ in range(25):
            place: Place = self.knife.placement(length, width)
            spread = self._spread(place)
            was, (length, width) = (length, width), (float(spread[0][-1] - spread[0][0]), 2 * float(spread[1].max()))
            if self.knife.placement(length, width) == place or np.hypot(length - was[0], width - was[1]) < 1e-9:
                break
        return place, *spread

    @cached_property
    def sizes(self) -> tuple[float, float, float]:
        """Length, width and thickness of the box round the forged bar [m]."""
        _, at, half, _ = self._forging
        length, width = float(at[-1] - at[0]), 2 * float(half.max())
        x, y = np.linspace(-0.5 * length, 0.5 * length, _COARSE), np.linspace(-0.5 * width, 0.5 * width, _COARSE)
        there = self._columns(x[:, None], y[None, :], self.place)
        held = np.abs(y) <= self.half_width(x)[:, None] * ROUNDING
        return length, width, float((there.height + 2 * np.abs(there.middle))[held].max())

    def half_width(self, x: Array) -> Array:
        """Half the width of the forged bar at x [m]."""
        return np.interp(x, self._forging[1], self._forging[2])

    def _columns(self, x: Array, y: Array, place: Place) -> Columns:
        """Forged columns at places of the forged bar; the knife is held beyond its outline."""
        knife, thickness = self.knife, self.size[2]
        u = np.clip(x - place.heel_x, 0.0, knife.length * (1 - 1e-9))
        low, high = knife.edge_y(u), knife.spine_y(u)
        sliver = 1e-9 * (high - low)
        u, v = np.broadcast_arrays(u, np.clip(y - place.edge_y, low + sliver, np.maximum(high - sliver, low)))
        left, right = knife.half(u, v, "left"), knife.half(u, v, "right")
        height = np.minimum(left + right + 2 * knife.design.allow.face, thickness)
        return Columns((1 - self.share) * thickness + self.share * height, 0.5 * self.share * (right - left))

    def _spread(self, place: Place) -> tuple[Array, Array, Array]:
        """Stations, half widths and slopes of a forging whose knife lies at a place."""
        length, width, thickness = self.size
        thin_most = thickness / self.thinnest(place)
        x = np.linspace(-0.5, 0.5, _COARSE) * length * thin_most**self.lengthen * ROUNDING
        half = np.linspace(0.0, 0.5 * width * thin_most ** (1 - self.lengthen) * ROUNDING, _COARSE)
        y = np.r_[-half[:0:-1], half]
        sums = running_integral(self._columns(x[:, None], y[None, :], place).height / thickness, y)
        middle = _COARSE - 1
        within = sums[:, middle:] - sums[:, middle::-1]
        with np.errstate(invalid="ignore"):
            mean = np.where(half > 0, within / (2 * half), 1.0)
        took = 2 * half * mean ** (1 - self.lengthen)
        there = np.array([np.interp(width, one, half) for one in took])
        along = np.array([np.interp(h, half, m) for h, m in zip(there, mean, strict=True)]) ** self.lengthen
        return _to_length(x, there, along, length)

    def thinnest(self, place: Place) -> float:
        """The thinnest forged column inside the outline [m]."""
        x = np.linspace(0.0, self.knife.length, 257) + place.heel_x
        low, high = (side(x - place.heel_x) + place.edge_y for side in (self.knife.edge_y, self.knife.spine_y))
        share = np.linspace(0.0, 1.0, 33)[:, None]
        return float(self._columns(x, low + share * (high - low), place).height.min())

    @cached_property
    def tables(self) -> Tables:
        """The tables the map looks up."""
        length, width, _ = self.sizes
        thickness = self.size[2]
        x = np.linspace(-0.5 * length, 0.5 * length, min(int(length / _ALONG), _MOST_ALONG) + 2)
        y = np.linspace(-0.5 * width, 0.5 * width, min(int(width / _ACROSS), _MOST_ACROSS) + 2)
        place, at, half, slope = self._forging
        along = np.interp(x, at, slope)
        columns = self._columns(x[:, None], y[None, :], place)
        across = columns.height / thickness / along[:, None]
        sums = running_integral(across, y)
        dy = float(y[1] - y[0])
        ends = [_within(sums, across, (s * np.interp(x, at, half) - y[0]) / dy, dy) for s in (-1, 1)]
        sums -= 0.5 * (ends[0] + ends[1])[:, None]
        x_old = running_integral(along, x)
        middle = columns.middle if np.any(columns.middle) else None
        return Tables(
            float(x[0]), float(x[1] - x[0]), float(y[0]), dy, along, x_old - 0.5 * x_old[-1], across, sums, middle
        )

    def _for(self, kind: np.dtype[Any]) -> Tables:
        """The tables in a dtype, made once."""
        if kind not in self._kept:
            t = self.tables
            self._kept[kind] = Tables(*t[:4], *(None if a is None else a.astype(kind) for a in t[4:]))  # type: ignore[arg-type]
        return self._kept[kind]

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        t, real = self._for(y.dtype), y.dtype.type
        i, a, over_x = _cell(x, t.x0, t.dx, len(t.along))
        j, b, over_y = _cell(y, t.y0, t.dy, t.across.shape[1])
        rise = t.along[i + 1] - t.along[i]
        along = t.along[i] + a * rise
        old_x = t.x[i] + real(t.dx) * a * (t.along[i] + real(0.5) * a * rise) + along * over_x
        k, k_next = i * np.int32(t.across.shape[1]) + j, (i + np.int32(1)) * np.int32(t.across.shape[1]) + j
        low, high = (_between(t.across, k + s, k_next + s, a) for s in (np.int32(0), np.int32(1)))
        across = low + b * (high - low)
        old_y = _between(t.y, k, k_next, a) + real(t.dy) * b * (low + real(0.5) * b * (high - low)) + across * over_y
        if t.middle is not None:
            m = [_between(t.middle, k + s, k_next + s, a) for s in (np.int32(0), np.int32(1))]
            z = z - (m[0] + b * (m[1] - m[0]))
        return Pulled(old_x, old_y, z / (along * across))

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """By Newton's method; columns keep their places, so height comes last."""
        t = self.tables
        flat = np.zeros_like(np.asarray(z, float))
        at_x = np.interp(x, t.x, t.x0 + t.dx * np.arange(len(t.x)))
        at_y = np.zeros_like(np.broadcast_arrays(x, y)[0], dtype=float) + y
        for _ in range(_NEWTON):
            back = self.pull(at_x, at_y, flat)
            lift = self._slopes(at_x, at_y)
            miss = x - back.x, y - back.y
            at_x, at_y = at_x + miss[0] / lift[0], at_y + miss[1] / lift[1]
            if max(np.abs(m).max(initial=0.0) for m in miss) < 1e-16:
                break
        lift = self._slopes(at_x, at_y)
        raised = self.pull(at_x, at_y, flat).z
        return at_x, at_y, (z - raised) * lift[0] * lift[1]

    def _slopes(self, x: Array, y: Array) -> tuple[Array, Array]:
        """dx_old/dx and dy_old/dy."""
        t = self.tables
        i, a, _ = _cell(x, t.x0, t.dx, len(t.along))
        j, b, _ = _cell(y, t.y0, t.dy, t.across.shape[1])
        along = t.along[i] + a * (t.along[i + 1] - t.along[i])
        low, high = (t.across[i, j + s] + a * (t.across[i + 1, j + s] - t.across[i, j + s]) for s in (0, 1))
        return along, low + b * (high - low)


def _to_length(x: Array, half: Array, along: Array, length: float) -> tuple[Array, Array, Array]:
    """The stations cut to where the bar before ends, its middle kept in the middle of the box [m]."""
    sums = running_integral(along, x)
    sums -= np.interp(0.0, x, sums)
    reach = x[len(x) // 2 :]
    took = np.interp(reach, x, sums) - np.interp(-reach, x, sums)
    end = float(np.interp(length, took, reach))
    at = np.linspace(-end, end, len(x))
    return at, np.interp(at, x, half), np.interp(at, x, along)


def _within(sums: Array, slope: Array, at: Array, step: float) -> Array:
    """An integral between its table's places, row by row: `at` counts places [1]."""
    j = np.clip(at.astype(int), 0, sums.shape[1] - 2)
    rows, b = np.arange(len(sums)), at - j
    return sums[rows, j] + step * b * (slope[rows, j] + 0.5 * b * (slope[rows, j + 1] - slope[rows, j]))


def _cell(x: Array, start: float, step: float, count: int) -> tuple[NDArray[np.int32], Array, Array]:
    """Cell of each coordinate, the share of the way through it, and how far the coordinate lies outside the table
    [m]."""
    real = x.dtype.type
    at = (x - real(start)) * real(1 / step)
    inside = np.clip(at, 0, count - 1)
    i = np.minimum(inside.astype(np.int32), np.int32(count - 2))
    return i, inside - i.astype(x.dtype), (at - inside) * real(step)


def _between(table: Array, k: NDArray[np.int32], k_next: NDArray[np.int32], share: Array) -> Array:
    """A flat table between two neighbours along x."""
    low = table.ravel().take(k)
    return low + share * (table.ravel().take(k_next) - low)
