"""A slab followed through its thickness by the method of lines: furnace or air on both faces, conduction between.

Conductivity and specific heat of carbon steel are EN 1993-1-2, 3.4.1, typed here again; the rest is Fourier's law in finite
volumes over half the thickness and SciPy's stiff integrator.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.constants import Stefan_Boltzmann
from scipy.integrate import solve_ivp

Array = NDArray[np.float64]
CELLS, DENSITY, ZERO = 24, 7850.0, 273.15


def conductivity(kelvin: Array) -> Array:
    """W/(m K): 54 falling by 3.33e-2 a degree to 800 C, 27.3 above."""
    return np.where(kelvin < 800 + ZERO, 54.0 - 3.33e-2 * (kelvin - ZERO), 27.3)


def specific_heat(kelvin: Array) -> Array:
    """J/(kg K), the four pieces of the standard."""
    c = kelvin - ZERO
    first = 425 + 0.773 * c - 1.69e-3 * c**2 + 2.22e-6 * c**3
    second = 666 + 13002 / np.maximum(738 - c, 1e-3)
    third = 545 + 17820 / np.maximum(c - 731, 1e-3)
    return np.where(c < 600, first, np.where(c < 735, second, np.where(c < 900, third, 650.0)))


def seconds_to(
    core_K: float, thickness: float, start_K: float, around_K: float, emissivity: float, air: float
) -> float:
    """Time [s] until the middle of a slab of `thickness` [m] reaches `core_K`, both faces in surroundings `around_K` [K];
    `air` [W/(m2 K)] is what moves beside radiation.
    """
    step = 0.5 * thickness / CELLS

    def rate(_: float, T: Array) -> Array:
        between = 0.5 * (conductivity(T[1:]) + conductivity(T[:-1])) * np.diff(T) / step
        face = T[-1]
        into = emissivity * Stefan_Boltzmann * (around_K**4 - face**4) + air * (around_K - face)
        flow = np.concatenate(([0.0], between, [into]))
        return np.diff(flow) / (DENSITY * specific_heat(T) * step)

    def arrived(_: float, T: Array) -> float:
        return float(T[0] - core_K)

    arrived.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        rate, (0.0, 1e5), np.full(CELLS, start_K), method="LSODA", events=arrived, rtol=1e-5, max_step=20.0
    )
    return float(found.t_events[0][0])
