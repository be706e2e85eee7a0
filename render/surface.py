"""The surface a picture looks at: where in the bar the corners of every pixel lie.

Pixel corners form a lattice; row 0 is the picture's upper border and column 0 its left one. Most coordinates depend on
the row or on the column alone and stay that small; only the depth of a ground face depends on both, and it is kept as
one short polynomial per column.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, Protocol

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

Array = NDArray[np.float64]
Floats = NDArray[np.floating]
Points = tuple[Floats, Floats, Floats]

_DEGREE = 7  # of the polynomials through a bevel before the small terms are dropped
_BEYOND = 1.1  # a bent piece is carried on over its ends by a twentieth of its height, no further
_NEGLIGIBLE = 2e-10  # what a dropped term may contribute [m]; a layer of a thousand in a kitchen blade is 2e-6


_LEAST_REACH = 1e-3  # half the height of a piece where it closes, in rows
_NODES = chebyshev.chebpts1(_DEGREE + 1)
_SERIES = np.linalg.inv(chebyshev.chebvander(_NODES, _DEGREE))
_POWERS = np.array(
    [np.pad(chebyshev.cheb2poly(row[: k + 1]), (0, _DEGREE - k)) for k, row in enumerate(np.eye(_DEGREE + 1))]
)


class Coordinate(Protocol):
    """One coordinate of the surface, in the bar's frame [m]."""

    def grid(self, rows: slice, cols: slice) -> Floats:
        """Return it at lattice corners, shaped to broadcast to (rows, columns)."""

    def points(self, row: Floats, col: Floats) -> Floats:
        """Return it at fractional places of the lattice."""


@dataclass(frozen=True, eq=False)
class Along:
    """A coordinate that depends on the row alone, the column alone, or nothing: `values` at lattice corners [m]."""

    by: Literal["row", "col", "none"]
    values: Floats

    def grid(self, rows: slice, cols: slice) -> Floats:
        if self.by == "none":
            return self.values.reshape(1, 1)
        return self.values[rows][:, None] if self.by == "row" else self.values[cols][None, :]

    def points(self, row: Floats, col: Floats) -> Floats:
        if self.by == "none":
            return self.values.reshape((1,) * row.ndim)
        return _between(self.values, row if self.by == "row" else col)


@dataclass(frozen=True, eq=False)
class Depth:
    """A coordinate that is a polynomial in the row for every column, in pieces from the top of the picture down.

    coefficients[piece] (degree + 1, columns) in the share s = row * scale + start of that piece (2, columns), or in the
    row itself where the piece is straight; below row until[piece] (columns) the next piece begins.
    """

    coefficients: tuple[Floats, ...]
    share: tuple[Floats, ...]
    until: tuple[Floats, ...]

    def moved(self, by: float) -> Depth:
        """Return the same depth moved along itself [m]."""
        moved = tuple(np.concatenate([c[:1] + c.dtype.type(by), c[1:]]) for c in self.coefficients)
        return Depth(moved, self.share, self.until)

    def grid(self, rows: slice, cols: slice) -> Floats:
        row = np.arange(rows.start, rows.stop, dtype=self.coefficients[0].dtype)
        borders = [until[cols] for until in self.until]
        out = np.empty((len(row), len(self.coefficients[0][0][cols])), row.dtype)
        for k in range(len(self.coefficients)):  # a piece is reckoned in the rows it reaches, and where the next begins
            above = borders[k - 1] if k else None
            first = 0 if above is None else int(np.searchsorted(row, above.min(), side="right"))
            last = int(np.searchsorted(row, borders[k].max(), side="right")) if k < len(borders) else len(row)
            if last <= first:
                continue
            own = row[first:last, None]
            mine = self._piece(k, own, lambda a: a[..., None, cols])
            np.copyto(out[first:last], mine, where=True if above is None else own > above)
        return out

    def points(self, row: Floats, col: Floats) -> Floats:
        out = self._piece(0, row, lambda a: _between(a, col))
        for k, until in enumerate(self.until):
            out = np.where(row > _between(until, col), self._piece(k + 1, row, lambda a: _between(a, col)), out)
        return out

    def _piece(self, k: int, row: Floats, pick: Callable[[Floats], Floats]) -> Floats:
        """Horner's scheme over the picked columns."""
        coefficients, (start, scale) = self.coefficients[k], self.share[k]
        if len(coefficients) == 2:
            return pick(coefficients[0]) + pick(coefficients[1]) * row
        s = np.clip(pick(start) + pick(scale) * row, -_BEYOND, _BEYOND)
        out = pick(coefficients[-1]) * s
        for c in coefficients[-2:0:-1]:
            out += pick(c)
            out *= s
        out += pick(coefficients[0])
        return out


@dataclass(frozen=True, eq=False)
class Surface:
    """A surface as three coordinates over a lattice of `rows` by `cols` pixels."""

    x: Coordinate
    y: Coordinate
    z: Coordinate
    rows: int
    cols: int
    kind: type[np.floating] = np.float32

    def grid(self, rows: slice, cols: slice) -> Points:
        """Return the corners of a block of pixels, one row and column more than there are pixels."""
        r, c = slice(rows.start, rows.stop + 1), slice(cols.start, cols.stop + 1)
        return self.x.grid(r, c), self.y.grid(r, c), self.z.grid(r, c)

    def points(self, row: Floats, col: Floats) -> Points:
        """Return points at fractional places of the lattice; row and col broadcast together."""
        return self.x.points(row, col), self.y.points(row, col), self.z.points(row, col)


def _between(values: Floats, at: Floats) -> Floats:
    """Linear between lattice values along the last axis."""
    i = np.clip(at.astype(np.intp), 0, values.shape[-1] - 2)
    low = values[..., i]
    return low + (at - i.astype(at.dtype)) * (values[..., i + 1] - low)


def ramp(start: float, step: float, count: int, by: Literal["row", "col"], kind: type[np.floating]) -> Along:
    """A coordinate that grows evenly from the first corner on [m]."""
    return Along(by, (start + step * np.arange(count + 1)).astype(kind))


def fixed(value: float, kind: type[np.floating]) -> Along:
    """A coordinate that is the same everywhere [m]."""
    return Along("none", np.array(value, kind))


def fitted(depth: Callable[[Array], Array], borders: Array, kind: type[np.floating]) -> Depth:
    """A depth fitted column by column.

    `depth` takes rows (n, columns) and returns the coordinate there [m]; `borders` (pieces + 1, columns) are the rows
    between which it is smooth, from the top of the picture down. Interpolated at Chebyshev nodes, terms that add less
    than 0.2 nm dropped.
    """
    coefficients, shares = [], []
    for top, bottom in pairwise(borders):
        middle, reach = 0.5 * (top + bottom), np.maximum(0.5 * (bottom - top), _LEAST_REACH)
        series = _SERIES @ depth(middle + _NODES[:, None] * 0.5 * (bottom - top))
        degree = max([1, *np.flatnonzero(np.abs(series).max(axis=1) > _NEGLIGIBLE).tolist()])
        powers = _POWERS[: degree + 1, : degree + 1].T @ series[: degree + 1]
        if degree == 1:
            powers = np.stack([powers[0] - powers[1] * middle / reach, powers[1] / reach])
        coefficients.append(powers.astype(kind))
        shares.append(np.stack([-middle / reach, 1 / reach]).astype(kind))
    return Depth(tuple(coefficients), tuple(shares), tuple(b.astype(kind) for b in borders[1:-1]))
