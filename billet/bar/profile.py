"""A bar whose section changes along its length: blocks, drawn-out parts, and the transitions between them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from billet.bar.maps import PointMap, Pulled

Array = NDArray[Any]

_NEWTON = 40
_SQUARE = 13 / 35  # of the smoothstep over its length


def _step(u: Array) -> Array:
    """The smoothstep 3u^2 - 2u^3, level at both ends."""
    return u * u * (3 - 2 * u)


@dataclass(frozen=True)
class Profile:
    """Sections along a bar: at the places `x` [m], growing, its `width` and `thickness`, and `middle` where the middle of
    its width lies across [m]. Between two places all three follow the smoothstep, so a part whose ends are alike is a
    block.
    """

    x: tuple[float, ...]
    width: tuple[float, ...]
    thickness: tuple[float, ...]
    middle: tuple[float, ...]

    @property
    def length(self) -> float:
        """From end to end [m]."""
        return self.x[-1] - self.x[0]

    @cached_property
    def box(self) -> tuple[float, float, float]:
        """Length, width and thickness of the box round it [m]."""
        low, high = self._sides()
        return self.length, float(high - low), max(self.thickness)

    def _sides(self) -> tuple[float, float]:
        w, m = np.array(self.width), np.array(self.middle)
        return float((m - 0.5 * w).min()), float((m + 0.5 * w).max())

    @cached_property
    def _parts(self) -> Array:
        """Volume of every part [m3]: the smoothstep's mean is a half, that of its square 13/35."""
        x, w, t = (np.array(v) for v in (self.x, self.width, self.thickness))
        dw, dt = np.diff(w), np.diff(t)
        return np.diff(x) * (w[:-1] * t[:-1] + 0.5 * (w[:-1] * dt + t[:-1] * dw) + _SQUARE * dw * dt)

    @cached_property
    def volume(self) -> float:
        """Volume [m3]."""
        return float(self._parts.sum())

    def at(self, x: Array) -> tuple[Array, Array, Array]:
        """Width, thickness and middle at x [m]; beyond the ends those of the ends."""
        x = np.asarray(x, dtype=np.float64)
        k, u = self._place(x)
        s = _step(np.clip(u, 0.0, 1.0))
        w, t, m = (np.array(v) for v in (self.width, self.thickness, self.middle))
        w, t, m = (v[k] + s * (v[k + 1] - v[k]) for v in (w, t, m))
        return w, t, m

    def _place(self, x: Array) -> tuple[Array, Array]:
        """The part each x lies in, and the share of the way through it; below 0 and over 1 beyond the ends."""
        knots = np.array(self.x)
        k = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, len(knots) - 2)
        return k, (x - knots[k]) / (knots[k + 1] - knots[k])

    def before(self, x: Array) -> Array:
        """Volume from the handle end up to x [m3]; beyond the ends it goes on with the section of the end."""
        k, u = self._place(np.asarray(x, dtype=np.float64))
        return self._within(k, u) + np.r_[0.0, np.cumsum(self._parts)][k]

    def _within(self, k: Array, u: Array) -> Array:
        """Volume of part k up to the share u of its length [m3]."""
        x, w, t = (np.array(v) for v in (self.x, self.width, self.thickness))
        h, dw, dt = np.diff(x)[k], np.diff(w)[k], np.diff(t)[k]
        c = np.clip(u, 0.0, 1.0)
        one = c**3 - c**4 / 2
        two = 9 * c**5 / 5 - 2 * c**6 + 4 * c**7 / 7
        inside = h * (w[k] * t[k] * c + one * (w[k] * dt + t[k] * dw) + two * dw * dt)
        beyond = np.where(u > 1, w[k + 1] * t[k + 1], w[k] * t[k])
        return inside + h * (u - c) * beyond

    def where(self, volume: Array) -> Array:
        """The place up to which so much volume lies [m]: Newton's method, the section being the slope."""
        volume = np.asarray(volume, dtype=np.float64)
        sums = np.r_[0.0, np.cumsum(self._parts)]
        knots = np.array(self.x)
        k = np.clip(np.searchsorted(sums, volume, side="right") - 1, 0, len(knots) - 2)
        h, part = np.diff(knots)[k], self._parts[k]
        u = (volume - sums[k]) / part
        lowest, highest = np.where(k == 0, -np.inf, 0.0), np.where(k == len(knots) - 2, np.inf, 1.0)
        for _ in range(_NEWTON):
            w, t, _m = self.at(knots[k] + h * u)
            miss = volume - sums[k] - self._within(k, u)
            if float(np.abs(miss).max(initial=0.0)) < 1e-16 * self.volume:
                break
            u = np.clip(u + miss / (h * w * t), lowest, highest)
        return knots[k] + h * u

    def contains(self, points: Array) -> NDArray[np.bool_]:
        """Which points (3, n) [m] lie in the metal."""
        w, t, m = self.at(points[0])
        along = (points[0] >= self.x[0]) & (points[0] <= self.x[-1])
        return np.asarray(along & (2 * np.abs(points[1] - m) <= w) & (2 * np.abs(points[2]) <= t))

    def centred(self) -> Profile:
        """The same with its box round the origin."""
        dx = 0.5 * (self.x[0] + self.x[-1])
        dy = 0.5 * sum(self._sides())
        return replace(self, x=_shifted(self.x, -dx), middle=_shifted(self.middle, -dy))

    def pared(self, faces: float, sides: float, left: float, right: float) -> Profile:
        """So much off both faces together, off each side and off either end [m]; its place is kept. Raises ValueError
        where a part would be gone."""
        if left + right >= self.length or min(self.width) <= 2 * sides or min(self.thickness) <= faces:
            raise ValueError("nothing left")
        start, end = self.x[0] + left, self.x[-1] - right
        kept = [x for x in self.x if start < x < end]
        x = np.array([start, *kept, end])
        w, t, m = self.at(x)
        return Profile(tuple(x), tuple(w - 2 * sides), tuple(t - faces), tuple(m))

    @property
    def block(self) -> tuple[float, float]:
        """The part of the largest section that stayed a block: where it begins and ends [m]."""
        areas = [w * t for w, t in zip(self.width, self.thickness, strict=True)]
        k = int(np.argmax(np.minimum(areas[1:], areas[:-1])))
        return self.x[k], self.x[k + 1]


