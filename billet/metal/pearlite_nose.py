"""How soon pearlite begins at its nose: the seconds a blade has from the hardening heat to below it.

Two published laws disagree tenfold on nickel, so the answer is the band over both and over two grain sizes.
"""

from __future__ import annotations

import numpy as np
from scipy.constants import zero_Celsius

from billet.metal.critical_temperatures import ac1_grange_1961
from billet.metal.limits import Array, Range, analysis, part, weight_percent, with_carbon
from billet.metal.sources import Source, cites

R_CAL = 1.987  # [cal/(mol K)]
GRAINS = (6.0, 8.0)  # ASTM numbers of a blade hardened with care
LI_S, KV_I = 0.10434, 0.6406  # transformation integrals at 1 % pearlite
LI_PEARLITE = weight_percent(C=4.12, Mn=4.36, Si=0.44, Ni=1.71, Cr=3.33)

LI_1998 = Source(
    "li1998",
    "M. V. Li, D. V. Niebuhr, L. L. Meekisho and D. G. Atteridge, A computational model for the prediction of steel "
    "hardenability, Metall. Mater. Trans. B 29 (1998) 661-672; fitted below about 0.5 % C",
    "verified",
)
KIRKALDY_1984 = Source(
    "kirkaldy1984",
    "J. S. Kirkaldy and D. Venugopalan, Prediction of microstructure and hardenability in low alloy steels, 1984",
    "from memory",
)


@cites(LI_1998)
def nose_li_1998(composition: Array, grain: float) -> tuple[float, float]:
    """Temperature [K] and time [s] of the first 1 % pearlite at its nose; `composition` (11,) [wt%] in solution, `grain`
    ASTM number.

    t = PC S / [2^(0.32 G) (Ae1 - T)^3 exp(-27500/(R T))], PC = exp(-4.25 + 4.12 C + 4.36 Mn + 0.44 Si + 1.71 Ni + 3.33 Cr +
    5.19 sqrt(Mo)).
    """
    steel = analysis(composition)
    log = -4.25 + float(steel @ LI_PEARLITE) + 5.19 * float(np.sqrt(part(steel, "Mo")))
    T, under = _below_ae1(steel)
    time = np.exp(log) * LI_S * np.exp(27500.0 / (R_CAL * T)) / (2.0 ** (0.32 * grain) * under**3)
    return _least(T, time)


@cites(KIRKALDY_1984)
def nose_kirkaldy_1984(composition: Array, grain: float) -> tuple[float, float]:
    """Temperature [K] and time [s] as `nose_li_1998`; carbon and manganese do not enter.

    t = [1.79 + 5.42 (Cr + Mo + 4 Mo Ni)] (1/D) I / [2^((G-1)/2) (Ae1 - T)^3], 1/D = exp(27500/RT) + (0.01 Cr + 0.52 Mo)
    exp(37000/RT).
    """
    steel = analysis(composition)
    Cr, Mo, Ni = (float(part(steel, e)) for e in ("Cr", "Mo", "Ni"))
    T, under = _below_ae1(steel)
    slow = np.exp(27500.0 / (R_CAL * T)) + (0.01 * Cr + 0.52 * Mo) * np.exp(37000.0 / (R_CAL * T))
    time = (1.79 + 5.42 * (Cr + Mo + 4.0 * Mo * Ni)) * slow * KV_I / (2.0 ** ((grain - 1.0) / 2.0) * under**3)
    return _least(T, time)


@cites(LI_1998, KIRKALDY_1984)
def pearlite_nose(composition: Array, dissolved_carbon: float) -> Range:
    """Seconds to the first 1 % pearlite at the nose: lowest and highest of both laws at grain sizes 6 and 8, likely their
    geometric mean.

    `composition` (11,) [wt%] of the bar; `dissolved_carbon` [wt%] at the hardening heat. Chromium, molybdenum and tungsten
    that sit in undissolved carbide do not count: they are taken with the carbon, in proportion (judgement).
    """
    steel = analysis(composition).copy()
    carbon = float(part(steel, "C"))
    share = 1.0 if carbon <= 0.0 else min(dissolved_carbon / carbon, 1.0)
    for element in ("Cr", "Mo", "W"):
        column = _column(element)
        steel[column] = share * steel[column]
    steel = with_carbon(steel, share * carbon)
    times = [law(steel, grain)[1] for law in (nose_li_1998, nose_kirkaldy_1984) for grain in GRAINS]
    return Range(min(times), float(np.exp(np.mean(np.log(times)))), max(times))


def _column(element: str) -> int:
    return int(np.flatnonzero(weight_percent(**{element: 1.0}))[0])


def _below_ae1(steel: Array) -> tuple[Array, Array]:
    """Temperatures [K] from 450 C to 20 K under Ae1 (Grange), and how far under it each lies [K]."""
    ae1 = float(ac1_grange_1961(steel))
    T = np.arange(450.0 + zero_Celsius, ae1 - 20.0, 0.5)
    return T, ae1 - T


def _least(T: Array, time: Array) -> tuple[float, float]:
    at = int(np.argmin(time))
    return float(T[at]), float(time[at])
