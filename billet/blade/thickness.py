"""The thickness of the spine from heel to point."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Taper:
    """Spine thickness through heel, middle, a station before the point, and the point itself [m].

    A monotone cubic (Fritsch and Carlson's scheme, as scipy has it) passes through all four without overshoot.
    """

    heel: float
    middle: float
    tip: float
    end: float
    tip_at: float
    length: float

    def __call__(self, x: ArrayLike) -> Array:
        """Return the thickness at x [m]; beyond heel and point the last value is held."""
        return np.asarray(_curve(self)(np.clip(x, 0.0, self.length)), dtype=np.float64)

    @property
    def stations(self) -> tuple[float, ...]:
        """Return where heel, middle, tip and point lie [m]."""
        return (0.0, self.length / 2, self.length - self.tip_at, self.length)


@lru_cache(maxsize=64)
def _curve(taper: Taper) -> PchipInterpolator:
    """Return the interpolator of a taper."""
    return PchipInterpolator(taper.stations, (taper.heel, taper.middle, taper.tip, taper.end))


def point_thickness(
    taper: tuple[float, float, float], edge: float, tip_at: float, length: float, closing: float
) -> float:
    """Return the spine thickness at the very point [m].

    The taper between middle and tip station runs on, yet never below the edge; where the outline closes, the spine
    comes down to the edge with it, so that the bevel keeps its angle. ``closing`` is the height at the point over the
    height at the tip station: 0 for a sharp point, near 1 for a square end.
    """
    _, middle, tip = taper
    run_on = tip - (middle - tip) * tip_at / (length / 2 - tip_at)
    closed = edge + (tip - edge) * min(1.0, closing)
    return max(edge, min(run_on, closed))
