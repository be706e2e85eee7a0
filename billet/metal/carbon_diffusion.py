"""How fast carbon moves in austenite and in ferrite, and how chromium slows it.

Three forms that let the diffusivity rise with carbon agree within 13 % at 0.8 % C; a constant D0 and Q from a textbook
is the zero-carbon limit and 2.3 times too slow there.
"""

from typing import Any

import numpy as np

from billet.metal.limits import Array
from billet.metal.sources import Source, cites

R = 8.314462618  # molar gas constant [J/(mol K)], exact in the SI
CARBON_MOLAR = 12.011  # [g/mol]
IRON_MOLAR = 55.845  # [g/mol]
SLOWED_CHROMIUM_MAX = 3.0  # [wt%] beyond, the slowing is held at its value here: the fit saw low-alloy steel

AGREN_1986 = Source(
    "agren1986",
    "J. Agren, A revised expression for the diffusivity of carbon in binary Fe-C austenite, "
    "Scripta Metall. 20 (1986) 1507-1510",
    "second-hand",
)
AGREN_1982 = Source("agren1982", "J. Agren, carbon in ferrite, Acta Metall. 30 (1982) 841", "second-hand")
LEE_2011 = Source(
    "lee2011",
    "Lee, Matlock, Van Tyne, An Empirical Model for Carbon Diffusion in Austenite, ISIJ Int. 51 (2011) 1903-1911",
    "from memory",
)


def site_ratio(carbon: Any) -> Array:
    """Carbon atoms per iron atom [1] of Fe-C with `carbon` [wt%], any shape.

    y = x/(1 - x) with x the mole fraction, that is (w/12.011)/((100 - w)/55.845).
    """
    w = np.asarray(carbon, dtype=float)
    return w * (IRON_MOLAR / CARBON_MOLAR) / (100.0 - w)


@cites(AGREN_1986)
def carbon_in_austenite_agren_1986(carbon: Any, temperature_K: Any) -> Array:
    """Diffusivity of carbon in austenite [m2/s] at `carbon` [wt%] and `temperature_K` [K], broadcasting.

    D = 4.53e-7 [1 + y(1 - y) 8339.9/T] exp{-(1/T - 2.221e-4)(17767 - 26436 y)}, y the site ratio as a fraction.
    Austenite field of binary Fe-C; alloy is left out (nickel and manganese plates are within 10 %, chromium: see
    `chromium_slowing_lee_2011`). Either way 15 %.
    """
    y = site_ratio(carbon)
    T = np.asarray(temperature_K, dtype=float)
    return 4.53e-7 * (1.0 + y * (1.0 - y) * (8339.9 / T)) * np.exp((2.221e-4 - 1.0 / T) * (17767.0 - 26436.0 * y))


@cites(AGREN_1982)
def carbon_in_ferrite_agren_1982(temperature_K: Any) -> Array:
    """Diffusivity of carbon in ferrite [m2/s] at `temperature_K` [K], about 230 K to 1185 K. Either way 30 %.

    D = 2e-6 exp(-10115/T) exp{0.5898 [1 + (2/pi) atan(14.985 - 15309/T)]}.
    """
    T = np.asarray(temperature_K, dtype=float)
    return 2e-6 * np.exp(-10115.0 / T + 0.5898 * (1.0 + (2.0 / np.pi) * np.arctan(14.985 - 15309.0 / T)))


@cites(LEE_2011)
def carbon_in_austenite_lee_2011(
    carbon: Any,
    temperature_K: Any,
    *,
    chromium: Any = 0.0,
    manganese: Any = 0.0,
    silicon: Any = 0.0,
    nickel: Any = 0.0,
    molybdenum: Any = 0.0,
) -> Array:
    """Diffusivity of carbon in low-alloy austenite [m2/s], contents [wt%] and `temperature_K` [K] broadcasting.

    An Arrhenius form with D0 and Q linear in the alloy. Coefficients from memory, so use ratios rather than values.
    """
    C, Cr, Mn, Si, Ni, Mo = (
        np.asarray(content, dtype=float) for content in (carbon, chromium, manganese, silicon, nickel, molybdenum)
    )
    D0 = 1e-4 * (0.146 - 0.036 * C * (1.0 - 1.075 * Cr) - 0.0315 * Mn + 0.0509 * Si - 0.0085 * Ni + 0.3031 * Mo)
    alloyed = -4.3663 * Mn + 4.0507 * Si - 1.2407 * Ni + 12.1266 * Mo + 7.7260 * Cr
    Q = 1000.0 * (144.3 - 15.0 * C + 0.37 * C**2 + alloyed)
    return D0 * np.exp(-Q / (R * np.asarray(temperature_K, dtype=float)))


@cites(LEE_2011)
def chromium_slowing_lee_2011(carbon: Any, chromium: Any, temperature_K: Any) -> Array:
    """Diffusivity of carbon with chromium over that without [1]: 1 without chromium, about 0.6 at 1.5 % Cr.

    `carbon`, `chromium` [wt%], `temperature_K` [K], broadcasting. Above 3 % Cr the factor of 3 % is returned, a guess.
    Either way 20 %.
    """
    Cr = np.minimum(chromium, SLOWED_CHROMIUM_MAX)
    alloyed = carbon_in_austenite_lee_2011(carbon, temperature_K, chromium=Cr)
    return alloyed / carbon_in_austenite_lee_2011(carbon, temperature_K)
