"""Between the stations: a thin plate bent through what was measured, and where it is least certain.

A thin plate through the readings is what a blade itself is, so its bow and its spare metal are carried over the face by
the smoothest plate (least bending energy) through the stations; along one line of stations it is the cubic spline, from
a single station a constant. Heights count as a share of the local height, so that the spine is one line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import RBFInterpolator
from scipy.linalg import svd
from scipy.spatial.distance import cdist
from scipy.special import xlogy

from billet.blade import Blade, Outline
from billet.grinding.stations import Station

Array = NDArray[np.float64]

_ONE_LINE = 1e-3  # stations that stray less than this from a line are one line [m]


@dataclass(frozen=True)
class Between:
    """The thin plate over stations at points (x, share times heel height) [m]; equal by content."""

    points: tuple[tuple[float, float], ...]

    def weights(self, x: ArrayLike, v: ArrayLike) -> Array:
        """Return how much each station counts at the points (x, v) [m], shape (points, stations); rows sum to 1."""
        here, known, kernel = self._turned(x, v)
        if kernel == "none":
            return np.full((len(here), len(known)), 1.0 / len(known))
        return np.asarray(RBFInterpolator(known, np.eye(len(known)), kernel=kernel, degree=1)(here))

    def doubt(self, x: ArrayLike, v: ArrayLike) -> Array:
        """Return how uncertain the plate is at points, zero at the stations; only the order of the figures counts.

        The standard error of kriging with the plate's own generalised covariance k(r) = r^2 ln r: with the weights l,
        the squared error is l K l - 2 l k. While all stations lie in one line it is the distance to the nearest.
        """
        here, known, kernel = self._turned(x, v)
        if kernel != "thin_plate_spline":
            return np.asarray(cdist(_both(x, v), np.array(self.points)).min(axis=1))
        weights = self.weights(x, v)
        across, among = _covariance(cdist(here, known)), _covariance(cdist(known, known))
        squared = np.einsum("pi,ij,pj->p", weights, among, weights) - 2 * np.einsum("pi,pi->p", weights, across)
        return np.asarray(np.sqrt(np.maximum(squared, 0.0)))

    def _turned(self, x: ArrayLike, v: ArrayLike) -> tuple[Array, Array, str]:
        """Return points and stations in as many directions as the stations span [mm], and the kernel for them."""
        known = np.array(self.points) * 1e3
        middle = known.mean(axis=0)
        _, sizes, directions = svd(known - middle, full_matrices=False)
        spanned = directions[sizes > _ONE_LINE * 1e3]
        kernel = ("none", "cubic", "thin_plate_spline")[len(spanned)]
        return (_both(x, v) * 1e3 - middle) @ spanned.T, (known - middle) @ spanned.T, kernel


def _both(x: ArrayLike, v: ArrayLike) -> Array:
    return np.stack([np.ravel(part) for part in np.broadcast_arrays(x, v)], axis=1).astype(float)


def _covariance(r: Array) -> Array:
    return np.asarray(r * xlogy(r, r))


def between(stations: Sequence[Station], blade: Blade) -> Between:
    """Return the plate over the stations of a blade."""
    return Between(tuple((s.x, s.share * blade.design.heel_height) for s in stations))


@dataclass(frozen=True)
class Field:
    """A quantity [m] known at the stations, anywhere on the blade; a small value, equal by content."""

    plate: Between
    values: tuple[float, ...]
    outline: Outline
    heel_height: float

    def __call__(self, x: ArrayLike, y: ArrayLike) -> Array:
        """Return it at points (x, y) of the blade's frame [m], broadcast; off the blade the border's value is held."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        here = np.clip(x, 0.0, self.outline.length)
        low, high = self.outline.edge_y(here), self.outline.spine_y(here)
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(high > low, np.clip((y - low) / (high - low), 0, 1), 1.0)
        return self.at_share(here, share)

    def at_share(self, x: ArrayLike, share: ArrayLike) -> Array:
        """Return it at a share of the local height, 0 at the edge and 1 at the spine."""
        x, share = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(share, dtype=float))
        weights = self.plate.weights(x.ravel(), share.ravel() * self.heel_height)
        return np.asarray(weights @ np.array(self.values)).reshape(x.shape)


class Midplane(Field):
    """The mid-plane of a blade off the flat [m], positive to the right face (+z of the blade's frame)."""


def field(stations: Sequence[Station], values: Sequence[float], blade: Blade) -> Field:
    """Return a quantity over the blade from its values at the stations [m]."""
    assert blade.shape is not None
    return Field(between(stations, blade), tuple(map(float, values)), blade.shape, blade.design.heel_height)


def midplane(stations: Sequence[Station], blade: Blade) -> Midplane:
    """Return the measured mid-plane as a function of (x, y) [m]; straight where no bow was measured at all."""
    assert blade.shape is not None
    told = [(s, s.reading.bow) for s in stations if s.reading.bow is not None] or [(s, 0.0) for s in stations]
    plate = between([s for s, _ in told], blade)
    return Midplane(plate, tuple(float(b) for _, b in told), blade.shape, blade.design.heel_height)


@dataclass(frozen=True)
class NextReading:
    """Where the next reading tells most: from the heel and above the local edge [m], and the name of the place."""

    x: float
    height: float
    place: str


_NEAREST = 8e-3  # a reading closer to a station than this tells nothing new [m]


def next_reading(stations: Sequence[Station], blade: Blade, step: float = 5e-3) -> NextReading | None:
    """Return the place where the plate is least certain, on a grid of ``step`` [m]; None where stations lie dense.

    Looked for at the edge, half way up and at the spine, from the heel to just behind the point.
    """
    heel = blade.design.heel_height
    along = np.arange(0.0, blade.length - blade.design.tip_at + step / 2, step)
    x, share = (part.ravel() for part in np.meshgrid(along, [0.0, 0.5, 1.0]))
    plate = between(stations, blade)
    far = cdist(_both(x, share * heel), np.array(plate.points)).min(axis=1) >= _NEAREST
    if not far.any():
        return None
    best = int(np.argmax(np.where(far, plate.doubt(x, share * heel), -1.0)))
    place = {0.0: "edge", 0.5: "face", 1.0: "spine"}[float(share[best])]
    return NextReading(float(x[best]), float(share[best] * blade.height(x[best])), place)
