"""The thickness of the spine from heel to point."""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.base.hermite import Hermite, hermite, through

Array = NDArray[np.float64]

_EASED = (
    0.8  # of the mean slope between middle and tip: no more is fallen at the middle, so that the rest can round over
)


class _Rounded(NamedTuple):
    """Ahead of the middle the spine loses `straight` v + `round` v^`power` [m], v from 0 at the middle to 1 at the
    point.
    """

    straight: float
    round: float
    power: float


@dataclass(frozen=True)
class Taper:
    """Spine thickness through heel, middle, a station before the point, and the point itself [m].

    Where the spine comes down faster at the point than before it, as on any pointed blade, it rounds over in one sweep
    from the middle on: slope and curvature run through the station without a step. Else a monotone cubic (Fritsch and
    Carlson's scheme, as scipy has it) passes through all four. Neither overshoots.
    """

    heel: float
    middle: float
    tip: float
    end: float
    tip_at: float
    length: float

    def __call__(self, x: ArrayLike) -> Array:
        """Return the thickness at x [m]; beyond heel and point the last value is held."""
        at = np.clip(x, 0.0, self.length)
        behind, ahead = _curve(self)
        if ahead is None:
            return np.asarray(behind(at), dtype=np.float64)
        half = self.length / 2
        v = np.maximum(at / half - 1, 0.0)
        fallen = ahead.straight * v + ahead.round * v**ahead.power
        return np.asarray(behind(np.minimum(at, half)) - fallen, dtype=np.float64)

    @property
    def stations(self) -> tuple[float, ...]:
        """Return where heel, middle, tip and point lie [m]."""
        return (0.0, self.length / 2, self.length - self.tip_at, self.length)


@lru_cache(maxsize=64)
def _curve(taper: Taper) -> tuple[Hermite, _Rounded | None]:
    """Return the curve behind the middle and what is lost ahead of it; or one curve for all, and None."""
    smooth = through(taper.stations, (taper.heel, taper.middle, taper.tip, taper.end))
    half, place = taper.length / 2, 1 - 2 * taper.tip_at / taper.length
    to_tip, to_end = taper.middle - taper.tip, taper.middle - taper.end
    if min(to_tip, taper.heel - taper.middle) < 0 or to_end * place <= to_tip:
        return smooth, None
    at_middle = min(max(-float(smooth(half, 1)), 0.0), _EASED * to_tip / (place * half))
    straight = at_middle * half
    rounded = to_end - straight
    if to_tip - straight * place <= 0:
        return smooth, None
    power = np.log((to_tip - straight * place) / rounded) / np.log(place)
    slopes = (float(smooth(0.0, 1)), -at_middle)
    behind = hermite((0.0, half), (taper.heel, taper.middle), slopes)
    return behind, _Rounded(straight, rounded, float(power))


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
