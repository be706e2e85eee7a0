"""Bars with round corners: twisting them, and forging them square again. Both maps keep every area of the section.

The section is the superellipse |y/a|^n + |z/b|^n = 1 with a = width/2, b = thickness/2.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv

from billet.bar.bar import Bar, corner_share, worked
from billet.bar.laminate import Laminate
from billet.bar.maps import PointMap, Pulled
from billet.base.interpolation import Around, Curve

Array = NDArray[np.floating[Any]]

_QUARTER = 1 << 13  # samples of a quarter turn
_COLUMNS = 1 << 14


class Round(NamedTuple):
    """The unit superellipse and the disc of its area: `ahead` disc angle less section angle, over the section's angle;
    `inside` 1/rho over the section's angle; `y` and `z` of the outline over the disc's angle.
    """

    ahead: Around
    inside: Around
    y: Around
    z: Around


def disc_angle(theta: Array, exponent: float) -> Array:
    """Angle in the disc of a ray at theta in the section, 0 <= theta <= pi/2 [rad]: sectors keep their share of the
    area.

    phi = pi/2 * I_v(1/n, 1/n), v = sin^n / (cos^n + sin^n), I the regularised incomplete beta function; derived from
    the sector area integral of rho^2/2. For n = 2 phi is theta. The upper half is mirrored, where v would round to 1.
    """
    low = np.minimum(theta, 0.5 * np.pi - theta)
    c, s = np.cos(low) ** exponent, np.sin(low) ** exponent
    phi = 0.5 * np.pi * betainc(1 / exponent, 1 / exponent, s / (c + s))
    return np.where(theta <= 0.25 * np.pi, phi, 0.5 * np.pi - phi)


def section_angle(phi: Array, exponent: float) -> Array:
    """The inverse of `disc_angle`, by Newton's method: the slope of phi is rho^2 over the mean square radius."""
    theta = np.linspace(0, 0.5 * np.pi, _QUARTER + 1)
    theta = np.interp(phi, disc_angle(theta, exponent), theta)
    square_radius = 4 * corner_share(exponent) / np.pi
    for _ in range(3):
        theta = theta - (disc_angle(theta, exponent) - phi) * square_radius / _rho(theta, exponent) ** 2
    return theta


@lru_cache(maxsize=8)
def round_section(exponent: float) -> Round:
    """Tables of a superellipse, made once. An infinite exponent is the sharp-cornered square."""
    theta = np.linspace(0, 0.5 * np.pi, _QUARTER, endpoint=False)
    back = _square_back(theta) if np.isinf(exponent) else section_angle(theta, exponent)
    ahead = (_square_there(theta) if np.isinf(exponent) else disc_angle(theta, exponent)) - theta
    outline = _rho(back, exponent)
    y, z = outline * np.cos(back), outline * np.sin(back)
    return Round(
        Around(np.tile(ahead, 4)),
        Around(np.tile(1 / _rho(theta, exponent), 4)),
        Around(np.r_[y, -z, -y, z]),
        Around(np.r_[z, y, -z, -y]),
    )


def _rho(theta: Array, exponent: float) -> Array:
    """Distance of the unit outline from the axis, first quarter."""
    c, s = np.abs(np.cos(theta)), np.abs(np.sin(theta))
    high = np.maximum(c, s)
    if np.isinf(exponent):
        return 1 / high
    return 1 / (high * (1 + (np.minimum(c, s) / high) ** exponent) ** (1 / exponent))


def _square_there(theta: Array) -> Array:
    """Disc angle of the unit square: areas of its sectors grow with the tangent up to the corner."""
    low = np.minimum(theta, 0.5 * np.pi - theta)
    phi = 0.25 * np.pi * np.tan(low)
    return np.where(theta <= 0.25 * np.pi, phi, 0.5 * np.pi - phi)


def _square_back(phi: Array) -> Array:
    low = np.minimum(phi, 0.5 * np.pi - phi)
    theta = np.arctan(low / (0.25 * np.pi))
    return np.where(phi <= 0.25 * np.pi, theta, 0.5 * np.pi - theta)


