"""Hollows in the two faces of a bar: how deep a point of the top and of the bottom face lies below the flat.

`Grooves` depend on the place along the bar alone and are exact; all others are sampled on an even grid.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating[Any]]
Faces = Literal["staggered", "opposed", "top"]

_DIMPLED = 8  # exponent of the soft maximum where dimples overlap
_PER_PERIOD = 2000
_JITTER = 0.14  # of the spacing
_UNEQUAL_ACROSS, _UNEQUAL_DEPTH = 0.15, 0.25
_BLOWS = 1.6  # blows over each spot of a face, on average
_ASIDE = 0.3  # of the spacing: how far a blow lands from where it was meant to
_CROWN = 1.3  # reach of a blow over the radius of its mark: a crowned face leaves no rim


class Depths(NamedTuple):
    """Depth below the top and the bottom face [m]."""

    top: Array
    bottom: Array


@dataclass(frozen=True)
class Grooves:
    """Grooves across the bar every `pitch`, `groove` wide at the face and `depth` deep [m]; a raised cosine in section.

    Staggered grooves of one face lie midway between those of the other; the middle of the bar is a land.
    """

    pitch: float
    groove: float
    depth: float
    faces: Faces

    @property
    def mark(self) -> float:
        """Width of one groove [m]."""
        return self.groove

    def many(self, length: float, _: float) -> float:
        """How many grooves a face of this length [m] has."""
        return length / self.pitch

    @property
    def _centres(self) -> tuple[float, float | None]:
        if self.faces == "staggered":
            return 0.25 * self.pitch, -0.25 * self.pitch
        return 0.5 * self.pitch, (0.5 * self.pitch if self.faces == "opposed" else None)

    def depths(self, x: Array) -> Depths:
        """Depths at places along the bar [m]."""
        top, bottom = (np.zeros_like(x) if c is None else self._depth(x, c) for c in self._centres)
        return Depths(top, bottom)

    def gathered(self, x: Array) -> Depths:
        """The two depths summed from the middle of the bar to x [m2]."""
        top, bottom = (
            np.zeros_like(x) if c is None else self._sum(x, c) - self._sum(np.zeros(1, x.dtype), c)
            for c in self._centres
        )
        return Depths(top, bottom)

    @property
    def gathered_a_pitch(self) -> float:
        """Both depths summed over one pitch [m2]."""
        faces = sum(c is not None for c in self._centres)
        return 2 * faces * float(self._half(np.array([0.5 * self.pitch]))[0])

    def means(self, length: float) -> tuple[float, float]:
        """Mean depth over a bar of this length, top and bottom [m]."""
        end = self.gathered(np.array([-0.5 * length, 0.5 * length]))
        return float(end.top[1] - end.top[0]) / length, float(end.bottom[1] - end.bottom[0]) / length

    def one_pitch(self) -> Array:
        """Places along one pitch, fine enough to find the deepest; the middles of the grooves are among them [m]."""
        return 0.25 * self.pitch + self.pitch / _PER_PERIOD * np.arange(_PER_PERIOD, dtype=np.float64)

    def _offset(self, x: Array, centre: float) -> tuple[Array, Array]:
        """Number of the nearest groove and the distance from its middle."""
        real = x.dtype.type
        from_first = x - real(centre)
        number = np.round(from_first * real(1 / self.pitch))
        return number, from_first - number * real(self.pitch)

    def _depth(self, x: Array, centre: float) -> Array:
        real = x.dtype.type
        off = self._offset(x, centre)[1]
        half_turn = np.clip(off * real(2 / self.groove), -1, 1) * real(np.pi / 2)
        cosine: Array = np.cos(half_turn)
        return cosine * cosine * real(self.depth)

    def _half(self, off: Array) -> Array:
        """Depth summed from a groove's middle to a distance from it [m2]."""
        real = off.dtype.type
        part = np.clip(off, -0.5 * self.groove, 0.5 * self.groove)
        return real(self.depth) * (
            real(0.5) * part + real(self.groove / (4 * np.pi)) * np.sin(real(2 * np.pi / self.groove) * part)
        )

    def _sum(self, x: Array, centre: float) -> Array:
        number, off = self._offset(x, centre)
        whole = 2 * self._half(np.array([0.5 * self.pitch], x.dtype))
        return number * whole + self._half(off)


