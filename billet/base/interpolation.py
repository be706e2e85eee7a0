"""Functions sampled evenly once, then looked up for millions of points.

Every answer has the dtype of the question. A `Curve` covers a stretch, an `Around` a full circle, a `Sheet` a
rectangle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import spline_filter

Array = NDArray[np.floating[Any]]
Ints = NDArray[np.intp]

_PAD = 24  # ghost samples round a sheet; the spline's filter forgets its border within them (0.268^24 = 2e-14)
_BLOCK = 1 << 17  # single points looked at together, so that millions take no more memory than these
_TAPS = 4  # samples a cubic spline touches along one axis
_FINER, _MOST_FINE = 4, 4_000_000  # a finer table holds at most so many samples a cell each way, and so many at all
_BENT = 1.5e-6  # what straight lines between finer samples may miss by [m]
_MANY = 50_000  # single points in single precision from which a finer table is worth while
_NEAR = 1 << 12  # the same for the sixteen samples of a spline
_AT_ONCE = 1 << 14  # points whose samples stay at hand


@dataclass(frozen=True, eq=False)
class Curve:
    """Values (n,) evenly from `low` to `high`; straight between them, held beyond the ends."""

    low: float
    high: float
    values: Array
    _kept: dict[np.dtype, tuple[Array, Array]] = field(default_factory=dict, repr=False)

    def __call__(self, x: Array) -> Array:
        n, real = len(self.values), x.dtype.type
        value, rise = _with_rise(self._kept, np.append(self.values, self.values[-1]), x.dtype)
        at = np.clip((x - real(self.low)) * real((n - 1) / (self.high - self.low)), 0, n - 1)
        k = at.astype(np.int32)
        return value.take(k) + (at - k.astype(x.dtype)) * rise.take(k)


@dataclass(frozen=True, eq=False)
class Around:
    """Values (n,) evenly round a full circle, n a power of two; any angle [rad] may be asked for."""

    values: Array
    _kept: dict[np.dtype, tuple[Array, Array]] = field(default_factory=dict, repr=False)

    def __call__(self, angle: Array) -> Array:
        n = len(self.values)
        value, rise = _with_rise(self._kept, np.append(self.values, self.values[0]), angle.dtype)
        at = angle * angle.dtype.type(n / (2 * np.pi))
        whole = np.floor(at)
        k = whole.astype(np.int32) & np.int32(n - 1)
        return value.take(k) + (at - whole) * rise.take(k)


def _with_rise(kept: dict[np.dtype, tuple[Array, Array]], values: Array, dtype: np.dtype) -> tuple[Array, Array]:
    """Values and the differences to their next neighbours in a dtype, made once."""
    if dtype not in kept:
        kept[dtype] = values.astype(dtype), np.append(np.diff(values), 0.0).astype(dtype)
    return kept[dtype]


@dataclass(frozen=True, eq=False)
class Sheet:
    """Fields over a rectangle of `length` by `width` centred on the origin, as cubic splines.

    fields (count, nx, ny) are sampled at the middles of even cells; odd (count, 2) tells which of them change sign when
    mirrored at the ends (first) and at the sides (second): a displacement along x does so at the ends. All else is
    even.
    """

    length: float
    width: float
    fields: Array
    odd: tuple[tuple[bool, bool], ...]

    @cached_property
    def _coefficients(self) -> Array:
        """Spline coefficients (nx + 2 pad, ny + 2 pad, count) with mirrored ghosts."""
        out = []
        for one, (ends, sides) in zip(self.fields, self.odd, strict=True):
            padded = _mirrored(_mirrored(one, ends).T, sides).T
            out.append(spline_filter(padded, order=3, mode="mirror"))
        return np.ascontiguousarray(np.stack(out, axis=-1))

    @cached_property
    def _single(self) -> Array:
        return self._coefficients.astype(np.float32)

    def __call__(self, x: Array, y: Array) -> tuple[Array, ...]:
        """The fields at points that broadcast together [m]; an even grid (a row of x, a column of y) costs a fraction
        of single points.
        """
        if x.size > 1 and y.size > 1 and not _crossed(x.shape, y.shape):
            shape = np.broadcast_shapes(x.shape, y.shape)
            many = int(np.prod(shape))
            straight = many >= _MANY and x.dtype == np.float32 and self._fine is not None
            if straight or many > _BLOCK:
                each = self._straight if straight else self
                a, b = (np.broadcast_to(c, shape).ravel() for c in (x, y))
                return self._in_blocks(each, a, b, shape, _AT_ONCE if straight else _BLOCK)
        table = self._single if x.dtype == np.float32 else self._coefficients
        i, wx = self._taps(x, self.length, self.fields.shape[1])
        j, wy = self._taps(y, self.width, self.fields.shape[2])
        if _crossed(x.shape, y.shape):
            return _on_grid(table, i, wx, j, wy, x.shape, y.shape)
        i, j, *weights = np.broadcast_arrays(i, j, *wx, *wy)
        return _at_points(table, i, j, weights[:_TAPS], weights[_TAPS:])

    @cached_property
    def _fine(self) -> tuple[int, Array] | None:
        """Samples a cell each way and the fields themselves there (along, across, count), so near that straight lines do
        between them; None where they would be too many or the fields bend too much.
        """
        cells = self.fields.shape[1:]
        finer = min(_FINER, int(np.sqrt(_MOST_FINE / ((cells[0] + 3) * (cells[1] + 3)))))
        if finer < _FINER:
            return None
        # a spline's second derivative at its samples is the second difference of its coefficients, and straight between
        bent = sum(float(np.abs(np.diff(self._coefficients, 2, axis=k)).max()) for k in (0, 1)) / finer**2
        if bent / 8 > _BENT:
            return None
        x, y = (
            (((np.arange((n + 3) * finer + 1) / finer - 2) - 0.5 * n + 0.5) * (size / n)).astype(np.float32)
            for n, size in zip(cells, (self.length, self.width), strict=True)
        )
        fine = np.stack(self(x[:, None], y[None, :]), axis=-1)
        return finer, np.ascontiguousarray(fine, np.float32)

    def _straight(self, x: Array, y: Array) -> tuple[Array, ...]:
        """Single points, straight between the finer samples."""
        assert self._fine is not None
        finer, fine = self._fine
        rows, cols, count = fine.shape
        i, f = _share(x, finer, self.length, self.fields.shape[1], rows)
        j, g = _share(y, finer, self.width, self.fields.shape[2], cols)
        flat, at = fine.reshape(-1, count), i * np.int32(cols) + j
        low, high = (flat.take(at + k, axis=0) for k in (0, cols))
        for side, k in ((low, 1), (high, cols + 1)):
            rise = flat.take(at + k, axis=0)
            rise -= side
            rise *= g[:, None]
            side += rise
        high -= low
        high *= f[:, None]
        low += high
        return tuple(low[:, k] for k in range(count))

    def _in_blocks(
        self, each: Callable[[Array, Array], tuple[Array, ...]], x: Array, y: Array, shape: tuple[int, ...], block: int
    ) -> tuple[Array, ...]:
        """Many single points, a block at a time."""
        out = [np.empty(x.size, x.dtype) for _ in range(len(self.fields))]
        for start in range(0, x.size, block):
            part = slice(start, start + block)
            for whole, some in zip(out, each(x[part], y[part]), strict=True):
                whole[part] = some
        return tuple(whole.reshape(shape) for whole in out)

    def _taps(self, x: Array, size: float, cells: int) -> tuple[Ints, list[Array]]:
        """First sample each point touches and its four cubic B-spline weights."""
        at = np.clip(x * x.dtype.type(cells / size) + x.dtype.type(0.5 * cells - 0.5), -2, cells + 1)
        whole = np.floor(at)
        t = at - whole
        u = 1 - t
        weights = [u**3 / 6, 2 / 3 - t * t * (1 - t / 2), 2 / 3 - u * u * (1 - u / 2), t**3 / 6]
        return whole.astype(np.intp) + (_PAD - 1), [w.astype(x.dtype, copy=False) for w in weights]


def _share(x: Array, finer: int, size: float, cells: int, samples: int) -> tuple[NDArray[np.int32], Array]:
    """The finer sample below each place [m], and how far the place is on to the next."""
    at = (x * np.float32(cells / size) + np.float32(0.5 * cells + 1.5)) * np.float32(finer)
    np.clip(at, 0, np.float32(samples - 1.001), out=at)
    k = at.astype(np.int32)
    return k, at - k


def running_integral(values: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Trapezoids summed up along the last axis from its first place on, 0 there."""
    parts = 0.5 * (values[..., 1:] + values[..., :-1]) * np.diff(at)
    return np.concatenate([np.zeros_like(values[..., :1]), np.cumsum(parts, axis=-1)], axis=-1)


