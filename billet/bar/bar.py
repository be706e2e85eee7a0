"""A bar: its size, what it is made of, and the tree that says where its metal came from.

The material of a bar is `Laminar` (flat layers, all known through the thickness), `Worked` (a map over an earlier
material) or `Joined` (bars welded together side by side or on one another).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import exp, lgamma
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from billet.bar.decarb_layer import Buried, Skins
from billet.bar.hand import Waves
from billet.bar.laminate import Laminate
from billet.bar.maps import Affine, PointMap
from billet.bar.profile import Profile

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Laminar:
    """Flat layers: the height of a point in the laminate decides everything. `waves`: what hands left in them."""

    laminate: Laminate
    waves: Waves = ()


@dataclass(frozen=True, eq=False)
class Worked:
    """A material after one more step: `map` takes points back to `parent`; `step` is the number of the step in the whole recipe.

    `buried`: the skins in the welds of this step, lowest first, where it laid pieces on one another.
    """

    parent: Material
    map: PointMap
    step: int = 0
    buried: tuple[Buried, ...] = ()


@dataclass(frozen=True, eq=False)
class Joined:
    """Materials lying next to one another along `axis` ("y" side by side, "z" on one another).

    faces (parts + 1,) [m] are the boundaries in this bar's frame; part k is asked in its own frame, whose centre lies in
    the middle of its faces. `buried`: the skins in the welds between them, lowest first.
    """

    parts: tuple[Material, ...]
    axis: Literal["y", "z"]
    faces: tuple[float, ...]
    step: int = 0
    buried: tuple[Buried, ...] = ()


Material = Laminar | Worked | Joined


def leaves(material: Material) -> Iterator[Laminate]:
    """The laminates a material is made of, in the order in which tracing numbers them."""
    if isinstance(material, Laminar):
        yield material.laminate
    elif isinstance(material, Worked):
        yield from leaves(material.parent)
    else:
        for part in material.parts:
            yield from leaves(part)


def rebuilt(
    material: Material, leaf: Callable[[Laminate], Laminate], seams: Callable[[Worked | Joined], tuple[Buried, ...]]
) -> Material:
    """The same tree with other leaves and other buried skins."""
    if isinstance(material, Laminar):
        return replace(material, laminate=leaf(material.laminate))
    under = seams(material)
    if isinstance(material, Worked):
        return replace(material, parent=rebuilt(material.parent, leaf, seams), buried=under)
    return replace(material, parts=tuple(rebuilt(part, leaf, seams) for part in material.parts), buried=under)


def worked(parent: Material, by: PointMap, step: int = 0) -> Material:
    """Put a map over a material; two affine maps in a row become one."""
    if isinstance(by, Affine) and isinstance(parent, Worked) and type(parent.map) is Affine:
        return replace(parent, map=by.after(parent.map))
    return Worked(parent, by, step)


def corner_share(exponent: float) -> float:
    """Area of the superellipse |y/a|^n + |z/b|^n = 1 as a share of its rectangle: 1 for sharp corners, pi/4 for round.

    Gamma(1 + 1/n)^2 / Gamma(1 + 2/n), exact. Raises ValueError below 1.
    """
    if exponent < 1:
        raise ValueError("a section's corner exponent is at least 1")
    if np.isinf(exponent):
        return 1.0
    return exp(2 * lgamma(1 + 1 / exponent) - lgamma(1 + 2 / exponent))


_SHARP = 1e3  # section exponents from here on are sharp corners


@dataclass(frozen=True, eq=False)
class Bar:
    """A bar, cold: length along x, width along y, thickness along z [m], its material, and what the trade counts.

    layers_counted: plates times pieces, never falling. corner: exponent of the superellipse section, infinity for sharp
    corners. welded: False after a stack, restack, fold or join until the weld. skins: what has burnt out under the faces
    since the bar was first worked; a laminar bar has that in its laminate. profile: the sections of a bar that is drawn out
    in part; its sizes are then those of the box round it.
    """

    name: str
    length: float
    width: float
    thickness: float
    material: Material
    layers_counted: int
    welded: bool
    mean_density: float
    corner: float = float("inf")
    skins: Skins = field(default_factory=Skins)
    profile: Profile | None = None

    @property
    def waves(self) -> Waves:
        """What hands left in the layers of a laminar bar."""
        return self.material.waves if isinstance(self.material, Laminar) else ()

    @property
    def is_round(self) -> bool:
        """Whether the section's corners are broken or round, as a twist leaves them."""
        return self.corner < _SHARP

    @property
    def laminate(self) -> Laminate | None:
        """The laminate when the bar is still laminar, else None."""
        return self.material.laminate if isinstance(self.material, Laminar) else None

    @cached_property
    def area(self) -> float:
        """Section across the length [m2]."""
        return self.width * self.thickness * corner_share(self.corner)

    @property
    def volume(self) -> float:
        """Volume of the metal [m3]."""
        return self.area * self.length if self.profile is None else self.profile.volume

    @property
    def mass(self) -> float:
        """Mass [kg], from the laminate when the bar has one."""
        if self.laminate is not None:
            return self.laminate.areal_mass * self.width * self.length * corner_share(self.corner)
        return self.volume * self.mean_density

    @cached_property
    def leaves(self) -> tuple[Laminate, ...]:
        """The laminates the bar is made of, in tracing order."""
        return tuple(leaves(self.material))

    def contains(self, points: Array) -> NDArray[np.bool_]:
        """Which points (3, n) [m] lie in the bar's metal."""
        if self.profile is not None:
            return self.profile.contains(points)
        u, v, w = (2 * np.abs(p) / s for p, s in zip(points, (self.length, self.width, self.thickness), strict=True))
        if np.isinf(self.corner):
            return (u <= 1) & (v <= 1) & (w <= 1)
        return (u <= 1) & (v**self.corner + w**self.corner <= 1)


def laminar_bar(
    name: str, length: float, width: float, laminate: Laminate, layers_counted: int, *, welded: bool
) -> Bar:
    """A bar of flat layers [m]."""
    density = laminate.areal_mass / laminate.total
    return Bar(name, length, width, laminate.total, Laminar(laminate), layers_counted, welded, density)