@dataclass(frozen=True)
class Wound(PointMap):
    """Each section turns about the axis, the metal moving along outlines of the section's own shape.

    half_width, half_thickness [m] and corner exponent of the section; `start` [m] where the angle is `ahead` [rad];
    `rates` [rad/m], one a part, and the `reversals` [m] between the parts, each eased over +-`ease` [m]. The angle
    grows right-handed about +x.
    """

    half_width: float
    half_thickness: float
    corner: float
    start: float
    rates: tuple[float, ...]
    reversals: tuple[float, ...] = ()
    ease: float = 0.0
    ahead: float = 0.0

    def angle(self, x: Array) -> Array:
        """Angle by which the section at x has turned [rad]."""
        real = x.dtype.type
        out = (x - real(self.start)) * real(self.rates[0]) + real(self.ahead)
        for at, before, after in zip(self.reversals, self.rates[:-1], self.rates[1:], strict=True):
            rise = np.clip(x - real(at - self.ease), 0, real(2 * self.ease))
            out = out + real(after - before) * (
                rise * rise * real(0.25 / self.ease) + np.maximum(x - real(at + self.ease), 0)
            )
        return out

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        return Pulled(x, *self._turned(y, z, -self.angle(x)))

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        return x, *self._turned(y, z, self.angle(x))

    def _turned(self, y: Array, z: Array, by: Array) -> tuple[Array, Array]:
        real = y.dtype.type
        tables = round_section(self.corner)
        u, v = y * real(1 / self.half_width), z * real(1 / self.half_thickness)
        theta = np.arctan2(v, u)
        out = np.hypot(u, v) * tables.inside(theta)
        phi = theta + tables.ahead(theta) + by
        return real(self.half_width) * out * tables.y(phi), real(self.half_thickness) * out * tables.z(phi)


@dataclass(frozen=True)
class Squared(PointMap):
    """A round-cornered section forged between flat dies to the rectangle of its area and proportions.

    Every upright column keeps its metal and becomes as high as the rectangle: smooth inside, exact, and strongest at
    the two sides. half_width, half_thickness [m] and corner of the round section.
    """

    half_width: float
    half_thickness: float
    corner: float
    keeps_order = True

    @cached_property
    def _shrink(self) -> float:
        """Half sizes of the rectangle over those of the round section."""
        return float(np.sqrt(corner_share(self.corner)))

    @cached_property
    def _columns(self) -> tuple[Curve, Curve]:
        """Over the place across the rectangle, 0 to 1: place across the round section, height of the column there."""
        n = self.corner
        after = np.linspace(0, 1, _COLUMNS + 1)
        power = betaincinv(1 / n, 1 + 1 / n, after)
        return Curve(0.0, 1.0, power ** (1 / n)), Curve(0.0, 1.0, (1 - power) ** (1 / n))

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        real = y.dtype.type
        place, high = self._columns
        u = np.abs(y) * real(1 / (self._shrink * self.half_width))
        return Pulled(x, np.copysign(place(u), y) * real(self.half_width), z * high(u) * real(1 / self._shrink))

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        n = self.corner
        power = np.clip(np.abs(y / self.half_width), 0, 1) ** n
        u = betainc(1 / n, 1 + 1 / n, power)
        return (
            x,
            np.copysign(u, y) * (self._shrink * self.half_width),
            z * self._shrink / np.maximum((1 - power) ** (1 / n), 1e-12),
        )


def square(bar: Bar, number: int = 0) -> Bar:
    """The bar with sharp corners, its section of the same area and proportions; a bar that has them already comes back
    as it is.
    """
    if np.isinf(bar.corner):
        return bar
    factor = float(np.sqrt(corner_share(bar.corner)))
    by = Squared(0.5 * bar.width, 0.5 * bar.thickness, bar.corner)
    return replace(
        bar,
        width=bar.width * factor,
        thickness=bar.thickness * factor,
        corner=float("inf"),
        material=worked(bar.material, by, number),
        mean_density=bar.mass / bar.volume,
    )


def mass_a_length(laminate: Laminate, width: float, exponent: float) -> float:
    """Mass of a length of a laminate cut to a superellipse of the same size, layer by layer [kg/m]."""
    n = exponent
    at = np.clip(2 * laminate.edges / laminate.total, -1, 1)
    below = np.copysign(betainc(1 / n, 1 + 1 / n, np.abs(at) ** n), at)
    area = 0.5 * np.diff(below) * width * laminate.total * corner_share(n)
    return float(area @ laminate.density)
