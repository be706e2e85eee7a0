"""Martensite: where it starts on cooling, how much austenite is left, how cold for nine tenths.

The published start formulas disagree by 90 K at 0.8 %C, so they are kept side by side as rows, and the answer is a
band. The formulas take the carbon that is in solution at the hardening heat, which above 0.80 %C is less than the
bar's (see `in_solution`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from billet.metal import references as ref
from billet.metal.constants import ZERO_CELSIUS
from billet.metal.critical_temperatures import dissolved_carbon
from billet.metal.limits import Array, Range, analysis, part, weight_percent, with_carbon, within
from billet.metal.sources import cites

MS_EITHER_WAY = 25.0  # [K]
ROOM_K = 293.15
KOISTINEN_MARBURGER_RATE = 0.011  # [1/K]
LONG_SOAK = 3600.0  # [s] from which on the heat alone decides what is dissolved; judgement
KELVIN_PER_DECADE = 25.0  # [K] what ten times the soak is worth; judgement

ANDREWS_LINEAR = weight_percent(C=-423.0, Mn=-30.4, Ni=-17.7, Cr=-12.1, Mo=-7.5)
ANDREWS_PRODUCT = weight_percent(C=-453.0, Ni=-16.9, Cr=15.0, Mo=-9.5)
STEVEN_HAYNES = weight_percent(C=-474.0, Mn=-33.0, Ni=-17.0, Cr=-17.0, Mo=-21.0)
KUNG_RAYMENT = weight_percent(Si=-7.5, Co=10.0)
CAPDEVILA = weight_percent(C=-302.6, Mn=-30.6, Ni=-16.6, Cr=-8.9, Mo=2.4, Si=-14.5, Co=8.58)
VAN_BOHEMEN = weight_percent(Mn=-31.0, Si=-13.0, Cr=-10.0, Ni=-18.0, Mo=-12.0)
INGBER_KUNERT = weight_percent(C=-290.3, Mn=-35.5, Si=-6.8, Ni=-17.2, Cr=-20.8, Mo=-10.4, Co=4.8)
TRZASKA = weight_percent(C=-401.0, Mn=-36.0, Si=-10.5, Cr=-14.0, Ni=-18.0, Mo=-17.0)
VAN_BOHEMEN_RATE = weight_percent(Mn=-0.14, Si=-0.21, Cr=-0.11, Ni=-0.08, Mo=-0.05)


def _low_alloy(composition: Any) -> Array:
    """The composition [wt%], refused (OutsideRange) above 1.3 %C, 5 % Ni or 5 % Cr (limits from memory)."""
    steel = analysis(composition)
    for element, most in (("C", 1.3), ("Ni", 5.0), ("Cr", 5.0)):
        within(
            part(steel, element),
            0.0,
            most,
            f"{element} [wt%]",
            "the martensite formulas were fitted to low-alloy steel",
        )
    return steel


@cites(ref.ANDREWS_1965, ref.INGBER_KUNERT_2022)
def ms_andrews_1965_linear(composition: Any) -> Array:
    """Ms [K] = 539 - 423 C - 30.4 Mn - 17.7 Ni - 12.1 Cr - 7.5 Mo + 273.15, wt%; fitted to about 0.6 %C (from
    memory), runs low above.
    """
    return 539.0 + _low_alloy(composition) @ ANDREWS_LINEAR + ZERO_CELSIUS


@cites(ref.ANDREWS_1965, ref.KUNG_RAYMENT_1982, ref.INGBER_KUNERT_2022)
def ms_andrews_1965_linear_kung_rayment_1982(composition: Any) -> Array:
    """Ms [K]: the linear form of Andrews with -7.5 Si + 10 Co added by Kung and Rayment, wt%."""
    return ms_andrews_1965_linear(composition) + analysis(composition) @ KUNG_RAYMENT


@cites(ref.ANDREWS_1965, ref.INGBER_KUNERT_2022)
def ms_andrews_1965_product(composition: Any) -> Array:
    """Ms [K] = 512 - 453 C - 16.9 Ni + 15 Cr - 9.5 Mo + 217 C^2 - 71.5 C Mn - 67.6 C Cr + 273.15, wt%; turns upward
    past 0.7 %C.
    """
    steel = _low_alloy(composition)
    C, Mn, Cr = part(steel, "C"), part(steel, "Mn"), part(steel, "Cr")
    return 512.0 + steel @ ANDREWS_PRODUCT + 217.0 * C**2 - 71.5 * C * Mn - 67.6 * C * Cr + ZERO_CELSIUS


@cites(ref.STEVEN_HAYNES_1956, ref.INGBER_KUNERT_2022)
def ms_steven_haynes_1956(composition: Any) -> Array:
    """Ms [K] = 561 - 474 C - 33 Mn - 17 Ni - 17 Cr - 21 Mo + 273.15, wt%; fitted to about 0.5 %C (from memory), runs
    low above.
    """
    return 561.0 + _low_alloy(composition) @ STEVEN_HAYNES + ZERO_CELSIUS


@cites(ref.STEVEN_HAYNES_1956, ref.KUNG_RAYMENT_1982, ref.INGBER_KUNERT_2022)
def ms_steven_haynes_1956_kung_rayment_1982(composition: Any) -> Array:
    """Ms [K]: Steven and Haynes with -7.5 Si + 10 Co added by Kung and Rayment, wt%."""
    return ms_steven_haynes_1956(composition) + analysis(composition) @ KUNG_RAYMENT


@cites(ref.CAPDEVILA_2002, ref.INGBER_KUNERT_2022)
def ms_capdevila_2002(composition: Any) -> Array:
    """Ms [K] = 764.2 - 302.6 C - 30.6 Mn - 16.6 Ni - 8.9 Cr + 2.4 Mo - 14.5 Si + 8.58 Co, wt%."""
    return 764.2 + _low_alloy(composition) @ CAPDEVILA


@cites(ref.VAN_BOHEMEN_2012, ref.INGBER_KUNERT_2022)
def ms_van_bohemen_2012(composition: Any) -> Array:
    """Ms [K] = 565 - 600 (1 - exp(-0.96 C)) - 31 Mn - 13 Si - 10 Cr - 18 Ni - 12 Mo + 273.15, wt%; made for high
    carbon too.
    """
    steel = _low_alloy(composition)
    return 565.0 + 600.0 * np.expm1(-0.96 * part(steel, "C")) + steel @ VAN_BOHEMEN + ZERO_CELSIUS


@cites(ref.INGBER_KUNERT_2022)
def ms_ingber_kunert_2022(composition: Any) -> Array:
    """Ms [K] of high-carbon steels.

    530.2 - 290.3 C - 35.5 Mn - 6.8 Si - 17.2 Ni - 20.8 Cr - 10.4 Mo + 4.8 Co - 75 (1 - exp(-0.96 C)) + 273.15, wt%; the
    aluminium term (+7.1 Al) is left out because our analysis has no aluminium.
    """
    steel = _low_alloy(composition)
    return 530.2 + 75.0 * np.expm1(-0.96 * part(steel, "C")) + steel @ INGBER_KUNERT + ZERO_CELSIUS


@cites(ref.TRZASKA, ref.INGBER_KUNERT_2022)
def ms_trzaska(composition: Any) -> Array:
    """Ms [K] = 541 - 401 C - 36 Mn - 10.5 Si - 14 Cr - 18 Ni - 17 Mo + 273.15, wt%."""
    return 541.0 + _low_alloy(composition) @ TRZASKA + ZERO_CELSIUS


#: Every published row, for the comparison table; each takes compositions [wt%] of shape (..., 11) and gives Ms [K] of
#: shape (...).
PUBLISHED_MS: tuple[Callable[[Any], Array], ...] = (
    ms_andrews_1965_linear,
    ms_andrews_1965_linear_kung_rayment_1982,
    ms_andrews_1965_product,
    ms_steven_haynes_1956,
    ms_steven_haynes_1956_kung_rayment_1982,
    ms_capdevila_2002,
    ms_van_bohemen_2012,
    ms_ingber_kunert_2022,
    ms_trzaska,
)


@cites(ref.FE_C_CALPHAD, ref.LEE_LEE_2007)
def in_solution(composition: Any, hardening_K: Any, soak_s: float = LONG_SOAK) -> Array:
    """The composition [wt%], shape (..., 11), of the austenite at a hardening heat [K] held for a time [s]: carbon held
    in cementite is taken out.

    An hour or more dissolves what the heat can; less counts as a lower heat (`soaked`). Raises OutsideRange as
    `dissolved_carbon` does.
    """
    heat = soaked(hardening_K, min(soak_s, LONG_SOAK), LONG_SOAK)
    return with_carbon(composition, dissolved_carbon(composition, heat))


@cites(ref.SOAK_JUDGEMENT)
def soaked(heat_K: Any, soak_s: float, usual_s: float) -> Array:
    """The heat [K] that would dissolve as much carbide in the usual time [s] as this heat does in this soak [s].

    25 K for ten times the soak, at most twice that either way: judgement. Broadcasts over the heat.
    """
    decades = float(np.clip(np.log10(max(soak_s, 1.0) / usual_s), -2.0, 2.0))
    return np.asarray(np.asarray(heat_K, dtype=float) + KELVIN_PER_DECADE * decades)


@cites(ref.VAN_BOHEMEN_2012, ref.INGBER_KUNERT_2022)
def martensite_start(austenite: Any) -> Range:
    """Ms [K] of austenite of this composition [wt%], shape (11,): the mean of van Bohemen and Ingber & Kunert, 25 K
    either way.

    Give the composition *in solution* (`in_solution`). Up to 1.3 %C, 5 % Ni, 5 % Cr (from memory), else OutsideRange.
    """
    mean = (ms_van_bohemen_2012(austenite) + ms_ingber_kunert_2022(austenite)) / 2.0
    return Range.around(float(mean), MS_EITHER_WAY)


@cites(ref.VAN_BOHEMEN_2012)
def rate_van_bohemen_2012(austenite: Any) -> Array:
    """Rate at which austenite is used up below Ms [1/K], shape (...).

    1e-3 (27.2 - 0.14 Mn - 0.21 Si - 0.11 Cr - 0.08 Ni - 0.05 Mo - 19.8 (1 - exp(-1.56 C))), composition in solution
    [wt%].
    """
    steel = _low_alloy(austenite)
    return 1e-3 * (27.2 + steel @ VAN_BOHEMEN_RATE + 19.8 * np.expm1(-1.56 * part(steel, "C")))


@cites(ref.KOISTINEN_MARBURGER_1959)
def austenite_left(rate_per_K: Any, ms_K: Any, quench_K: Any = ROOM_K) -> Array:
    """Fraction of austenite left [-] after a quench to a temperature [K]: exp(-rate (Ms - Tq)), all of it above Ms.
    Broadcasts.

    Source: the form of Koistinen and Marburger 1959, whose rate is 0.011 per K; van Bohemen gives a rate by
    composition.
    """
    return np.exp(-np.asarray(rate_per_K) * np.maximum(np.asarray(ms_K) - np.asarray(quench_K), 0.0))


@cites(ref.KOISTINEN_MARBURGER_1959)
def temperature_for_martensite(rate_per_K: Any, ms_K: Any, martensite: float = 0.90) -> Array:
    """Temperature [K] at which this fraction of martensite [-] is reached: `austenite_left` solved for the
    temperature. Broadcasts.
    """
    return np.asarray(ms_K) + np.log1p(-martensite) / np.asarray(rate_per_K)


@cites(ref.KOISTINEN_MARBURGER_1959, ref.VAN_BOHEMEN_2012, ref.INGBER_KUNERT_2022)
def retained_austenite(austenite: Any, quench_K: float = ROOM_K) -> Range:
    """Fraction of retained austenite [-] after a quench to a temperature [K]; composition in solution [wt%], shape
    (11,).

    Low end: van Bohemen's rate with Ms at the top of its band; high end: Koistinen and Marburger's with Ms at the
    bottom; likely: the mean of both rates at the likely Ms. No holding time and no sub-zero treatment is in it.
    """
    ms, slow, fast = _rates(austenite)
    likely = austenite_left([slow, fast], ms.likely, quench_K).mean()
    return Range(
        float(austenite_left(fast, ms.high, quench_K)), float(likely), float(austenite_left(slow, ms.low, quench_K))
    )


@cites(ref.KOISTINEN_MARBURGER_1959, ref.VAN_BOHEMEN_2012, ref.INGBER_KUNERT_2022)
def martensite_nine_tenths(austenite: Any) -> Range:
    """Temperature [K] at which 90 % is martensite; composition in solution [wt%], shape (11,).

    In place of a martensite finish, for which no reliable formula exists (Ms - 215 is a convention, from memory).
    """
    ms, slow, fast = _rates(austenite)
    likely = temperature_for_martensite([slow, fast], ms.likely).mean()
    return Range(
        float(temperature_for_martensite(slow, ms.low)), float(likely), float(temperature_for_martensite(fast, ms.high))
    )


def _rates(austenite: Any) -> tuple[Range, float, float]:
    """Ms [K] and the slower and faster of the two published rates [1/K]."""
    rates = sorted((KOISTINEN_MARBURGER_RATE, float(rate_van_bohemen_2012(austenite))))
    return martensite_start(austenite), rates[0], rates[1]
