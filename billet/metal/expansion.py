"""Hot sizes against cold sizes, and the density that goes with them."""

from typing import Any

import numpy as np

from billet.metal.limits import Array, within
from billet.metal.sources import Source, cites

EN_1993_1_2 = Source("en1993-1-2", "EN 1993-1-2, 3.4.1.1, equations 3.1a to 3.1c", "verified")
COLD_DENSITY = (
    7850.0  # [kg/m3] carbon steel, EN 1993-1-2; plates differ by less than 0.5 % but wrought iron is about 7700
)


@cites(EN_1993_1_2)
def elongation(temperature_K: Any) -> Array:
    """Relative elongation of carbon steel from 20 C [1] at `temperature_K` [K], any shape.

    1.2e-5 TC + 0.4e-8 TC^2 - 2.416e-4 to 750 C, 1.1e-2 to 860 C, 2e-5 TC - 6.2e-3 above; the standard stops at 1200 C,
    the last line is continued to 1400 C. Its step of 8e-6 at 750 C is real. Either way 0.1 % absolute. Raises
    OutsideRange elsewhere.
    """
    T = within(
        temperature_K, 253.15, 1673.15, "the temperature [K]", "the standard's elongation runs from 20 C to 1200 C"
    )
    TC = T - 273.15
    return np.where(
        TC < 750.0, 1.2e-5 * TC + 0.4e-8 * TC**2 - 2.416e-4, np.where(TC <= 860.0, 1.1e-2, 2e-5 * TC - 6.2e-3)
    )


@cites(EN_1993_1_2)
def density(temperature_K: Any, cold_density: Any = COLD_DENSITY) -> Array:
    """Density [kg/m3] at `temperature_K` [K] of steel that has `cold_density` [kg/m3] at 20 C. Either way 0.6 %."""
    return np.asarray(cold_density, dtype=float) / (1.0 + elongation(temperature_K)) ** 3
