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
NICKEL_BEYOND = 0.007  # slope of log10 Gamma [1/wt%] of nickel beyond ALLOY_MAX, see `rich_alloy_log`
GUNNARSON = weight_percent(Si=0.055, Mn=-0.013, Cr=-0.040, Ni=0.014, Mo=-0.013)  # slopes of log10 Gamma [1/wt%]
_ALLOY = slice(1, len(ELEMENTS))
_CHROMIUM, _NICKEL = ELEMENTS.index("Cr"), ELEMENTS.index("Ni")

GUNNARSON_1967 = Source("gunnarson1967", "S. Gunnarson, Haerterei-Technische Mitteilungen 22 (1967) 293", "from memory")
LANDER_1952 = Source(
    "lander1952",
    "J. J. Lander, H. E. Kern and A. L. Beach, J. Appl. Phys. 23 (1952) 1305: solubility of carbon in nickel",
    "from memory",
)
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


@cites(GUNNARSON_1967, LANDER_1952)
def capped_alloy_factor(composition: Any) -> Array:
    """Gamma [1] as `alloy_factor_gunnarson_1967`, but more than 3 % alloy is scaled down to 3 % instead of refused, and
    nickel beyond that counts half.

    A guess for high-alloy layers, so that a stack with a nickel or stainless plate can be followed at all. Nickel holds
    some five times less carbon than iron, within a factor 1.5; stainless takes up more than this tells.
    """
    return np.asarray(10.0 ** rich_alloy_log(analysis(composition)))


def rich_alloy_log(composition: Array) -> Array:
    """log10 Gamma [1], shape (...), of `capped_alloy_factor` for contents (..., 11) [wt%] known to be sound.

    The slope of nickel beyond 3 % (and beyond the chromium that offsets it) brings pure nickel to Gamma = 5: graphite saturates it at ln S = 2.480 - 4880/T
    (S in g per 100 g, from memory), 0.39 % at 1150 C and 0.26 % at 1000 C, iron at about 2.0 % and 1.5 %. An open steel
    database has the same slope in iron, 0.008 per percent.
    """
    alloy = composition[..., _ALLOY].sum(axis=-1)
    nickel = np.maximum(composition[..., _NICKEL] - composition[..., _CHROMIUM] - ALLOY_MAX, 0.0)
    return (composition @ GUNNARSON) * (ALLOY_MAX / np.maximum(alloy, ALLOY_MAX)) + NICKEL_BEYOND * nickel


@cites(GUNNARSON_1967)
def split_at_equal_activity(share: Any, alloy_factor: Any, mean_carbon: float) -> Array:
    """Carbon [wt%] of each layer, shape (n,), once C Gamma is equal and the mean is `mean_carbon` [wt%].

    `share` mass of each layer, any unit, shape (n,); `alloy_factor` Gamma of each, shape (n,).
    """
    share = np.asarray(share, dtype=float)
    inverse = 1.0 / np.asarray(alloy_factor, dtype=float)
    return inverse * (mean_carbon * share.sum() / (share @ inverse))