class Mark(NamedTuple):
    """One dimple or blow: place, radius, depth [m]."""

    x: float
    y: float
    radius: float
    depth: float


class Marks:
    """Base of the hollows made of single round marks: a mark of radius R is depth (1 - r^2/R^2)^2 deep."""

    mark: float

    def of_face(self, face: int, length: float, width: float) -> Iterator[Mark]:
        """The marks of the top (0) or bottom (1) face of a bar [m]."""
        raise NotImplementedError

    def depths(self, x: Array, y: Array, length: float, width: float) -> Depths:
        """Depths on a grid: x (nx,), y (ny,) -> (nx, ny) [m]. Where marks overlap the deeper one wins, softly."""
        top, bottom = (_pressed_in(self.of_face(face, length, width), x, y) for face in (0, 1))
        return Depths(top, bottom)


def _pressed_in(marks: Iterator[Mark], x: Array, y: Array) -> Array:
    out = np.zeros((len(x), len(y)))
    scale = 0.0
    for m in marks:
        scale = scale or m.depth
        where, inside = _under(m, x, y)
        out[where] += (m.depth / scale * inside**2) ** _DIMPLED
    return scale * out ** (1 / _DIMPLED)


def _under(m: Mark, x: Array, y: Array) -> tuple[tuple[slice, slice], Array]:
    """The part of a grid a mark covers, and 1 - r^2/R^2 there, not below 0."""
    i0, i1 = np.searchsorted(x, [m.x - m.radius, m.x + m.radius])
    j0, j1 = np.searchsorted(y, [m.y - m.radius, m.y + m.radius])
    r2 = ((x[i0:i1, None] - m.x) ** 2 + (y[None, j0:j1] - m.y) ** 2) / m.radius**2
    return (slice(i0, i1), slice(j0, j1)), np.clip(1 - r2, 0, None)


@dataclass(frozen=True)
class Dimples(Marks):
    """Dimples on a six-sided layout that is a little out of true and of unequal size, `across` wide, at most `depth`
    deep, `spacing` apart [m].

    Those of the other face lie over the gaps (staggered), over one another (opposed) or are left out (top).
    """

    across: float
    depth: float
    spacing: float
    faces: Faces
    seed: int

    @property
    def mark(self) -> float:  # type: ignore[override]
        """Diameter of one dimple [m]."""
        return self.across

    def many(self, length: float, width: float) -> float:
        """How many dimples a face has [m by m]; those that overlap count for as many as they cover."""
        return length * width * max(1.0, self.across / self.spacing) ** 2 / (np.sqrt(0.75) * self.spacing**2)

    def of_face(self, face: int, length: float, width: float) -> Iterator[Mark]:
        if face == 1 and self.faces == "top":
            return
        seed = (self.seed, 0 if self.faces == "opposed" else face)
        rng = np.random.default_rng(seed)
        row = self.spacing * np.sqrt(3) / 2
        shift = (0.5 * self.spacing, row / 3) if face == 1 and self.faces == "staggered" else (0.0, 0.0)
        rows, columns = int(0.5 * width / row) + 2, int(0.5 * length / self.spacing) + 2
        for j in range(-rows, rows + 1):
            for i in range(-columns, columns + 1):
                jitter = _JITTER * self.spacing * rng.uniform(-1, 1, 2)
                radius = 0.5 * self.across * (1 + _UNEQUAL_ACROSS * rng.uniform(-1, 1))
                depth = self.depth * (1 - _UNEQUAL_DEPTH * rng.random())
                x = (i + 0.5 * (j % 2)) * self.spacing + shift[0] + jitter[0]
                yield Mark(float(x), float(j * row + shift[1] + jitter[1]), float(radius), float(depth))


