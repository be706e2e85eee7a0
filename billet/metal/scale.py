"""Metal lost as scale: parabolic in time, and the parabola restarts whenever the scale comes off.

N heats of time t so cost N sqrt(k t), sqrt(N) times one long heat. For pure iron in free air, an upper estimate.
"""

from typing import Any

import numpy as np

from billet.metal.carbon_diffusion import R
from billet.metal.limits import Array, within
from billet.metal.sources import Source, cites

SCALE_D0 = 6.1e-4  # [m2/s]
SCALE_Q = 169452.0  # [J/mol]
RECESSION_RATIO = 0.56  # metal thickness lost over thickness of dense scale; 0.5 for porous scale
ROOM_K = 293.15  # [K] where a heating-up begins

# Loss over that of the table: a setting of the shop, judgement rather than data. The record of the bench replaces it.
OXIDISING = 1.0
NEUTRAL = 0.5
RICH = 0.25

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)

PAIDASSI_1958 = Source(
    "paidassi1958",
    "J. Paidassi 1958, as given in R. Y. Chen and W. Y. D. Yuen, Oxidation of Metals 59 (2003) 433",
    "from memory",
)
ATMOSPHERE = Source("atmosphere", "share of the scale in neutral and rich forges", "judgement")


@cites(PAIDASSI_1958)
def parabolic_constant(temperature_K: Any) -> Array:
    """kx [m2/s] of the total scale thickness in air, thickness^2 = kx t, at `temperature_K` [K], any shape.

    kx = 6.1e-4 exp(-169452/RT), 700 to 1250 C; extrapolated elsewhere (below, there is next to none). A factor 2 either
    way.
    """
    return SCALE_D0 * np.exp(-SCALE_Q / (R * np.asarray(temperature_K, dtype=float)))


@cites(PAIDASSI_1958)
def heating_up_integral(temperature_K: Any, heat_up_seconds: Any) -> Array:
    """The integral of kx dt [m2] over a linear rise from 20 C to `temperature_K` [K] in `heat_up_seconds` [s].

    By 32 Gauss-Legendre points, exact to about 1e-8 for this smooth Arrhenius rise.
    """
    top = np.asarray(temperature_K, dtype=float)[..., np.newaxis]
    on_the_way = ROOM_K + (top - ROOM_K) * 0.5 * (1.0 + _NODES)
    return np.asarray(heat_up_seconds, dtype=float) * 0.5 * (parabolic_constant(on_the_way) @ _WEIGHTS)


@cites(PAIDASSI_1958, ATMOSPHERE)
def metal_loss(
    temperature_K: Any, seconds: Any, atmosphere_factor: Any = OXIDISING, heat_up_seconds: Any = 0.0
) -> Array:
    """Metal lost per face in one heat that starts descaled [m], all arguments broadcasting.

    atmosphere_factor 0.56 sqrt(kx seconds + integral of kx over the heating-up). `temperature_K` [K]; `seconds` [s] at
    heat; `heat_up_seconds` [s] to get there; `atmosphere_factor` 1.0 oxidising, 0.5 neutral, 0.25 rich (judgement). In
    air either way 40 %; in a gas forge a factor 3. Raises OutsideRange for negative times or factors.
    """
    soak = within(seconds, 0.0, np.inf, "the time at heat [s]", "time does not run backwards")
    rise = within(heat_up_seconds, 0.0, np.inf, "the time to heat up [s]", "time does not run backwards")
    share = within(atmosphere_factor, 0.0, np.inf, "the atmosphere factor", "scale takes metal away, it adds none")
    grown = parabolic_constant(temperature_K) * soak + heating_up_integral(temperature_K, rise)
    return share * RECESSION_RATIO * np.sqrt(grown)
