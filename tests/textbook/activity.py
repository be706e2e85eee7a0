"""Carbon at equal activity in low-alloy austenite: Gunnarson, Haerterei-Technische Mitteilungen 22 (1967) 293, from memory."""

from typing import Any

import numpy as np

from billet.metal.limits import ELEMENTS, Array, OutsideRange, analysis
from billet.metal.partition import ALLOY_MAX, GUNNARSON

_ALLOY = slice(1, len(ELEMENTS))


def alloy_factor_gunnarson_1967(composition: Any) -> Array:
    """Gamma [1], shape (...), of low-alloy austenite with `composition` [wt%], shape (..., 11).

    log10 Gamma = 0.055 Si - 0.013 Mn - 0.040 Cr + 0.014 Ni - 0.013 Mo. About 925 C, up to 3 % alloy in all: raises
    OutsideRange beyond. Either way 30 % of log10 Gamma (nickel a factor 2, but small); at welding heat 12 to 38 % too
    strong.
    """
    steel = analysis(composition)
    alloy = steel[..., _ALLOY].sum(axis=-1)
    if np.any(alloy > ALLOY_MAX):
        raise OutsideRange(
            f"the steel holds {float(np.max(alloy)):.3g} % alloy, but the alloy factor of carbon serves only to "
            f"{ALLOY_MAX:g} %: it was fitted to low-alloy steel"
        )
    return 10.0 ** (steel @ GUNNARSON)


def split_at_equal_activity(share: Any, alloy_factor: Any, mean_carbon: float) -> Array:
    """Carbon [wt%] of each layer, shape (n,), once C Gamma is equal and the mean is `mean_carbon` [wt%].

    `share` mass of each layer, any unit, shape (n,); `alloy_factor` Gamma of each, shape (n,).
    """
    share = np.asarray(share, dtype=float)
    inverse = 1.0 / np.asarray(alloy_factor, dtype=float)
    return inverse * (mean_carbon * share.sum() / (share @ inverse))
