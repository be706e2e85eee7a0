"""How deep a steel hardens: the ideal critical diameter, half martensite at its centre after an ideal quench."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.polynomial.polynomial import polyval

from billet.metal import references as ref
from billet.metal.constants import INCH
from billet.metal.limits import ELEMENTS, Array, Range, analysis, part, weight_percent, within
from billet.metal.sources import cites

#: Upper limits [wt%] of the extended factors; carbon to 1.10 is our extrapolation, checked on measured heats. The
#: factor of vanadium is printed to 0.20 %; on to the 0.35 % of the tool steel standards it is a bound, see `vanadium_bounds`.
MOST = {"C": 1.10, "Mn": 1.95, "Si": 2.0, "Ni": 3.5, "Cr": 2.5, "Mo": 0.55, "Cu": 0.35, "V": 0.35}
VANADIUM_PRINTED_TO = 0.20  # [wt%]
_V = ELEMENTS.index("V")

UNCOUNTED = {"W": 2.0, "Co": 0.5}  # [wt%] without a factor in the standard: more than this would change the depth
#: What an ordinary scrap-based heat carries unasked [wt%] (from memory); together they multiply the ideal diameter by
#: 1.4.
RESIDUALS = weight_percent(Cr=0.10, Ni=0.08, Mo=0.02, Cu=0.15)

#: Eleven of twelve measured heats near 1 %C lie within this factor of the corrected formula; the twelfth has 0.09 %Mn.
SCATTER = 1.3


@cites(ref.ASTM_A255)
def carbon_factor(carbon_wt_percent: Any) -> Array:
    """Base ideal diameter of the carbon alone [in], grain size 7, carbon [wt%] to 0.90 printed, to 1.10 extrapolated;
    broadcasts.
    """
    C = within(
        carbon_wt_percent,
        0.0,
        MOST["C"],
        "carbon [wt%]",
        "the carbon factor is printed to 0.90 % and was checked to 1.09 %",
    )
    pieces = ((0.0, 0.54), (0.171, 0.001, 0.265), (0.115, 0.268, -0.038), (0.143, 0.2), (0.062, 0.409, -0.135))
    return np.select(
        [C <= 0.39, C <= 0.55, C <= 0.65, C <= 0.75], [polyval(C, p) for p in pieces[:4]], polyval(C, pieces[4])
    )


@cites(ref.ASTM_A255)
def alloy_factors(composition: Any) -> dict[str, Array]:
    """Multiplying factors [-] of Mn, Si, Ni, Cr, Mo, Cu and V for a composition [wt%] of shape (..., 11); raises
    OutsideRange.

    Tungsten, phosphorus and cobalt have no factor in the standard; more than 2 % W or 0.5 % Co (judgement) is refused.
    Vanadium counts as dissolved, and beyond 0.20 % its straight line is carried on: an upper bound.
    """
    steel = analysis(composition)
    content = {
        e: within(part(steel, e), 0.0, most, f"{e} [wt%]", "the factor is printed up to there")
        for e, most in MOST.items()
    }
    for e, most in UNCOUNTED.items():
        within(part(steel, e), 0.0, most, f"{e} [wt%]", "the standard has no factor for it")
    Mn, Ni = content["Mn"], content["Ni"]
    return {
        "Mn": np.where(Mn <= 1.20, 3.3333 * Mn + 1.0, 5.1 * Mn - 1.12),
        "Si": 0.7 * content["Si"] + 1.0,
        "Ni": np.where(Ni <= 1.5, 0.363 * Ni + 1.0, polyval(Ni, (0.3211, 1.4501, -0.6119, 0.1253))),
        "Cr": 2.16 * content["Cr"] + 1.0,
        "Mo": 3.0 * content["Mo"] + 1.0,
        "Cu": 0.365 * content["Cu"] + 1.0,
        "V": 1.73 * content["V"] + 1.0,
    }


@cites(ref.ASTM_A255)
def ideal_diameter_a255(composition: Any) -> Array:
    """Ideal critical diameter [m], shape (...), half martensite at the centre: carbon factor times alloy factors,
    grain size 7.

    Composition [wt%] of shape (..., 11). The standard's scope ends at 0.70 %C; the extended factors are printed to
    0.90 %C, and near 1 %C the result is 1.3 to 1.8 times what was measured (see `high_carbon_correction`). Source:
    ASTM A255-10 (2014), non-boron.
    """
    steel = analysis(composition)
    diameter = carbon_factor(part(steel, "C"))
    for factor in alloy_factors(steel).values():
        diameter = diameter * factor
    return np.asarray(diameter * INCH)


@cites(ref.ASTM_A255)
def vanadium_bounds(composition: Any) -> tuple[Array, Array]:
    """The composition [wt%], shape (..., 11), with the least and with the most vanadium that can count.

    Up to 0.20 % both are the steel's own. Beyond, where the standard's factor ends, the least holds 0.20 % (the rest
    bound in carbide that no hardening heat dissolves) and the most all of it: at 0.35 % the diameters differ by a factor
    of 1.19.
    """
    steel = analysis(composition)
    least = steel.copy()
    least[..., _V] = np.minimum(part(steel, "V"), VANADIUM_PRINTED_TO)
    return least, steel


@cites(ref.TOOL_STEELS_W_HEATS)
def high_carbon_correction(carbon_wt_percent: Any) -> Array:
    """What to divide the A255 diameter by [-]: 1 to 0.80 %C, 1.5 from 1.00 %C, linear between; broadcasts.

    Some carbide stays undissolved at the usual hardening heats. An estimate from measured heats near 1 %C (ratio 1.3
    to 1.8).
    """
    return np.interp(carbon_wt_percent, [0.80, 1.00], [1.0, 1.5])


@cites(ref.ASTM_A255, ref.TOOL_STEELS_W_HEATS)
def ideal_diameter(composition: Any, certified: bool = False) -> Range:
    """Ideal critical diameter [m] of one steel, composition [wt%] of shape (11,), corrected for high carbon.

    With a mill certificate that gives the residual elements (`certified`): the formula, a factor 1.3 either way.
    Without one: low is the analysis as it stands, high has Cr, Ni, Mo and Cu raised to what scrap-based heats carry
    (from memory; 1.4 times for a plain carbon steel), likely is the geometric mean. More than 0.20 % vanadium widens
    the band (`vanadium_bounds`). Raises OutsideRange.
    """
    least, steel = vanadium_bounds(composition)
    stack = np.stack([least, steel, np.maximum(steel, RESIDUALS)])
    low, own, high = ideal_diameter_a255(stack) / high_carbon_correction(part(steel, "C"))
    if certified:
        return Range(float(low) / SCATTER, float(np.sqrt(low * own)), float(own) * SCATTER)
    return Range(float(low), float(np.sqrt(low * high)), float(high))
