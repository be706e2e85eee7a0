"""The half-temperature criterion against hand values of the exact series and against an explicit heat-flow
calculation.
"""

from math import inf, log, pi

import numpy as np
import pytest
from scipy.constants import inch
from scipy.integrate import solve_ivp

from billet.metal.quench import (
    half_temperature_time_plate,
    half_temperature_time_round,
    ideal_diameter_for_plate,
    plate_for_ideal_diameter,
)
from tests.textbook.quench import round_for_ideal_diameter
from tests.truth.registry import How, Pairs, checks


def test_ideal_quench_of_a_plate():
    """First term alone, by hand: (4/pi) exp(-pi^2/4 Fo) = 1/2 gives Fo = (4/pi^2) ln(8/pi) = 0.3788; the next moves
    1e-4.
    """
    assert half_temperature_time_plate(inf) == pytest.approx(4 / pi**2 * log(8 / pi), abs=2e-4)
    assert half_temperature_time_plate(inf) == pytest.approx(0.3787, abs=1e-4)  # tabulated in conduction texts


def test_ideal_quench_of_a_round():
    """Tabulated in conduction texts: first term 1.6020 exp(-5.7831 Fo) = 1/2 gives 0.2013, the second lowers it."""
    assert half_temperature_time_round(inf) == pytest.approx(0.2005, abs=1e-4)


def test_plate_to_round_ratio_of_an_ideal_quench():
    """Grossmann, Asimow and Urban 1939 (from memory): a plate of 0.73 of the diameter."""
    assert plate_for_ideal_diameter(1.0, inf) == pytest.approx(0.728, abs=1e-3)


def centre_half_time(biot, geometry):
    """Fo at which the centre is half cooled, by finite volumes in the half section (0: plate, 1: round)."""
    n = 200
    faces = np.linspace(0.0, 1.0, n + 1)
    area, volume = faces**geometry, np.diff(faces ** (geometry + 1)) / (geometry + 1)
    outer = area[-1] / (1.0 / biot + 0.5 / n)

    def rate(_, theta):
        flow = np.concatenate(([0.0], -area[1:-1] * np.diff(theta) * n, [outer * theta[-1]]))
        return -np.diff(flow) / volume

    def half(_, theta):
        return theta[0] - 0.5

    half.terminal = True
    return solve_ivp(rate, (0.0, 50.0), np.ones(n), method="LSODA", events=half, rtol=1e-7, atol=1e-9).t_events[0][0]


@checks(
    "thickness each quench hardens through",
    "time to half heat at the middle, by finite volumes (SciPy)",
    How.METHOD,
    unit="%",
    within=0.1,
)
def test_series_against_finite_volumes() -> Pairs:
    """Two hundred cells are good to 1e-4 of the time."""
    for biot in (0.05, 0.3, 1.0, 5.0):
        yield half_temperature_time_plate(biot), centre_half_time(biot, 0)
        yield half_temperature_time_round(biot), centre_half_time(biot, 1)


# Plate thickness [mm] by ideal diameter [mm] and severity [1/in]: worked out apart from this project, to 0.1 mm.
SEVERITIES = (0.25, 0.35, 0.5, 0.7, 1.0, 2.0, 5.0)
PLATES = {
    15.0: (0.6, 0.9, 1.3, 1.7, 2.4, 4.3, 7.1),
    20.0: (1.1, 1.6, 2.2, 3.0, 4.2, 6.9, 10.5),
    25.4: (1.8, 2.5, 3.5, 4.8, 6.4, 10.1, 14.2),
    30.0: (2.5, 3.5, 4.9, 6.5, 8.6, 13.0, 17.5),
    38.1: (4.0, 5.5, 7.6, 10.0, 12.8, 18.2, 23.2),
    50.8: (7.1, 9.6, 12.8, 16.4, 20.2, 26.8, 32.3),
}
ROUNDS_AT_HALF = {15.0: 2.5, 20.0: 4.3, 25.4: 6.8, 30.0: 9.2, 38.1: 14.1, 50.8: 23.0}


@pytest.mark.regression
@pytest.mark.parametrize("diameter", PLATES)
def test_plate_table(diameter):
    plates = [1000 * plate_for_ideal_diameter(diameter / 1000, severity / inch) for severity in SEVERITIES]
    assert plates == pytest.approx(PLATES[diameter], abs=0.051)


@pytest.mark.regression
@pytest.mark.parametrize("diameter", ROUNDS_AT_HALF)
def test_round_table(diameter):
    assert 1000 * round_for_ideal_diameter(diameter / 1000, 0.5 / inch) == pytest.approx(
        ROUNDS_AT_HALF[diameter], abs=0.051
    )


@pytest.mark.parametrize("diameter", [0.005, 0.02, 0.08])
@pytest.mark.parametrize("severity", [0.1, 0.6, 5.0, 50.0])
def test_backwards_undoes_forwards(diameter, severity):
    plate = plate_for_ideal_diameter(diameter, severity / inch)
    assert ideal_diameter_for_plate(plate, severity / inch) == pytest.approx(diameter, rel=1e-8)
