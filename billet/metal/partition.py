"""Where carbon rests when it has levelled: at equal activity, not at equal content.

Silicon pushes carbon out of a layer, chromium draws it in. The alloy factor Gamma is the carbon content of plain iron
that has the same activity, over the layer's own: two layers are level when C Gamma is equal. Carbon then flows down the
gradient of C Gamma,

    J = -(D/Gamma) d(C Gamma)/dx,

which is Fick's law inside a layer, conserves carbon, and ends at C Gamma uniform (`billet.metal.solve` integrates it).
"""

from typing import Any

import numpy as np

from billet.metal.limits import ELEMENTS, Array, OutsideRange, analysis, weight_percent
from billet.metal.sources import Source, cites

ALLOY_MAX = 3.0  # [wt%] all elements but carbon together; 36 % nickel would return a factor of 3.2, nonsense
GUNNARSON = weight_percent(Si=0.055, Mn=-0.013, Cr=-0.040, Ni=0.014, Mo=-0.013)  # slopes of log10 Gamma [1/wt%]
_ALLOY = slice(1, len(ELEMENTS))

GUNNARSON_1967 = Source("gunnarson1967", "S. Gunnarson, Haerterei-Technische Mitteilungen 22 (1967) 293", "from memory")
_CROSS_CHECK = Source(
    "alloy-factor-calphad", "alloy factors recalculated with an open steel database, 925 and 1150 C", "computed"
)


@cites(GUNNARSON_1967, _CROSS_CHECK)
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


@cites(GUNNARSON_1967)
def capped_alloy_factor(composition: Any) -> Array:
    """Gamma [1] as `alloy_factor_gunnarson_1967`, but more than 3 % alloy is scaled down to 3 % instead of refused.

    A guess for high-alloy layers, so that a stack with a nickel or stainless plate can be followed at all; the size of
    the carbon jump at such a layer is not to be trusted.
    """
    steel = analysis(composition)
    alloy = steel[..., _ALLOY].sum(axis=-1)
    return 10.0 ** ((steel @ GUNNARSON) * (ALLOY_MAX / np.maximum(alloy, ALLOY_MAX)))


@cites(GUNNARSON_1967)
def split_at_equal_activity(share: Any, alloy_factor: Any, mean_carbon: float) -> Array:
    """Carbon [wt%] of each layer, shape (n,), once C Gamma is equal and the mean is `mean_carbon` [wt%].

    `share` mass of each layer, any unit, shape (n,); `alloy_factor` Gamma of each, shape (n,).
    """
    share = np.asarray(share, dtype=float)
    inverse = 1.0 / np.asarray(alloy_factor, dtype=float)
    return inverse * (mean_carbon * share.sum() / (share @ inverse))