_ROW = 20_000  # places along a bar that are remembered


def _shifted(values: tuple[float, ...], by: float) -> tuple[float, ...]:
    return tuple(v + by for v in values)


@dataclass(frozen=True)
class Reprofiled(PointMap):
    """A bar forged from one profile to another of the same volume: every section keeps its place in the metal.

    x goes to where as much volume lies behind it, y and z are stretched as the section is: with A the section,
    dx_old/dx = A_new(x) / A_old(x_old), dy_old/dy = w_old / w_new, dz_old/dz = t_old / t_new, the rest below the
    diagonal, so the determinant is one.
    """

    old: Profile
    new: Profile
    keeps_order = True

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        return Pulled(*self._moved(x, y, z, self.new, self.old))

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        return self._moved(x, y, z, self.old, self.new)

    @staticmethod
    def _moved(x: Array, y: Array, z: Array, here: Profile, there: Profile) -> tuple[Array, Array, Array]:
        kind: Callable[[Array], Array] = lambda a: a.astype(y.dtype)  # noqa: E731
        known = x.size <= _ROW
        to, m, m_to, across, through = (
            _known_along(here, there, x.tobytes(), x.dtype.str, x.shape) if known else _along(here, there, x)
        )
        return kind(to), kind(m_to) + kind(across) * (y - kind(m)), kind(through) * z


def _along(here: Profile, there: Profile, x: Array) -> tuple[Array, ...]:
    """Where places along one profile lie in another, the middles of both, and how much wider and thicker it is there."""
    to = there.where(here.before(x))
    w, t, m = here.at(x)
    w_to, t_to, m_to = there.at(to)
    return to, m, m_to, w_to / w, t_to / t


@lru_cache(maxsize=32)
def _known_along(here: Profile, there: Profile, x: bytes, kind: str, shape: tuple[int, ...]) -> tuple[Array, ...]:
    """The same for the row of a picture, asked for again and again."""
    return _along(here, there, np.frombuffer(x, kind).reshape(shape))
