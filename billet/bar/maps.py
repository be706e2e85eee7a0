"""Maps from a point of the bar after a step to where that point was before it.

A map takes coordinates x, y, z [m] (arrays that broadcast together; bar frame: x along, y across, z through, origin at
the centre) and returns the coordinates they had before, never writing into its arguments. Coordinates that only depend on one axis may
stay small: a picture row asks for one z but a thousand x, and nobody computes a thousand sines a thousand times.

Where a map jumps (at a seam it welded) it also returns the number of the piece each point came from and the signed
distance to the nearest plane it welded. The determinant of every map is +1: forging moves metal and never mirrors it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Ints = NDArray[np.int32]

_STEP = 2e-7  # spacing of the central difference behind `PointMap.slope` [m]


class Pulled(NamedTuple):
    """Where points were: coordinates [m], and for maps that weld, the piece each came from and the signed distance to the nearest weld [m]."""

    x: Array
    y: Array
    z: Array
    piece: Ints | None = None
    seam: Array | None = None


@dataclass(frozen=True)
class Traced:
    """The public answer of `backward`: points (3, n) [m], piece (n,) and seam_distance (n,) [m] or None where the map has no seam."""

    points: Array
    piece: Ints | None
    seam_distance: Array | None


class PointMap:
    """Base of all maps. A map defines `pull`, and `push` where it can; `slope` falls back on a central difference."""

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        """Coordinates after the step -> coordinates before it."""
        raise NotImplementedError

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """Coordinates before the step -> coordinates after it (for maps with seams: of the metal that was kept)."""
        raise NotImplementedError

    def slope(self, points: Array) -> Array:
        """Jacobian d(before)/d(after), (3, 3, n), taken inside the piece of each point.

        Smooth maps are differenced; a map that jumps must give its own.
        """
        out = np.empty((3, 3, points.shape[1]))
        for axis in range(3):
            step = np.zeros((3, 1))
            step[axis] = _STEP
            ahead, behind = self.pull(*(points + step)), self.pull(*(points - step))
            for row, (one, other) in enumerate(zip(ahead[:3], behind[:3], strict=True)):
                out[row, axis] = (one - other) / (2 * _STEP)
        return out

    def backward(self, points: Array) -> Traced:
        """Points (3, n) after the step -> where they were before it."""
        p = self.pull(points[0], points[1], points[2])
        n = points.shape[1]
        piece = None if p.piece is None else np.broadcast_to(p.piece, n)
        seam = None if p.seam is None else np.broadcast_to(p.seam, n)
        return Traced(np.stack([np.broadcast_to(a, n) for a in p[:3]]), piece, seam)

    def forward(self, points: Array) -> Array:
        """Points (3, n) before the step -> where the step puts them."""
        n = points.shape[1]
        return np.stack([np.broadcast_to(a, n) for a in self.push(points[0], points[1], points[2])])


@dataclass(frozen=True)
class Affine(PointMap):
    """before = matrix @ after + shift: drawing, turning, standing, grinding off-centre. Exact."""

    matrix: tuple[tuple[float, float, float], ...]
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        a, b, c = (_row(row, s, (x, y, z)) for row, s in zip(self.matrix, self.shift, strict=True))
        return Pulled(a, b, c)

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        inverse = np.linalg.inv(np.array(self.matrix))
        old = [a - b for a, b in zip((x, y, z), self.shift, strict=True)]
        a, b, c = (_row(tuple(row), 0.0, old) for row in inverse)
        return a, b, c

    def slope(self, points: Array) -> Array:
        return np.repeat(np.array(self.matrix)[:, :, None], points.shape[1], axis=2)

    def after(self, earlier: Affine) -> Affine:
        """One map for `earlier` (done first on the bar) followed by this one."""
        a, b = np.array(earlier.matrix), np.array(self.matrix)
        shift = a @ np.array(self.shift) + np.array(earlier.shift)
        return affine(a @ b, shift)


@dataclass(frozen=True)
class Held(Affine):
    """Moves nothing and is never merged with another map: marks the frame a bar has after a step."""


HELD = Held(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))


def affine(matrix: Array, shift: Array | tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Affine:
    """An `Affine` from arrays."""
    (a, b, c), (d, e, f), (g, h, i) = np.asarray(matrix, dtype=float).tolist()
    x, y, z = (float(v) for v in shift)
    return Affine(((a, b, c), (d, e, f), (g, h, i)), (x, y, z))


def stretch(along: float, across: float, through: float, shift: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Affine:
    """The bar grew by these three factors; `shift` is where its new centre lay before [m]."""
    return affine(np.diag([1 / along, 1 / across, 1 / through]), shift)


def moved(dx: float = 0.0, dy: float = 0.0, dz: float = 0.0) -> Affine:
    """Metal was taken off unevenly, so the new centre lay at (dx, dy, dz) before [m]."""
    return affine(np.eye(3), (dx, dy, dz))


def _row(row: tuple[float, ...], shift: float, p: tuple[Array, ...] | list[Array]) -> Array:
    """One row of an affine map, skipping the zeros so that small arrays stay small."""
    out: Array | None = None
    for factor, a in zip(row, p, strict=True):
        if factor == 0.0:
            continue
        term = a if factor == 1.0 else a * a.dtype.type(factor)
        out = term if out is None else out + term
    assert out is not None, "a map of determinant one has no empty row"
    return out if shift == 0.0 else out + out.dtype.type(shift)


@dataclass(frozen=True)
class Layers(PointMap):
    """Pieces of one bar laid on one another (restack, fold): exact, with jumps at the welds.

    faces: heights of the piece boundaries [m], bottom to top (pieces + 1); for piece k: `turned[k]` (about the y axis:
    x and z change sign) and the place (at[k] along x, up[k] through z) [m] in the bar before, of the piece's centre.
    """

    faces: tuple[float, ...]
    turned: tuple[bool, ...]
    at: tuple[float, ...]
    up: tuple[float, ...]

    def _piece(self, z: Array) -> Ints:
        return np.searchsorted(np.array(self.faces[1:-1], z.dtype), z, side="right").astype(np.int32)

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        faces = np.array(self.faces)
        k = self._piece(z)
        sign = np.where(self.turned, -1.0, 1.0).astype(z.dtype)[k]
        middle = (0.5 * (faces[1:] + faces[:-1])).astype(z.dtype)
        at, up = np.array(self.at, z.dtype)[k], np.array(self.up, z.dtype)[k]
        inner = faces[1:-1].astype(z.dtype)
        return Pulled(at + sign * x, y, up + sign * (z - middle[k]), k, to_nearest(z, inner))

    def slope(self, points: Array) -> Array:
        sign = np.where(self.turned, -1.0, 1.0)[self._piece(points[2])]
        out = np.zeros((3, 3, points.shape[1]))
        out[0, 0], out[1, 1], out[2, 2] = sign, 1.0, sign
        return out

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """The piece is found from x: pieces follow one another along the bar before."""
        at = np.array(self.at)
        k = np.abs(x[..., None] - at).argmin(-1)
        faces = np.array(self.faces)
        sign = np.where(self.turned, -1.0, 1.0)[k]
        middle = 0.5 * (faces[1:] + faces[:-1])
        return sign * (x - at[k]), y, middle[k] + sign * (z - np.array(self.up)[k])


def to_nearest(z: Array, planes: Array) -> Array:
    """Signed distance from z to the nearest of sorted planes [m]."""
    above = np.clip(np.searchsorted(planes, z), 0, len(planes) - 1)
    below = np.clip(above - 1, 0, len(planes) - 1)
    up, down = z - planes[above], z - planes[below]
    return np.where(np.abs(up) < np.abs(down), up, down)
