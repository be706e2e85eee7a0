"""How hard hot carbon steel resists forging: two published correlations, for a single number and for arrays.

Both were fitted to hot rolling of plain carbon steels; the nickel of a bright layer is not in them. Take the two as a
range: they differ by a tenth to a third in the welding range.
"""

from typing import Any

import numpy as np

from billet.metal.limits import Array
from billet.metal.sources import Source, cites

KGF_PER_MM2 = 9.80665e6  # [Pa]

SHIDA_1969 = Source(
    "shida1969",
    "S. Shida, Empirical formula of flow stress of carbon steels, J. JSTP 10 (1969) 610-617; coefficients as coded in "
    "a public rolling package",
    "second-hand",
)
MISAKA_1967 = Source(
    "misaka1967",
    "Y. Misaka and T. Yoshimoto, Formulation of mean resistance of deformation of plain carbon steels at elevated "
    "temperature, J. JSTP 8 (1967) 414-422; coefficients as coded in a public rolling package",
    "second-hand",
)


@cites(SHIDA_1969)
def flow_stress_shida_1969(carbon_wt_percent: Any, strain: Any, strain_rate: Any, temperature_K: Any) -> Array:
    """Flow stress [Pa] of carbon steel at `carbon_wt_percent` [wt%], true `strain` [1], `strain_rate` [1/s],
    `temperature_K` [K].

    0.28 kgf/mm2 exp(5/T - 0.01/(C + 0.05)) (1.3 (e/0.2)^n - 0.3 e/0.2) (rate/10)^m, n = 0.41 - 0.07 C, T in 1000 K; m
    and a factor g change below the transformation at T = 0.95 (C + 0.41)/(C + 0.32). Broadcasting. Valid for C to 1.2,
    700 to 1200 C, strain to 0.7, 0.1 to 100 1/s (limits from memory).
    """
    C, e, rate = (np.asarray(v, dtype=float) for v in (carbon_wt_percent, strain, strain_rate))
    T = np.asarray(temperature_K, dtype=float) / 1000.0
    austenite = 0.95 * (C + 0.41) / (C + 0.32) <= T
    dip = 30.0 * (C + 0.9) * (T - 0.95 * (C + 0.49) / (C + 0.42)) ** 2 + (C + 0.06) / (C + 0.09)
    g = np.where(austenite, 1.0, dip)
    m_hot = (-0.019 * C + 0.126) * T + (0.075 * C - 0.05)
    m_cool = (0.081 * C - 0.154) * T + (-0.019 * C + 0.207) + 0.027 / (C + 0.32)
    hardened = 1.3 * (e / 0.2) ** (0.41 - 0.07 * C) - 0.3 * (e / 0.2)
    base = 0.28 * g * np.exp(5.0 / T - 0.01 / (C + 0.05))
    return np.asarray(KGF_PER_MM2 * base * hardened * (rate / 10.0) ** np.where(austenite, m_hot, m_cool))


@cites(MISAKA_1967)
def flow_stress_misaka_1967(carbon_wt_percent: Any, strain: Any, strain_rate: Any, temperature_K: Any) -> Array:
    """Mean flow stress [Pa] at `carbon_wt_percent` [wt%], true `strain` [1], `strain_rate` [1/s], `temperature_K` [K].

    kgf/mm2 exp(0.126 - 1.75 C + 0.594 C^2 + (2851 + 2968 C - 1120 C^2)/T) e^0.21 rate^0.13. Broadcasting. Valid for C
    to 1.2, 750 to 1200 C, strain to 0.5, 30 to 200 1/s (limits from memory); a press works slower than that.
    """
    C, e, rate = (np.asarray(v, dtype=float) for v in (carbon_wt_percent, strain, strain_rate))
    slope = 2851.0 + 2968.0 * C - 1120.0 * C**2
    hot = np.exp(0.126 - 1.75 * C + 0.594 * C**2 + slope / np.asarray(temperature_K, dtype=float))
    return np.asarray(KGF_PER_MM2 * hot * e**0.21 * rate**0.13)