@dataclass(frozen=True)
class Blows(Marks):
    """Blows of a crowned hammer all over both faces, each `size` across and at most `depth` deep [m], worked over the
    face row by row, each landing a little aside and of unequal size and weight.

    A blow of reach R presses (1 - r^2/R^2)^3 of its depth; what earlier blows have sunk takes that much less of it, so
    overlapping marks run into one another without a crease and never sink below `depth`.
    """

    size: float
    depth: float
    seed: int

    @property
    def mark(self) -> float:  # type: ignore[override]
        """Diameter of one blow [m]."""
        return self.size

    def many(self, length: float, width: float) -> float:
        """How many blows fall on a face [m by m]."""
        margin = 0.5 * self.size
        return _BLOWS * (length + self.size) * (width + self.size) / (np.pi * margin**2)

    def depths(self, x: Array, y: Array, length: float, width: float) -> Depths:
        top, bottom = (self._sunk(face, x, y, length, width) for face in (0, 1))
        return Depths(top, bottom)

    def _sunk(self, face: int, x: Array, y: Array, length: float, width: float) -> Array:
        proud = np.ones((len(x), len(y)))
        for m in self.of_face(face, length, width):
            where, inside = _under(m, x, y)
            proud[where] *= 1 - m.depth / self.depth * inside**3
        return self.depth * (1 - proud)

    def of_face(self, face: int, length: float, width: float) -> Iterator[Mark]:
        """The blows of a face, their radius the reach of the crowned hammer [m]."""
        rng = np.random.default_rng((self.seed, face))
        radius = 0.5 * self.size
        spacing = radius * float(np.sqrt(2 * np.pi / (np.sqrt(3) * _BLOWS)))
        row = 0.5 * np.sqrt(3) * spacing
        start = rng.uniform(-0.5, 0.5, 2) * spacing
        rows, columns = (
            int((0.5 * size + _CROWN * radius) / step) + 2 for size, step in ((width, row), (length, spacing))
        )
        for j in range(-rows, rows + 1):
            for i in range(-columns, columns + 1):
                aside = start + _ASIDE * spacing * rng.uniform(-1, 1, 2)
                reach = _CROWN * radius * float(rng.uniform(0.8, 1.2))
                weight = self.depth * float(rng.uniform(0.5, 1))
                yield Mark(float((i + 0.5 * (j % 2)) * spacing + aside[0]), float(j * row + aside[1]), reach, weight)


@dataclass(frozen=True)
class Picture:
    """Hollows as a grey picture tells them: black `depth` deep, white not at all.

    grey (rows, columns) as a tuple of tuples of bytes, the first row at the +y side; the picture is `length` by `width`
    on the bar [m] and repeated over it; smoothed by `smooth` [m].
    """

    grey: tuple[bytes, ...]
    length: float
    width: float
    depth: float
    faces: Faces
    smooth: float

    @property
    def mark(self) -> float:
        """Size of the smallest thing the smoothing lets through [m]."""
        return 10 * self.smooth

    def many(self, length: float, width: float) -> float:
        """How often the picture is on a face [m by m]."""
        return length * width / (self.length * self.width)

    def depths(self, x: Array, y: Array, length: float, width: float) -> Depths:
        """Depths on a grid: x (nx,), y (ny,) -> (nx, ny) [m]."""
        top = self._face(x, y, 0.0)
        if self.faces == "top":
            return Depths(top, np.zeros_like(top))
        return Depths(top, self._face(x, y, 0.5 * self.length if self.faces == "staggered" else 0.0))

    def _face(self, x: Array, y: Array, shift: float) -> Array:
        from scipy.ndimage import gaussian_filter, map_coordinates

        dark = 1 - np.array([list(row) for row in self.grey], float).T[:, ::-1] / 255
        pixel = (self.length / dark.shape[0], self.width / dark.shape[1])
        smoothed = gaussian_filter(dark, [self.smooth / p for p in pixel], mode="grid-wrap")
        i = (x - shift) / pixel[0] + 0.5 * dark.shape[0] - 0.5
        j = y / pixel[1] + 0.5 * dark.shape[1] - 0.5
        at = np.meshgrid(i, j, indexing="ij")
        return np.clip(self.depth * map_coordinates(smoothed, at, order=3, mode="grid-wrap"), 0.0, None)


Hollows = Grooves | Dimples | Blows | Picture