def _mirrored(one: Array, odd: bool) -> Array:
    """Ghost samples at both ends of the first axis."""
    sign = -1.0 if odd else 1.0
    n = min(_PAD, len(one))
    short = np.zeros((_PAD - n, one.shape[1]))
    return np.concatenate([short, sign * one[:n][::-1], one, sign * one[::-1][:n], short])


def _crossed(a: tuple[int, ...], b: tuple[int, ...]) -> bool:
    """True when no axis is long in both shapes."""
    n = max(len(a), len(b))
    return all(p == 1 or q == 1 for p, q in zip((1,) * (n - len(a)) + a, (1,) * (n - len(b)) + b, strict=True))


def _on_grid(
    table: Array, i: Ints, wx: list[Array], j: Ints, wy: list[Array], xs: tuple[int, ...], ys: tuple[int, ...]
) -> tuple[Array, ...]:
    """A tensor-product spline on a grid: once along each axis."""
    count, dtype = table.shape[-1], table.dtype
    if i.size == 0 or j.size == 0:
        return tuple(np.empty(np.broadcast_shapes(xs, ys), dtype) for _ in range(count))
    low_i, low_j = int(i.min()), int(j.min())
    part = table[low_i : int(i.max()) + _TAPS, low_j : int(j.max()) + _TAPS]
    n, m = part.shape[:2]
    along = _matrix(i, wx, low_i, n) @ part.reshape(n, m * count)
    crosswise = along.reshape(-1, m, count).transpose(1, 2, 0).reshape(m, -1)
    out = (_matrix(j, wy, low_j, m) @ crosswise).reshape(-1, count, i.size)
    return tuple(_spread(out[:, k], xs, ys) for k in range(count))


