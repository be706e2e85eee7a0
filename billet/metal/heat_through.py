"""How long a bar takes to come up to heat through its thickness: the furnace limits it, not the steel."""

from collections.abc import Callable
from typing import Any

import numpy as np

from billet.metal.constants import STEFAN_BOLTZMANN
from billet.metal.limits import Array, Range, within
from billet.metal.sources import Source, cites

EN_1993_1_2_THERMAL = Source(
    "en1993-1-2-thermal", "EN 1993-1-2, 3.4.1: conductivity and specific heat of carbon steel", "verified"
)
SLAB_MODEL = Source("slab-model", "radiation-limited slab in a furnace of 1250 C, emissivity 0.8", "computed")

MINUTES_PER_MM = 0.3  # to 1150 C in a furnace of 1250 C, both faces heated
RULE_EITHER_WAY = 0.4  # share of the result
CORE_LEVEL_FO = 1.964  # Fourier number on the half thickness at which the centre has made 99 % of a step of the face
DENSITY = 7850.0  # [kg/m3], mass is conserved on heating, so the cold density goes with the cold thickness
EMISSIVITY = 0.8
CONVECTION = 20.0  # [W/(m2 K)]
FURNACE_K = 1523.15  # [K] 1250 C
_CP_BREAKS_C = (20.0, 600.0, 735.0, 900.0)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


@cites(EN_1993_1_2_THERMAL)
def specific_heat(temperature_K: Any) -> Array:
    """Specific heat of carbon steel [J/(kg K)] at `temperature_K` [K], with the standard's peak at 735 C."""
    TC = np.asarray(temperature_K, dtype=float) - 273.15
    below = 425.0 + 0.773 * TC - 1.69e-3 * TC**2 + 2.22e-6 * TC**3
    rising = 666.0 + 13002.0 / (738.0 - np.minimum(TC, 735.0))
    falling = 545.0 + 17820.0 / (np.maximum(TC, 735.0) - 731.0)
    return np.select([TC < 600.0, TC < 735.0, TC < 900.0], [below, rising, falling], 650.0)


@cites(SLAB_MODEL)
def likely_seconds(thickness: Any, faces_heated: int = 2) -> Any:
    """Likely time [s] from cold to about 1150 C at the core of a solid bar of `thickness` [m], float or array: 0.3 min
    per mm with both faces heated.
    """
    return MINUTES_PER_MM * 60.0 * 1e3 * thickness * (2.0 / faces_heated)


@cites(SLAB_MODEL)
def heat_through(thickness: float, faces_heated: int = 2) -> Range:
    """Time [s] from cold to about 1150 C at the core of a solid bar of `thickness` [m] in a furnace of 1250 C.

    0.3 min per mm with both faces heated, double with one (lying on the floor); either way 40 %. An unwelded stack
    takes longer (air gaps, flux). Raises OutsideRange unless one or two faces are heated.
    """
    within(faces_heated, 1, 2, "the number of faces heated", "a bar in the fire is heated from one or both faces")
    likely = float(likely_seconds(thickness, faces_heated))
    return Range(likely * (1.0 - RULE_EITHER_WAY), likely, likely * (1.0 + RULE_EITHER_WAY))


@cites(EN_1993_1_2_THERMAL, SLAB_MODEL)
def share_of_rise(temperature_K: float, rate: Callable[[Array], Array]) -> float:
    """Time at heat that does as much as the heating-up, over the time of the heating-up [1]; 0 to 1, whatever the thickness.

    Integral of rate(T)/rate(Tmax) w dT over integral of w dT from 20 C, w = cp / (flux into the bar): the bar lingers near
    its heat, where most happens. `rate` gives what is counted (a diffusivity, an oxidation constant) at temperatures [K].
    Furnace of 1250 C, or 50 K above `temperature_K` [K] where that is more. For carbon about an eighth at 1100 C and a
    fifth at 1200 C. The face runs hotter than the core by up to 30 K: a third more there, left out.
    """
    T, weights = _rise(temperature_K, max(FURNACE_K, temperature_K + 50.0))
    done = rate(T) / rate(np.array([temperature_K]))
    return float(np.sum(weights * done) / np.sum(weights))


@cites(EN_1993_1_2_THERMAL, SLAB_MODEL)
def radiation_limited_seconds(thickness: float, furnace_K: float, to_K: float) -> float:
    """Time [s] from 20 C to `to_K` [K] of a bar of `thickness` [m], both faces exposed to walls and gas of `furnace_K`
    [K].

    t = (rho thickness/2) integral of cp dT / (eps sigma (Tf^4 - T^4) + h (Tf - T)), the bar at one temperature
    throughout (its core lags by 5 to 30 K up to 75 mm). Either way 40 %. Raises OutsideRange unless the furnace is
    hotter than `to_K`.
    """
    within(to_K, 293.15, furnace_K - 1.0, "the temperature to reach [K]", "a bar gets no hotter than its furnace")
    return float(0.5 * DENSITY * thickness * np.sum(_rise(to_K, furnace_K)[1]))


def _rise(to_K: float, furnace_K: float) -> tuple[Array, Array]:
    """Temperatures [K] on the way from 20 C to `to_K` [K] and the weight cp dT / flux of each [J/kg per W/m2]."""
    breaks = np.unique(np.clip(np.array([*_CP_BREAKS_C, to_K - 273.15]), None, to_K - 273.15)) + 273.15
    half = 0.5 * np.diff(breaks)[:, np.newaxis]
    T = breaks[:-1, np.newaxis] + half * (1.0 + _NODES)
    flux = EMISSIVITY * STEFAN_BOLTZMANN * (furnace_K**4 - T**4) + CONVECTION * (furnace_K - T)
    return T.ravel(), (half * _WEIGHTS * specific_heat(T) / flux).ravel()
