"""The straight mid-plane that the measured metal allows best, by linear programming.

A face at a station loses its spare, more or less by how far the steel's middle stands off the plane. With q half the
spare, e the middle's distance to the right of the plane and d what each half of the blade gives up in thickness:

    right = q + e + d >= least        left = q - e + d >= least        d >= 0

The plane a + b x + c y and d are chosen, one wish after the other: the largest d least; then d least in all, running
straight from heel to tip so that the taper stays straight; then the plane nearest the reference, or nearest the steel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import linprog

from billet.blade import Side

Array = NDArray[np.float64]
Hold = Literal["line", "heel", "free"]
"""What the plane keeps to: the reference all along, the reference at the heel, or nothing."""

_MM = 1e3  # the programme is solved in millimetres, where the solver's tolerance of 1e-7 is a tenth of a nanometre
_SLACK = 1e-6  # by how much an earlier wish may give way to a later one [mm]
_SLACKS = (
    _SLACK,
    1e-5,
    1e-4,
)  # the solver now and then finds no room in the first; the widest is a tenth of a micrometre
_COLUMNS: dict[Hold, tuple[int, ...]] = {"line": (), "heel": (1,), "free": (0, 1, 2)}


@dataclass(frozen=True)
class Plane:
    """A plane over the blade: offset + tilt x + lean y [m], positive to the right."""

    offset: float = 0.0
    tilt: float = 0.0
    lean: float = 0.0

    def __call__(self, x: ArrayLike, y: ArrayLike) -> Array:
        """Return how far the plane stands to the right of the reference [m]."""
        return np.asarray(self.offset + self.tilt * np.asarray(x) + self.lean * np.asarray(y))


@dataclass(frozen=True)
class Corners:
    """What each half of the blade gives up [m] at the corners of its face; straight between them, both ways."""

    edge_heel: float = 0.0
    edge_tip: float = 0.0
    spine_heel: float = 0.0
    spine_tip: float = 0.0

    def __call__(self, along: ArrayLike, share: ArrayLike) -> Array:
        """Return it at shares of the length and of the height [m]."""
        parts = (self.edge_heel, self.edge_tip, self.spine_heel, self.spine_tip)
        return np.asarray(np.tensordot(np.array(parts), _bilinear(along, share), axes=1))


@dataclass(frozen=True)
class Pinch:
    """A face that decides the outcome: the station's number, the side, and its weight in the proof.

    The weights are a certificate: they are not negative, sum to one, and the weighted sum of these faces' shortfalls is
    the same for every plane. So no plane has a smaller largest shortfall.
    """

    station: int
    side: Side
    weight: float


@dataclass(frozen=True)
class Fit:
    """The best plane, what thickness it gives up, the least possible largest shortfall of a face [m], its proof."""

    plane: Plane
    corners: Corners
    shortfall: float
    pinches: tuple[Pinch, ...]


@dataclass(frozen=True)
class Metal:
    """What is known at the stations, arrays of shape (n,): x, y, half the spare, and the steel's middle [m]; shares."""

    x: Array
    y: Array
    along: Array
    share: Array
    half_spare: Array
    middle: Array


def best_plane(metal: Metal, least: float, hold: Hold = "heel") -> Fit:
    """Return the best plane for a least removal per face [m]."""
    basis = np.stack([np.ones_like(metal.x), metal.x, metal.y], axis=1)[:, _COLUMNS[hold]]
    scale = np.maximum(np.abs(basis).max(axis=0, initial=0.0), 1e-12)
    A, q, m = basis / scale, (metal.half_spare - least) * _MM, metal.middle * _MM
    worst, marginals = _least_shortfall(A, q, m)
    found, corners = _nearest(A, q, m, metal, worst, hold)
    coefficients = np.zeros(3)
    coefficients[list(_COLUMNS[hold])] = found / scale / _MM
    if worst <= _SLACK:
        return Fit(Plane(*map(float, coefficients)), Corners(), 0.0, ())
    return Fit(
        Plane(*map(float, coefficients)), Corners(*(float(c) / _MM for c in corners)), worst / _MM, _pinches(marginals)
    )


def _faces(A: Array, q: Array, m: Array, gives: Array) -> tuple[Array, Array]:
    """Return rows and right sides of: plane - d <= q + m (right faces), -plane - d <= q - m (left faces)."""
    return np.block([[A, -gives], [-A, -gives]]), np.concatenate([q + m, q - m])


def _least_shortfall(A: Array, q: Array, m: Array) -> tuple[float, Array]:
    """Return the least possible largest shortfall [mm] and the weights that prove it, right faces then left."""
    n, k = A.shape
    rows, limits = _faces(A, q, m, np.ones((n, 1)))
    found = linprog(np.append(np.zeros(k), 1.0), rows, limits, bounds=[(None, None)] * k + [(0, None)], method="highs")
    return float(found.fun), -np.asarray(found.ineqlin.marginals)


def _nearest(A: Array, q: Array, m: Array, metal: Metal, worst: float, hold: Hold) -> tuple[Array, Array]:
    """Return plane and corners: the least thickness given up in all, then the plane nearest what it should keep to."""
    n, k = A.shape
    rows, limits = _faces(A, q, m, _bilinear(metal.along, metal.share).T)
    plane, corner = [(None, None)] * k, [(0.0, None)] * 4
    capped = np.hstack([np.zeros((n, k)), _bilinear(metal.along, metal.share).T])
    rows, limits = np.vstack([rows, capped]), np.append(limits, np.full(n, worst + _SLACK))
    total = np.concatenate([np.zeros(k), np.ones(4)])
    least = linprog(total, rows, limits, bounds=plane + corner, method="highs")
    keep = m if hold == "free" else np.zeros(n)
    far = np.ones((n, 1))
    near = np.block([[A, np.zeros((n, 4)), -far], [-A, np.zeros((n, 4)), -far]])
    rows = np.vstack([np.hstack([rows, np.zeros((3 * n, 1))]), near, np.append(total, 0.0)])
    wish = np.append(np.zeros(k + 4), 1.0)
    for slack in _SLACKS:
        given = np.concatenate([limits, keep, -keep, [least.fun + slack]])
        found = linprog(wish, rows, given, bounds=[*plane, *corner, (0, None)], method="highs")
        if found.x is not None:
            break
    return np.asarray(found.x[:k]), np.asarray(found.x[k : k + 4])


def _bilinear(along: ArrayLike, share: ArrayLike) -> Array:
    """Return the weights of the four corners, shape (4, ...)."""
    u, w = np.broadcast_arrays(np.asarray(along, dtype=float), np.asarray(share, dtype=float))
    return np.stack([(1 - u) * (1 - w), u * (1 - w), (1 - u) * w, u * w])


def _pinches(marginals: Array) -> tuple[Pinch, ...]:
    n = len(marginals) // 2
    sides: list[tuple[Side, Array]] = [("right", marginals[:n]), ("left", marginals[n:])]
    found = [Pinch(i, side, float(w[i])) for side, w in sides for i in range(n) if w[i] > 1e-9]
    return tuple(sorted(found, key=lambda pinch: -pinch.weight))
