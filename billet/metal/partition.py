"""Where carbon rests when it has levelled: at equal activity, not at equal content.

Silicon pushes carbon out of a layer, chromium draws it in. The alloy factor Gamma is the carbon content of plain iron
that has the same activity, over the layer's own: two layers are level when C Gamma is equal. Carbon then flows down the
gradient of C Gamma,

    J = -(D/Gamma) d(C Gamma)/dx,

which is Fick's law inside a layer, conserves carbon, and ends at C Gamma uniform (`billet.metal.solve` integrates it).
"""

from typing import Any

import numpy as np

from billet.metal.limits import ELEMENTS, Array, analysis, weight_percent
from billet.metal.sources import Source, cites

ALLOY_MAX = 3.0  # [wt%] all elements but carbon together; 36 % nickel would return a factor of 3.2, nonsense
STAINLESS_FROM = 11.0  # [wt%] chromium from which on a layer is a sink for carbon
STAINLESS_LOG = float(np.log10(0.18))  # log10 Gamma of stainless, see `rich_alloy_log`
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
STAINLESS_SINK = Source(
    "stainless-sink",
    "carbon taken by 18-8 and 12 % chromium jackets at 1100 C, activity and loss with an open steel database",
    "computed",
)
_CROSS_CHECK = Source(
    "alloy-factor-calphad", "alloy factors recalculated with an open steel database, 925 and 1150 C", "computed"
)


@cites(GUNNARSON_1967, LANDER_1952)
def capped_alloy_factor(composition: Any) -> Array:
    """Gamma [1] as `alloy_factor_gunnarson_1967`, but more than 3 % alloy is scaled down to 3 % instead of refused,
    nickel beyond that counts half, and chromium from 3 to 11 % leads over to that of stainless.

    Nickel holds some five times less carbon than iron, within a factor 1.5. Stainless is a sink: see `rich_alloy_log`.
    """
    return np.asarray(10.0 ** rich_alloy_log(analysis(composition)))


def rich_alloy_log(composition: Array) -> Array:
    """log10 Gamma [1], shape (...), of `capped_alloy_factor` for contents (..., 11) [wt%] known to be sound.

    The slope of nickel beyond 3 % (and beyond the chromium that offsets it) brings pure nickel to Gamma = 5: graphite saturates it at ln S = 2.480 - 4880/T
    (S in g per 100 g, from memory), 0.39 % at 1150 C and 0.26 % at 1000 C, iron at about 2.0 % and 1.5 %. An open steel
    database has the same slope in iron, 0.008 per percent.

    Stainless of 12 to 18 % Cr ties carbon up in its carbides: beside a core of 0.8 % it would hold 2.3 to 3.2 %. One
    Gamma for all of them is set so that, with the slowing by chromium held at that of 3 %, a thick core of 0.84 % loses
    0.047 % mm per square root of a minute to each face at 1100 C, as computed with local equilibrium; with a diffusivity
    a third as large in the jacket it would be 0.038.
    """
    alloy = composition[..., _ALLOY].sum(axis=-1)
    chromium = composition[..., _CHROMIUM]
    nickel = np.maximum(composition[..., _NICKEL] - chromium - ALLOY_MAX, 0.0)
    low = (composition @ GUNNARSON) * (ALLOY_MAX / np.maximum(alloy, ALLOY_MAX)) + NICKEL_BEYOND * nickel
    stainless = np.clip((chromium - ALLOY_MAX) / (STAINLESS_FROM - ALLOY_MAX), 0.0, 1.0)
    return np.asarray(low + stainless * (STAINLESS_LOG - low))
