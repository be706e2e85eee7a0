"""EN 1993-1-2, 3.4.1: elongation, conductivity and specific heat of carbon steel; a lattice check."""

import numpy as np
import pytest

from billet.metal.expansion import cold_length, density, elongation, hot_length
from billet.metal.heat_through import (
    conduction_seconds,
    conductivity,
    heat_through,
    radiation_limited_seconds,
    specific_heat,
)
from billet.metal.limits import OutsideRange

KELVIN = 273.15


@pytest.mark.parametrize(
    ("celsius", "percent"),
    [(20, 0.0), (600, 0.83984), (800, 1.10), (900, 1.18), (1100, 1.58), (1150, 1.68), (1200, 1.78)],
)
def test_elongation(celsius: float, percent: float) -> None:
    """Equations 3.1a to 3.1c by hand: 1.2e-5 T + 0.4e-8 T^2 - 2.416e-4, the plateau, 2e-5 T - 6.2e-3."""
    assert elongation(celsius + KELVIN) * 100 == pytest.approx(percent, abs=1e-4)


def test_hot_and_cold_undo_each_other() -> None:
    """Cold = hot/(1 + e); 100 mm cold is 101.78 mm at 1200 C."""
    assert hot_length(0.1, 1473.15) == pytest.approx(0.10178, abs=1e-7)
    assert cold_length(hot_length(0.1, 1473.15), 1473.15) == pytest.approx(0.1, rel=1e-14)


def test_density_at_heat_against_the_lattice() -> None:
    """7850/1.0178^3 = 7445 kg/m3; the lattice of austenite (Onink 1993, from memory) gives 7483, 0.6 % apart."""
    a = 0.363067e-9 * (1 + 24.92e-6 * (1473.15 - 1000))
    lattice = 4 * 55.845e-3 / 6.02214076e23 / a**3
    assert density(1473.15) == pytest.approx(7850 / 1.0178**3, rel=1e-9)
    assert density(1473.15) == pytest.approx(lattice, rel=6e-3)


def test_refuses_beyond_steel() -> None:
    """The standard says nothing about molten steel."""
    with pytest.raises(OutsideRange):
        elongation(1500 + KELVIN)


@pytest.mark.parametrize(
    ("celsius", "k", "cp"), [(20, 53.3, 439.8), (600, 34.0, 760.2), (735, 29.5, 5000.0), (1000, 27.3, 650.0)]
)
def test_thermal_properties(celsius: float, k: float, cp: float) -> None:
    """Values printed with the standard's curves: cp peaks at 5000 J/(kg K) at 735 C; one unit in the last digit."""
    assert conductivity(celsius + KELVIN) == pytest.approx(k, abs=0.06)
    assert specific_heat(celsius + KELVIN) == pytest.approx(cp, abs=0.6)


@pytest.mark.parametrize(("mm", "seconds"), [(10, 9.2), (25, 57.4), (51, 239.0)])
def test_conduction_is_no_bottleneck(mm: float, seconds: float) -> None:
    """Fo = 1.964 is where 4/pi exp(-pi^2 Fo/4) = 0.01 (Crank's slab); a = 27.3/(7850 x 650) = 5.35e-6 m2/s by hand."""
    assert 4 / np.pi * np.exp(-(np.pi**2) * 1.964 / 4) == pytest.approx(0.01, rel=2e-3)
    assert conduction_seconds(mm / 1e3) == pytest.approx(1.964 * (mm / 2e3) ** 2 / 5.35e-6, rel=1e-3)
    assert conduction_seconds(mm / 1e3) == pytest.approx(seconds, rel=0.02)


@pytest.mark.parametrize(("mm", "minutes"), [(10, 2.9), (20, 5.8), (25.4, 7.5), (40, 12.1), (50.8, 15.7), (75, 24.2)])
def test_time_to_heat_against_a_slab_with_gradients(mm: float, minutes: float) -> None:
    """A separate 1-D slab computation (1250 C, emissivity 0.8, h 20, the standard's properties): core at 1150 C.

    The bar without gradients is a little quick, 15 % at 75 mm; the rule of 0.3 min per mm holds it within its band.
    """
    assert radiation_limited_seconds(mm / 1e3, 1523.15, 1423.15) / 60 == pytest.approx(minutes, rel=0.15)
    band = heat_through(mm / 1e3)
    assert band.low / 60 < minutes < band.high / 60


def test_one_face_takes_twice_as_long() -> None:
    """Half the flux for the same metal."""
    assert heat_through(0.02, 1).likely == pytest.approx(2 * heat_through(0.02).likely)
    with pytest.raises(OutsideRange, match="one or both"):
        heat_through(0.02, 3)
