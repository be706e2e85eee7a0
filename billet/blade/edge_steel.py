"""What the cutting edge is made of: the steels and the carbon of the metal that the bevels leave at the edge line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.carbon_remaining import composition_at
from billet.bar.trace import cell_of, trace
from billet.blade.geometry import Blade
from billet.blade.lying import lying
from billet.steel.library import ELEMENTS

Array = NDArray[np.float64]

BAND = 0.8e-3  # [m] metal at the edge where no blade is designed: a usual edge at hardening; common practice, no source
_CARBON = ELEMENTS.index("C")
_ALONG, _ACROSS, _THROUGH = 25, 9, 41  # samples along the blade, over the bar's width, through the edge
_INSIDE = 0.05  # share of the blade's length left out at heel and point


@dataclass(frozen=True)
class EdgeSteel:
    """The metal at the edge: its steels by share, most first, and its mean carbon [wt%]; fine layers that cross the
    edge are meant together, as an edge of them cuts together.
    """

    steels: tuple[str, ...]
    carbon: float


def edge_steel(bar: Bar, blade: Blade | None = None) -> EdgeSteel:
    """What the edge of a blade ground from a bar is made of; without a blade, what lies about the bar's mid-plane.

    The edge is as thick as at hardening and lies where the blade is placed in the bar.
    """
    points = _points(bar, blade)
    points = points[:, bar.contains(points)]
    return EdgeSteel(_steels(bar, points), float(composition_at(bar, points)[:, _CARBON].mean()))


def _points(bar: Bar, blade: Blade | None) -> Array:
    """Points (3, n) [m] of the edge, in the bar's frame; never beyond the bar's faces."""
    offset, thick = (0.0, BAND) if blade is None else (blade.design.offset, blade.design.edge.at("hardening"))
    half = 0.5 * min(thick, bar.thickness) * (1 - 1 / _THROUGH)
    z = np.clip(offset + np.linspace(-half, half, _THROUGH), -0.499 * bar.thickness, 0.499 * bar.thickness)
    if blade is None:
        x, y = np.meshgrid(
            0.45 * bar.length * np.linspace(-1, 1, _ALONG), 0.45 * bar.width * np.linspace(-1, 1, _ACROSS)
        )
    else:
        at = lying(blade, bar)
        along = blade.length * np.linspace(_INSIDE, 1 - _INSIDE, _ALONG)
        x, y = along + at.heel_x, blade.edge_y(along) + at.edge_y
        x, y = (np.clip(v, -0.499 * s, 0.499 * s) for v, s in ((x, bar.length), (y, bar.width)))
    places = np.stack([x.ravel(), y.ravel()])
    shape = (places.shape[1], len(z))
    return np.stack([*(np.broadcast_to(v[:, None], shape).ravel() for v in places), np.broadcast_to(z, shape).ravel()])


def _steels(bar: Bar, points: Array) -> tuple[str, ...]:
    """Names of the steels at points (3, n) [m], the most frequent first."""
    n = points.shape[1]
    sample = trace(bar.material, points[0], points[1], points[2])
    leaf, z = np.broadcast_to(sample.leaf, n), np.broadcast_to(sample.z, n)
    count: dict[str, int] = {}
    for k, lam in enumerate(bar.leaves):
        for index, times in zip(*np.unique(lam.steel[cell_of(lam, z[leaf == k])], return_counts=True), strict=True):
            count[lam.steels[index].name] = count.get(lam.steels[index].name, 0) + int(times)
    return tuple(sorted(count, key=lambda name: -count[name]))
