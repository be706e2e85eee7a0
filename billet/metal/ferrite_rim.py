"""The rim of soft ferrite that grows under a bare face below 912 C, where metal without carbon is ferrite.

Carbon leaves by the face as fast as ferrite lets it; the rim's edge moves in with the square root of time. Hotter carries
carbon faster, but leaves less room between the two phases, so the rim is deepest near 800 C.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq
from scipy.special import erf, erfcx

from billet.metal.carbon_diffusion import (
    AGREN_1982,
    AGREN_1986,
    carbon_in_austenite_agren_1986,
    carbon_in_ferrite_agren_1982,
)
from billet.metal.limits import Range, within
from billet.metal.scale import metal_loss
from billet.metal.sources import Source, cites

COOLEST_K, HOTTEST_K = 1000.15, 1185.15  # [K] 727 C, where austenite begins, and 912 C, where pure iron becomes it
LEAST_CARBON = 0.1  # [wt%]

TWO_PHASE_STEFAN = Source(
    "two-phase-stefan",
    "ferrite growing into austenite from a face without carbon, two-phase Stefan problem (Crank 1975, ch. 13); limits of "
    "both phases from an open Fe-C database",
    "computed",
)
# Carbon of ferrite and of austenite where they touch [wt%]: Fe-C, open database; the ends are the eutectoid and pure iron.
_CELSIUS = np.array([727.0, 740.0, 760.0, 780.0, 800.0, 820.0, 850.0, 880.0, 900.0, 912.0])
_FERRITE = np.array([0.0190, 0.0177, 0.0157, 0.0138, 0.0120, 0.0100, 0.0070, 0.0037, 0.0014, 0.0])
_AUSTENITE = np.array([0.760, 0.668, 0.542, 0.435, 0.341, 0.259, 0.156, 0.071, 0.024, 0.0])
_ferrite_limit, _austenite_limit = (PchipInterpolator(_CELSIUS + 273.15, c) for c in (_FERRITE, _AUSTENITE))


@cites(TWO_PHASE_STEFAN, AGREN_1982, AGREN_1986)
def ferrite_depth(temperature_K: float, seconds: Any, carbon: float) -> Any:
    """How deep the ferrite reaches [m] after `seconds` [s], any shape, from steel of `carbon` [wt%], no scale taken off.

    X = 2 lam sqrt(Da t), lam from Ca exp(-lam^2)/(sqrt(pi) erf lam) - sqrt(Dg/Da) (C0 - Cg) exp(-(lam phi)^2)/(sqrt(pi)
    erfc(lam phi)) = (Cg - Ca) lam, phi = sqrt(Da/Dg); Da Agren 1982, Dg Agren 1986 at (C0 + Cg)/2. Zero from 912 C up.
    Carbides that have to dissolve slow it, and scale eats it: an upper bound. Raises OutsideRange below 727 C.
    """
    T = float(within(temperature_K, COOLEST_K, np.inf, "the temperature [K]", "below 727 C there is no austenite"))
    if T >= HOTTEST_K or carbon < LEAST_CARBON:
        return np.zeros_like(np.asarray(seconds, dtype=float))
    low, high = float(_ferrite_limit(T)), float(_austenite_limit(T))
    Da = float(carbon_in_ferrite_agren_1982(T))
    Dg = float(carbon_in_austenite_agren_1986(0.5 * (carbon + high), T))
    phi = np.sqrt(Da / Dg)

    def balance(lam: float) -> float:
        out = low * np.exp(-(lam**2)) / (np.sqrt(np.pi) * erf(lam))
        into = (carbon - high) / (phi * np.sqrt(np.pi) * erfcx(lam * phi))
        return float(out - into - (high - low) * lam)

    return 2.0 * brentq(balance, 1e-9, 5.0, xtol=1e-12) * np.sqrt(Da * np.asarray(seconds, dtype=float))


@cites(TWO_PHASE_STEFAN, AGREN_1982, AGREN_1986)
def ferrite_rim(temperature_K: float, seconds: float, carbon: float) -> Range:
    """The rim to expect [m] under a face bare in a scaling fire: at most `ferrite_depth`, at least what is left of it when
    the scale (`metal_loss` in air) has eaten from it; likely half-way.

    Under a coating or in a rich fire there is less. Metal that lost part of its carbon lies beneath.
    """
    most = float(ferrite_depth(temperature_K, seconds, carbon))
    least = max(most - float(metal_loss(temperature_K, seconds)), 0.0)
    return Range(least, 0.5 * (least + most), most)