def _matrix(first: Ints, weights: list[Array], low: int, size: int) -> Any:
    """The sparse matrix that takes samples to points."""
    from scipy.sparse import csr_array  # slow to load, and most pictures never come here

    columns = (first.reshape(-1, 1) - low + np.arange(_TAPS)).ravel()
    values = np.stack([w.ravel() for w in weights], axis=-1).ravel()
    return csr_array((values, columns, np.arange(0, len(columns) + 1, _TAPS)), shape=(first.size, size))


def _spread(grid: Array, xs: tuple[int, ...], ys: tuple[int, ...]) -> Array:
    """Put (y, x) values into the common shape of x and y."""
    shape = np.broadcast_shapes(xs, ys)
    axes = range(-len(shape), 0)
    x_axes = [a for a in axes if len(xs) >= -a and xs[a] != 1]
    y_axes = [a for a in axes if a not in x_axes]
    full = grid.reshape([shape[a] for a in y_axes + x_axes])
    return np.moveaxis(full, range(full.ndim), y_axes + x_axes)


def _at_points(table: Array, i: Ints, j: Ints, wx: list[Array], wy: list[Array]) -> tuple[Array, ...]:
    """Single points: sixteen samples each, so few points at once that their samples stay at hand."""
    nx, ny, count = table.shape
    flat = table.reshape(nx * ny, count)
    start = (i * ny + j).ravel()
    a, b = [w.ravel() for w in wx], [w.ravel() for w in wy]
    out = np.zeros((start.size, count), table.dtype)
    for first in range(0, start.size, _NEAR):
        some = slice(first, first + _NEAR)
        at, own = start[some], out[some]
        for p in range(_TAPS):
            for q in range(_TAPS):
                term = flat.take(at + (p * ny + q), axis=0)
                term *= (a[p][some] * b[q][some])[:, None]
                own += term
    return tuple(np.ascontiguousarray(out[:, k]).reshape(i.shape) for k in range(count))
