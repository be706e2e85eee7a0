"""Bulge: forge the bar so that its sides would barrel, then square it. The seed of W's.

The shape of real barrelling depends on dies, heat and friction; this is an adjustable likeness that keeps the volume.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from billet.bar.bar import Bar, worked
from billet.bar.maps import PointMap, Pulled
from billet.bar.outcome import Bench, Outcome
from billet.bar.trace import slope
from billet.base.messages import Note, note, refuse
from billet.forming.round_section import Wound
from billet.steps.warm import Warm

Array = NDArray[np.floating[Any]]

_SIDES = 1 + 1e-6  # points outside the section are taken to its side, since past it the flow runs away without bound
_NODES, _MANY, _TABLED = 1024, 20_000, 0.7  # of the table each way, points it is worth making for, and the strongest
_STEPS, _MORE_STEPS, _STRONG = 8, 16, 1.2


@dataclass(frozen=True)
class Barrelled(PointMap):
    """The flow of psi = a y (1 - 4 y^2/W^2) z (1 - 4 z^2/H^2) over one unit of time, v = (dpsi/dz, -dpsi/dy).

    width W, thickness H [m], amount a [1]. The four sides slide and stay. Integrated with Runge and Kutta's
    fourth-order rule in 8 steps, 16 when |a| > 1.2. Pictures (many points) look the way back up in
    a table of one quarter, straight between its nodes, up to an amount of 0.7: within 2 micrometres in a section of 40 mm.
    """

    width: float
    thickness: float
    amount: float

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        if abs(self.amount) <= _TABLED and max(y.size, z.size) > _MANY:
            return Pulled(x, *self._looked_up(y, z))
        return Pulled(x, *self._carried(y, z, -1.0))

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        return x, *self._carried(y, z, 1.0)

    def _looked_up(self, y: Array, z: Array) -> tuple[Array, Array]:
        """The way back from the table."""
        back, real = _way_back(self.amount), y.dtype.type
        u, v = np.broadcast_arrays(
            *(
                np.minimum(np.abs(a) * real(2 * _NODES / size), real(_NODES) * real(1 - 1e-6))
                for a, size in ((y, self.width), (z, self.thickness))
            )
        )
        i, j = u.astype(np.int32), v.astype(np.int32)
        f, g = u - i, v - j
        i *= _NODES + 1
        i += j
        out = []
        for table, half, side in zip(back, (0.5 * self.width, 0.5 * self.thickness), (y, z), strict=True):
            low, high, above, beside = (table.take(i + k).astype(real) for k in (0, 1, _NODES + 1, _NODES + 2))
            high -= low
            beside -= above
            low += g * high
            above += g * beside
            above -= low
            low += f * above
            low *= real(half)
            out.append(np.copysign(low, side))
        return out[0], out[1]

    def _carried(self, y: Array, z: Array, sense: float) -> tuple[Array, Array]:
        real = y.dtype.type
        steps = _MORE_STEPS if abs(self.amount) > _STRONG else _STEPS
        h = real(sense * self.amount / steps)
        u, v = np.broadcast_arrays(
            *(np.clip(a, -real(_SIDES), real(_SIDES)) for a in (y * real(2 / self.width), z * real(2 / self.thickness)))
        )
        half, third, sixth = real(0.5) * h, h / real(3), h / real(6)
        for _ in range(steps):
            a, b = _drift(u, v)
            c, d = _drift(u + half * a, v + half * b)
            e, f = _drift(u + half * c, v + half * d)
            g, i = _drift(u + h * e, v + h * f)
            u = u + (a + g) * sixth + (c + e) * third
            v = v + (b + i) * sixth + (d + f) * third
        return u * real(0.5 * self.width), v * real(0.5 * self.thickness)


@lru_cache(maxsize=8)
def _way_back(amount: float) -> tuple[Array, Array]:
    """u and v before, on even nodes over a quarter of the section; the others are its mirror images."""
    nodes = np.linspace(0.0, 1.0, _NODES + 1)
    found = Barrelled(2.0, 2.0, amount)._carried(nodes[:, None], nodes[None, :], -1.0)
    return found[0].astype(np.float32).ravel(), found[1].astype(np.float32).ravel()


def _drift(u: Array, v: Array) -> tuple[Array, Array]:
    """Velocity over half the size, for a = 1, at u = 2y/W, v = 2z/H."""
    uu, vv = u * u, v * v
    return u * (1 - uu) * (1 - 3 * vv), (3 * uu - 1) * v * (1 - vv)


class Bulge(Warm):
    """Barrel the layers; the outside stays square. The layers should stand on edge: `roll` first.

    section = "bias" first squares the bar on its other diagonal: the corners are pushed in and the section turns by an
    eighth.
    """

    do: Literal["bulge"] = "bulge"
    amount: float = Field(
        ge=-2.5,
        le=2.5,
        description="How strongly the layers are barrelled: 0 not at all, 1 strongly, negative hollows them, -2.5 to 2.5; example 0.8.",
    )
    section: Literal["flat", "bias"] = Field(
        "flat",
        description='How the bar lies: flat on its face, or on the bias, squared on its other diagonal first. Default "flat"; example "bias".',
    )

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        if np.isfinite(bar.corner):
            raise refuse("the bar's corners are round; draw it square before its sides are barrelled")
        bar, lost = self.heated(bar, bench)
        notes = _lying(bar) if self.section == "flat" else ()
        material = bar.material
        if self.section == "bias":
            material = worked(material, on_the_bias(bar.width, bar.thickness), bench.number)
        material = worked(material, Barrelled(bar.width, bar.thickness, self.amount), bench.number)
        return Outcome(replace(bar, material=material, mean_density=bar.mass / bar.volume), lost, notes=notes)


def on_the_bias(width: float, thickness: float) -> Wound:
    """A rectangular section turned by an eighth inside its own outline; the creases of the corners stay as kinks on the
    diagonals.
    """
    return Wound(0.5 * width, 0.5 * thickness, float("inf"), 0.0, (0.0,), ahead=0.25 * np.pi)


def _lying(bar: Bar) -> tuple[Note, ...]:
    """Warn when the layers lie flat: barrelling then only thins and thickens them."""
    if bar.laminate is None:
        points = np.array([[0.0], [0.05], [0.05]]) * np.array([[bar.length], [bar.width], [bar.thickness]])
        _, across, through = np.abs(slope(bar.material, points).gradient[:, 0])
        if across >= through:
            return ()
    return (
        note(
            "the layers lie flat, and barrelled sides make W's only of layers that stand on edge; turn the bar by "
            "a quarter first"
        ),
    )
