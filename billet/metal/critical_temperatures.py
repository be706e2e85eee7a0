"""Where austenite begins (Ac1), where ferrite ends (Ac3) and where cementite ends (Acm) on heating.

None of the three is a hardening temperature, and none knows the heating rate.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from billet.metal import references as ref
from billet.metal.constants import ZERO_CELSIUS
from billet.metal.limits import Array, OutsideRange, Range, analysis, part, weight_percent, within
from billet.metal.sources import cites

AC1_EITHER_WAY = 12.0  # [K] standard error of the fit about 11.5 K (from memory)
AC3_EITHER_WAY = 20.0  # [K]
ACM_EITHER_WAY = 20.0  # [K]

ANDREWS_AC1 = weight_percent(Mn=-10.7, Ni=-16.9, Si=29.1, Cr=16.9, W=6.38)
GRANGE_AE1 = weight_percent(Mn=-25.0, Si=40.0, Cr=42.0, Ni=-26.0)
ANDREWS_AC3 = weight_percent(Ni=-15.2, Si=44.7, V=104.0, Mo=31.5, W=13.1)

# Cementite limit of austenite in pure Fe-C, calculated with pycalphad 0.11.2 and its Fe-C database (phases bcc, fcc,
# cementite).
ACM_CARBON = np.array([0.80, 0.85, 0.90, 0.95, 1.00, 1.10, 1.20])  # [wt%]
ACM_CELSIUS = np.array([742.0, 762.0, 782.0, 801.0, 819.0, 856.0, 891.0])
_DISSOLVED_CARBON = np.array([0.0, *ACM_CARBON, 2.2])  # the table with its end slopes carried on
_DISSOLVED_CELSIUS = np.array([422.0, *ACM_CELSIUS, 1241.0])
ACM_SHIFT = weight_percent(Cr=45.0, Ni=-5.0, Si=17.0)  # [K per wt%], low confidence


def _low_alloy(composition: Any) -> Array:
    """The composition [wt%], refused (OutsideRange) above 5 % Ni or Cr: the fits saw low-alloy steel (limits from
    memory).
    """
    steel = analysis(composition)
    within(part(steel, "Ni"), 0.0, 5.0, "nickel [wt%]", "the formulas were fitted to low-alloy steel")
    within(part(steel, "Cr"), 0.0, 5.0, "chromium [wt%]", "the formulas were fitted to low-alloy steel")
    return steel


@cites(ref.ANDREWS_1965)
def ac1_andrews_1965(composition: Any) -> Array:
    """Temperature at which austenite begins on heating, Ac1 [K], shape (...).

    Ac1 [C] = 723 - 10.7 Mn - 16.9 Ni + 29.1 Si + 16.9 Cr + 6.38 W, composition [wt%] of shape (..., 11). The arsenic
    term is left out. Contains no carbon, so it serves at any; Ni and Cr up to 5 % (limits from memory), outside
    raises OutsideRange. Band 12 K either way. Source: Andrews 1965, as coded in two public programs.
    """
    return 723.0 + _low_alloy(composition) @ ANDREWS_AC1 + ZERO_CELSIUS


@cites(ref.GRANGE_1961)
def ac1_grange_1961(composition: Any) -> Array:
    """Equilibrium start of austenite, Ae1 [K], shape (...), as a second opinion on Ac1.

    Ae1 [F] = 1333 - 25 Mn + 40 Si + 42 Cr - 26 Ni, composition [wt%] of shape (..., 11); same limits as Andrews,
    raises OutsideRange. Source: Grange 1961, as coded in public kinetics programs.
    """
    fahrenheit = 1333.0 + _low_alloy(composition) @ GRANGE_AE1
    return np.asarray((fahrenheit - 32.0) / 1.8 + ZERO_CELSIUS)


@cites(ref.ANDREWS_1965)
def ac1(composition: Any) -> Range:
    """Ac1 of one steel [K]: Andrews 1965, 12 K either way (standard error from memory). Composition [wt%], shape
    (11,).
    """
    return Range.around(float(ac1_andrews_1965(composition)), AC1_EITHER_WAY)


@cites(ref.ANDREWS_1965)
def ac3_andrews_1965(composition: Any) -> Array:
    """Temperature at which the last ferrite is gone on heating, Ac3 [K], shape (...), by Andrews's short form.

    Ac3 [C] = 910 - 203 sqrt(C) - 15.2 Ni + 44.7 Si + 104 V + 31.5 Mo + 13.1 W, composition [wt%] of shape (..., 11).
    Only below 0.70 %C and only where it lies above the same steel's Ac1: past the eutectoid it falls below Ac1 and
    means nothing (OutsideRange). Band 20 K either way. The long form is left out because published signs of its Cr,
    Cu, P, Al, As and Ti terms disagree. Source: Andrews 1965, as coded in two public programs.
    """
    steel = _low_alloy(composition)
    carbon = part(steel, "C")
    if np.any(carbon >= 0.70):
        raise OutsideRange(f"Ac3 is for steel below 0.70 %C, this has {float(carbon.max()):.2f} %C: use Ac1 and Acm")
    temperature = 910.0 - 203.0 * np.sqrt(carbon) + steel @ ANDREWS_AC3 + ZERO_CELSIUS
    if np.any(temperature < ac1_andrews_1965(steel)):
        raise OutsideRange(
            "the Ac3 formula falls below this steel's own Ac1, so it does not hold here: use Ac1 and Acm"
        )
    return np.asarray(temperature)


@cites(ref.ANDREWS_1965)
def ac3(composition: Any) -> Range:
    """Ac3 of one steel [K]: Andrews 1965 short form, 20 K either way. Composition [wt%], shape (11,)."""
    return Range.around(float(ac3_andrews_1965(composition)), AC3_EITHER_WAY)


@cites(ref.FE_C_CALPHAD, ref.LEE_LEE_2007)
def acm_fe_c(composition: Any) -> Array:
    """Temperature at which the last cementite dissolves on heating, Acm [K], shape (...).

    The calculated Fe-C limit at 0.80 to 1.20 %C, read linearly, shifted by 45 K per % Cr, 17 K per % Si and -5 K per
    % Ni (low confidence; slopes from the polynomial of Lee and Lee, whose carbon part is not used because it turns
    over at 1.07 %C). Composition [wt%] of shape (..., 11), Cr up to 2 %; outside raises OutsideRange. Band 20 K
    either way.
    """
    steel = _low_chromium(composition)
    carbon = within(part(steel, "C"), 0.80, 1.20, "carbon [wt%]", "the cementite limit is tabulated over this span")
    return np.interp(carbon, ACM_CARBON, ACM_CELSIUS) + steel @ ACM_SHIFT + ZERO_CELSIUS


@cites(ref.FE_C_CALPHAD, ref.LEE_LEE_2007)
def dissolved_carbon(composition: Any, temperature_K: Any) -> Array:
    """Carbon in solution in austenite at a hardening heat [wt%]: `acm_fe_c` read backwards, never more than the steel
    has.

    Composition [wt%] of shape (..., 11) and temperature [K] broadcast. Below and above the table its end slopes are
    carried on, 400 and 350 K per % C: at 727 C that gives 0.76 %, the eutectoid. Long soak assumed, so an upper
    estimate. Cr up to 2 %, else OutsideRange.
    """
    steel = _low_chromium(composition)
    celsius = np.asarray(temperature_K, dtype=float) - steel @ ACM_SHIFT - ZERO_CELSIUS
    return np.asarray(np.minimum(part(steel, "C"), np.interp(celsius, _DISSOLVED_CELSIUS, _DISSOLVED_CARBON)))


@cites(ref.FE_C_CALPHAD, ref.LEE_LEE_2007)
def acm(composition: Any) -> Range:
    """Acm of one steel [K], 20 K either way. Composition [wt%], shape (11,)."""
    return Range.around(float(acm_fe_c(composition)), ACM_EITHER_WAY)


def _low_chromium(composition: Any) -> Array:
    steel = _low_alloy(composition)
    within(part(steel, "Cr"), 0.0, 2.0, "chromium [wt%]", "the shift of the cementite limit is a small-addition slope")
    return steel
