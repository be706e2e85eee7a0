"""How coarse the austenite grain grows at heat. Advisory: forging and normalising set it back."""

from typing import Any

import numpy as np

from billet.metal import references as ref
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


@cites(ref.GRAIN_DATA)
def hardening_grain(temperature_K: Any, seconds: Any, start: Any = 20e-6) -> Array:
    """Grain diameter [m] at a hardening heat [K] held for `seconds` [s], from `start` [m]; broadcasts.

    D^2 = D0^2 + G^2, G = 16 um (t / 1800 s)^0.171 exp(141e3/R (1/1173 K - 1/T)): 16 um at 900 C and 50 um (the geometric
    mean of 39 and 64) at 1000 C after 30 min, measured on steels near 1 %C. About 750 to 1000 C, a factor 2 either way.
    """
    T, t = np.asarray(temperature_K, dtype=float), np.asarray(seconds, dtype=float)
    grown = 16e-6 * (t / 1800.0) ** 0.171 * np.exp(141e3 / R * (1.0 / 1173.15 - 1.0 / T))
    return np.sqrt(np.asarray(start, dtype=float) ** 2 + grown**2)
