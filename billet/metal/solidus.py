"""Where steel begins to melt, and the line above which it begins to be damaged.

The red line is where damage starts, never a temperature to weld at. A stack is limited by its highest-carbon plate
until diffusion levels it; carbonaceous fill and copper alloys melt lower and have their own limit.
"""

from typing import Any

import numpy as np

from billet.metal.limits import Array, within
from billet.metal.sources import Source, cites

ALLOY_SHIFT = -20.0  # [K] for the manganese, silicon and phosphorus of common steel: computed -9 and -12 K
CHROMIUM_MAX = 3.0  # [wt%]
CARBON_LOW = 0.17  # [wt%] the peritectic: the fit meets it (1495 C) within 4 K; below, its value here is returned, low
CARBON_HIGH = 2.0  # [wt%]
RED_BELOW_SOLIDUS = 100.0  # [K] judgement: real bars burn below the solidus (sulphur, phosphorus, segregation, oxygen)
AMBER_BELOW_SOLIDUS = 150.0  # [K] judgement

FE_C_COMPUTED = Source("fe-c-melting", "solidus and liquidus of Fe-C, two open databases, 1 C apart", "computed")
MARGIN = Source("red-line-margin", "100 K below the solidus, amber from 150 K below", "judgement")


def _carbon(carbon: Any, chromium: Any) -> Array:
    """The carbon contents [wt%] the fits may be given; refused where they say nothing."""
    within(chromium, 0.0, CHROMIUM_MAX, "chromium [wt%]", "no solidus fit serves above 3 %, see the data sheet")
    C = within(carbon, 0.0, CARBON_HIGH, "carbon [wt%]", "the solidus was fitted to steel, up to 2.0 % C")
    return np.maximum(C, CARBON_LOW)


@cites(FE_C_COMPUTED)
def solidus(carbon: Any, chromium: Any = 0.0, alloy_shift: float = ALLOY_SHIFT) -> Array:
    """Temperature at which melting begins [K] for `carbon` [wt%], any shape.

    1519.6 - 163.5 C - 7.94 C^2 [C] for Fe-C, 0.4 to 2.0 % C (fit 1.1 K), plus `alloy_shift` [K]. It goes on to the
    peritectic (0.17 % C, 1495 C) within 4 K; below, the value there is returned, which is low. Either way 15 K. Raises OutsideRange above 2.0 % C or 3 % Cr. The linear
    casting formula is wrong by 230 K at 1 % C and is not used.
    """
    C = _carbon(carbon, chromium)
    return 1519.6 - 163.5 * C - 7.94 * C**2 + 273.15 + alloy_shift


@cites(FE_C_COMPUTED, MARGIN)
def red_line(carbon: Any, chromium: Any = 0.0, alloy_shift: float = ALLOY_SHIFT) -> float:
    """Where damage starts in a stack [K]: the least of (solidus - 100 K) over its plates' `carbon` [wt%], any shape.

    Never a welding temperature. The margin is judgement; either way 30 K.
    """
    return float(np.min(solidus(carbon, chromium, alloy_shift))) - RED_BELOW_SOLIDUS
