"""Hardness of martensite as quenched, of a half-martensite structure, and the two scales it is given in."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.polynomial.polynomial import polyval

from billet.metal import references as ref
from billet.metal.limits import Array, Range, within
from billet.metal.sources import cites

MARTENSITE_A255 = (33.087, 50.723, 33.662, -2.7048, -107.02, 43.523)  # [HRC per wt% C to the power of the place]
HALF_MARTENSITE_A255 = (22.974, 6.214, 356.364, -1091.488, 1464.880, -750.441)  # coefficients from memory
PEAK_AUSTENITE = 0.15  # [-] up to here hardness does not suffer

# ASTM E140 table 1, non-austenitic steel. Rows 68, 65, 60, 55, 50, 45 and 40 as coded in a public program; the others
# from memory.
E140_HRC = np.array(
    [20, 25, 30, 35, 40, 45, 48, 50, 51, 52, 53, 54, 55, 56, 57, 58, 59, 60, 61, 62, 63, 64, 65, 66, 67, 68],
    dtype=float,
)
E140_HV = np.array(
    [
        238,
        266,
        302,
        345,
        392,
        446,
        484,
        513,
        528,
        544,
        560,
        577,
        595,
        613,
        633,
        653,
        674,
        697,
        720,
        746,
        772,
        800,
        832,
        865,
        900,
        940,
    ],
    dtype=float,
)


@cites(ref.ASTM_A255)
def martensite_hrc_a255(carbon_wt_percent: Any) -> Array:
    """Hardness of full martensite [HRC], a fifth-order polynomial in carbon [wt%]; broadcasts.

    0.10 to 0.70 %C only: above that the polynomial falls while measured hardness does not, so it raises OutsideRange.
    Source: ASTM A255-10 (2014), as printed in a public handbook.
    """
    why = "above 0.70 %C the polynomial falls while measured hardness stays near 66 HRC"
    return np.asarray(polyval(within(carbon_wt_percent, 0.10, 0.70, "carbon [wt%]", why), MARTENSITE_A255))


@cites(ref.ASTM_A255, ref.HOLLOMON_JAFFE_1945)
def as_quenched_hrc(carbon_wt_percent: float, retained_austenite: float = 0.0) -> Range:
    """Hardness as quenched [HRC], at least 95 % martensite, carbon in solution [wt%]; 1 HRC either way.

    Up to 0.70 %C the A255 polynomial; 66 from 0.74 to 1.0 %C (measured 66.5 to 67 on steels of 0.74 to 0.98 %C,
    Hollomon and Jaffe 1945), 65.5 from 1.05. Every percent of retained austenite past 15 takes 0.1 HRC (hardness peaks
    at 15 to 20 %). 0.30 to 1.3 %C, else OutsideRange.
    """
    why = "below 0.30 %C it hardly hardens, above 1.3 %C there is nothing to go by"
    carbon = float(within(carbon_wt_percent, 0.30, 1.30, "carbon [wt%]", why))
    top = float(martensite_hrc_a255(0.70))
    likely = (
        float(martensite_hrc_a255(carbon))
        if carbon <= 0.70
        else float(np.interp(carbon, [0.70, 0.74, 1.0, 1.05], [top, 66.0, 66.0, 65.5]))
    )
    return Range.around(likely - austenite_softens(retained_austenite), 1.0)


@cites(ref.AUSTENITE_SOFTENS)
def austenite_softens(retained_austenite: float) -> float:
    """Hardness that retained austenite [-] takes off [HRC]: 0.1 per percent past 15."""
    return 10.0 * max(retained_austenite - PEAK_AUSTENITE, 0.0)
