"""The way the blade thickens towards the block behind it: plunge, or bolster transition."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.blade.design import BladeDesign

Array = NDArray[np.float64]


def cove(distance: ArrayLike, rise: ArrayLike, wheel: float) -> Array:
    """Return how far a face stands off its own line [m] at a distance [m] from a block that stands `rise` higher.

    The arc of a wheel (diameter [m]) runs out level on the face and meets the block: with R half the wheel, its reach
    is sqrt(2 R rise - rise^2), and R where the block is higher than R; then a step is left. Plane geometry.
    """
    R = wheel / 2
    h = np.maximum(np.asarray(rise, dtype=float), 0.0)
    reach = reach_of(h, wheel)
    short = np.clip(reach - np.asarray(distance, dtype=float), 0.0, reach)
    return np.asarray(R - np.sqrt(R**2 - short**2), dtype=np.float64)


def reach_of(rise: ArrayLike, wheel: float) -> Array:
    """Return how far from the block the arc of a wheel begins [m]."""
    h = np.minimum(np.asarray(rise, dtype=float), wheel / 2)
    return np.asarray(np.sqrt(np.maximum(wheel * h - h**2, 0.0)), dtype=np.float64)


@dataclass(frozen=True)
class Front:
    """The block behind the blade: where its front stands, its half thickness, its lower and upper side [m]."""

    x: float
    half: float
    low: float
    high: float


def front_of(design: BladeDesign, heel_spine: float, spine_y: float) -> Front | None:
    """Return the block the blade thickens towards: the bolster, or the unground ricasso behind a plunge line."""
    if design.bolster is not None:
        top = spine_y
        return Front(-design.heel.choil, design.bolster.thickness / 2, top - design.bolster.width, top)
    if design.plunge is not None:
        return Front(design.plunge.at, heel_spine / 2, -np.inf, np.inf)
    return None


def flare(front: Front, wheel: float, x: Array, y: Array, half: Array) -> Array:
    """Return what the transition adds to a face that stands `half` from the mid-plane [m]."""
    away = np.hypot(np.maximum(x - front.x, 0.0), np.maximum(front.low - y, 0.0))
    return cove(away, front.half - half, wheel)
