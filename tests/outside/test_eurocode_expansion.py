"""EN 1993-1-2, 3.4.1: elongation, conductivity and specific heat of carbon steel; a lattice check."""

import pytest

from billet.metal.expansion import density, elongation
from billet.metal.heat_through import (
    heat_through,
    radiation_limited_seconds,
    specific_heat,
)
from billet.metal.limits import OutsideRange

KELVIN = 273.15


@pytest.mark.regression
@pytest.mark.parametrize(
    ("celsius", "percent"),
    [(20, 0.0), (600, 0.83984), (800, 1.10), (900, 1.18), (1100, 1.58), (1150, 1.68), (1200, 1.78)],
)
def test_elongation(celsius: float, percent: float) -> None:
    """Equations 3.1a to 3.1c by hand: 1.2e-5 T + 0.4e-8 T^2 - 2.416e-4, the plateau, 2e-5 T - 6.2e-3."""
    assert elongation(celsius + KELVIN) * 100 == pytest.approx(percent, abs=1e-4)


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


@pytest.mark.regression
@pytest.mark.parametrize(("celsius", "cp"), [(20, 439.8), (600, 760.2), (735, 5000.0), (1000, 650.0)])
def test_thermal_properties(celsius: float, cp: float) -> None:
    """Values printed with the standard's curves: cp peaks at 5000 J/(kg K) at 735 C; one unit in the last digit."""
    assert specific_heat(celsius + KELVIN) == pytest.approx(cp, abs=0.6)


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
