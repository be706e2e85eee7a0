"""How much a layer that hardens outgrows one that does not, once both are cold.

The growth from austenite to martensite (1.4 % at 0.8 % C) is not that misfit: a soft layer of iron or low-carbon steel
changes back from austenite too, and grows nearly as much. What is left is the growth from annealed to hardened steel.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from billet.metal.limits import Array, Range
from billet.metal.sources import Source, cites

TOOL_STEEL_SIZE_CHANGE = Source(
    "tool-steel-size-change",
    "length change of O1 and L6 from annealed to oil hardened and tempered, two tool-steel data sheets: 0.10 to 0.18 %",
    "verified",
)
SPHEROIDISED_TO_MARTENSITE = Source(
    "spheroidised-to-martensite", "volume change 1.68 C % (Lement; Thelning), a third of it in length", "from memory"
)
MEASURED = Range(0.10e-2, 0.15e-2, 0.18e-2)  # [1] of length


@cites(SPHEROIDISED_TO_MARTENSITE)
def most_misfit(carbon_wt_percent: Any, retained_austenite: Any = 0.0) -> Array:
    """Upper bound of the misfit [1] of a hardened layer against a soft ferritic one, 1.68 C (1 - RA)/300.

    `carbon_wt_percent` [wt%] in solution, `retained_austenite` a fraction [1]; broadcasts. Undissolved carbide and
    tempering take away two thirds and more of it.
    """
    carbon, kept = (np.asarray(v, dtype=float) for v in (carbon_wt_percent, retained_austenite))
    return 1.68e-2 * carbon * (1.0 - kept) / 3.0


@cites(TOOL_STEEL_SIZE_CHANGE, SPHEROIDISED_TO_MARTENSITE)
def misfit(carbon_wt_percent: float, retained_austenite: float = 0.0) -> Range:
    """The misfit [1] to expect: what was measured, 0.10 to 0.18 %, and never more than `most_misfit`.

    Against ferrite, pearlite or soft iron only: an austenitic stainless or nickel-rich layer does not change at all, and
    no measured figure was found for it.
    """
    most = float(most_misfit(carbon_wt_percent, retained_austenite))
    return Range(*(min(v, most) for v in (MEASURED.low, MEASURED.likely, MEASURED.high)))
