"""How metal spreads in the plane when columns of unequal height are forged to one height.

The flow of least effort is the gradient of a potential: x -> x + grad phi with det(I + D2 phi) = r, where r is the
height of a column over the mean (a Monge-Ampere equation). Ends and sides slide but stay straight: no flow across them.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.base.interpolation import Sheet

Array = NDArray[np.floating[Any]]

CLOSE = 1e-4  # largest error of the determinant at which the iteration stops
_MOST_ROUNDS = 60
_NEWTON = 12
_ODD = ((True, False), (False, True))


class NotSpreadError(Exception):
    """The relief is too deep or too steep for its columns to be forged flat: the iteration does not settle."""


class Spread(NamedTuple):
    """A flow on the middles of an even grid (nx, ny): displacements u along x and v along y [m], rounds taken and the
    largest error of the determinant.
    """

    u: Array
    v: Array
    rounds: int
    error: float


def middles(size: float, cells: int) -> Array:
    """Middles of even cells over a length centred on zero [m]."""
    return (np.arange(cells, dtype=np.float64) + 0.5) * (size / cells) - 0.5 * size


def spread(ratio: Array, length: float, width: float, close: float = CLOSE) -> Spread:
    """Solve det(I + D2 phi) = ratio with no flow across the border.

    ratio (nx, ny) [1] positive, its mean is taken to be 1; length, width [m] of the rectangle. Iterates laplace(phi) <-
    sqrt((phi_xx - phi_yy)^2 + 4 phi_xy^2 + 4 r) - 2, whose fixed point is the equation solved for the convex branch;
    each round is one cosine transform there and two back (Benamou, Froese and Oberman 2010, ESAIM: M2AN 44, 737, their
    second method; from memory). Raises `NotSpreadError` when it does not settle.
    """
    from scipy.fft import dctn  # as below

    ratio = ratio / ratio.mean()
    nx, ny = ratio.shape
    kx = (np.pi / length * np.arange(nx))[:, None]
    ky = (np.pi / width * np.arange(ny))[None, :]
    square = kx**2 + ky**2
    square[0, 0] = 1.0
    laplacian = ratio - 1
    for rounds in range(1, _MOST_ROUNDS + 1):
        modes = dctn(laplacian, norm="ortho") / -square
        modes[0, 0] = 0.0
        flat = laplacian - laplacian.mean()
        xx = _cosines(_cosines(-(kx**2) * modes, 0), 1)
        xy = _sines(_sines(kx * ky * modes, 0), 1)
        yy = flat - xx
        error = float(np.abs((1 + xx) * (1 + yy) - xy**2 - ratio).max())
        if error < close:
            u = _cosines(_sines(-kx * modes, 0), 1)
            v = _cosines(_sines(-ky * modes, 1), 0)
            return Spread(u, v, rounds, error)
        laplacian = np.sqrt((xx - yy) ** 2 + 4 * xy**2 + 4 * ratio) - 2
    raise NotSpreadError(f"the determinant is still off by {error:.2g} after {_MOST_ROUNDS} rounds")


def _cosines(modes: Array, axis: int) -> Array:
    from scipy.fft import idct  # slow to load, and most bars never come here

    return idct(modes, axis=axis, norm="ortho")


def _sines(modes: Array, axis: int) -> Array:
    """Modes are numbered from the constant; the sine of the constant is nothing."""
    shifted = np.roll(modes, -1, axis)
    last = [slice(None)] * 2
    last[axis] = slice(-1, None)
    shifted[tuple(last)] = 0.0
    from scipy.fft import idst  # as above

    return idst(shifted, axis=axis, norm="ortho")


def turned_round(flow: Spread, length: float, width: float) -> Spread:
    """The same flow backwards: at each grid point *after* the flow, the displacement to where it was before.

    Newton's method on the spline through the flow, its slope taken from the neighbouring samples.
    """
    nx, ny = flow.u.shape
    x = np.broadcast_to(middles(length, nx)[:, None], (nx, ny))
    y = np.broadcast_to(middles(width, ny)[None, :], (nx, ny))
    slopes = [
        np.gradient(flow.u, length / nx, axis=0),
        np.gradient(flow.u, width / ny, axis=1),
        np.gradient(flow.v, width / ny, axis=1),
    ]
    sheet = Sheet(
        length, width, np.stack([flow.u, flow.v, *slopes]), (*_ODD, (False, False), (True, True), (False, False))
    )
    a, b = x - flow.u, y - flow.v
    for rounds in range(1, _NEWTON + 1):  # noqa: B007 - told in the answer
        u, v, ux, uy, vy = sheet(a, b)
        off_x, off_y = a + u - x, b + v - y
        error = max(float(np.abs(off_x).max()), float(np.abs(off_y).max()))
        if error < 1e-9 * length:
            break
        det = (1 + ux) * (1 + vy) - uy * uy
        a = a - ((1 + vy) * off_x - uy * off_y) / det
        b = b - ((1 + ux) * off_y - uy * off_x) / det
    return Spread(a - x, b - y, rounds, error)
