"""How coarse the austenite grain grows at heat. Advisory: forging and normalising set it back."""

from typing import Any

import numpy as np

from billet.metal.carbon_diffusion import R
from billet.metal.limits import Array
from billet.metal.sources import Source, cites

SELLARS_WHITEMAN = Source("sellars", "Sellars and Whiteman, grain growth law of C-Mn austenite", "from memory")


@cites(SELLARS_WHITEMAN)
def austenite_grain(temperature_K: Any, seconds: Any, start: Any = 20e-6) -> Array:
    """Grain diameter [m] after `seconds` [s] at `temperature_K` [K] from `start` [m], broadcasting.

    D^10 = D0^10 + 3.87e32 t exp(-400e3/RT), D in micrometres. About 1000 to 1250 C, a factor 2
    either way; at 900 C high-carbon steel stays four times finer than this.
    """
    T = np.asarray(temperature_K, dtype=float)
    grown = 3.87e32 * np.asarray(seconds, dtype=float) * np.exp(-400e3 / (R * T))
    return 1e-6 * ((np.asarray(start, dtype=float) * 1e6) ** 10 + grown) ** 0.1
