"""How long a quenched blade takes to fall through a span of temperatures in still air."""

from __future__ import annotations

import numpy as np

from billet.metal.constants import STEFAN_BOLTZMANN
from billet.metal.heat_through import DENSITY, EMISSIVITY, EN_1993_1_2_THERMAL, specific_heat
from billet.metal.limits import within
from billet.metal.sources import Source, cites

STILL_AIR = 8.0  # [W/(m2 K)] a plate hanging in still air, from memory
ROOM_K = 293.15

AIR_COOLING = Source(
    "air-cooling",
    "a plate at one temperature throughout, cooling by radiation (emissivity 0.8) and still air (8 W/m2 K)",
    "computed",
)
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


@cites(EN_1993_1_2_THERMAL, AIR_COOLING)
def still_air_seconds(thickness: float, from_K: float, to_K: float) -> float:
    """Time [s] that a plate of `thickness` [m] takes in still air from one temperature [K] down to another, both faces bare.

    t = (rho thickness/2) integral of cp dT / (eps sigma (T^4 - Tr^4) + h (T - Tr)), Tr 20 C. Below 700 C, where no heat
    of transformation hides in cp; that of martensite is left out, so the true time is a little longer. Either way 40 %
    (draughts, oil on the faces). Raises OutsideRange unless room < to <= from <= 700 C.
    """
    within(from_K, to_K, 973.15, "the temperature to cool from [K]", "above 700 C the steel gives off heat of its own")
    within(to_K, ROOM_K + 1.0, from_K, "the temperature to cool to [K]", "nothing cools below the room")
    half = 0.5 * (from_K - to_K)
    T = to_K + half * (1.0 + _NODES)
    flux = EMISSIVITY * STEFAN_BOLTZMANN * (T**4 - ROOM_K**4) + STILL_AIR * (T - ROOM_K)
    return float(0.5 * DENSITY * thickness * half * np.sum(_WEIGHTS * specific_heat(T) / flux))
