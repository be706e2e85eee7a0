"""What knife forges do, and what comes of it: common practice, no source, unless a line says otherwise."""

import pytest
from scipy.constants import convert_temperature, zero_Celsius

from billet.metal.colours import heat_colour
from billet.metal.tempering import Cycle, one_temper_for, tempered_hrc

HOUR = 3600.0
TWICE_AT_195 = [Cycle(195 + zero_Celsius, 2 * HOUR)] * 2


def test_two_by_two_hours_at_195():
    """Common practice, no source: about 61 HRC on a blade of 0.78 % carbon, so 61 must lie near the middle of the
    band.
    """
    band = tempered_hrc(0.78, TWICE_AT_195)
    assert band.likely == pytest.approx(61.0, abs=0.5)
    assert (band.low, band.high) == pytest.approx((59.5, 62.5), abs=0.3)


def test_four_hundred_fahrenheit():
    """Common practice, no source: 400 F, two hours twice, leaves a 10xx kitchen knife at about 60 HRC."""
    four_hundred = float(convert_temperature(400.0, "Fahrenheit", "Kelvin"))
    assert tempered_hrc(0.80, [Cycle(four_hundred, 2 * HOUR)] * 2).likely == pytest.approx(60.0, abs=0.75)


def test_two_equal_cycles_are_their_hours_together():
    """By Hollomon and Jaffe 1945: at one temperature times add."""
    whole = one_temper_for(TWICE_AT_195)
    assert (whole.temperature_K, whole.time_s) == pytest.approx((195 + zero_Celsius, 4 * HOUR))


def test_a_cooler_first_cycle_hardly_counts():
    """By hand: 448.15 (13.2 + log10 7200) / 468.15 - 13.2 = 3.129, so two hours at 175 C are 1345 s at 195 C."""
    whole = one_temper_for([Cycle(175 + zero_Celsius, 2 * HOUR), TWICE_AT_195[0]])
    assert whole.time_s - 2 * HOUR == pytest.approx(1345.0, rel=0.01)


# Dooley, Applied Science for Metal Workers: heat colours in dim light [C].
@pytest.mark.parametrize(("celsius", "name"), [(514, "first red"), (790, "dark cherry"), (1205, "bright orange")])
def test_heat_colours(celsius, name):
    assert heat_colour(celsius + zero_Celsius).name == name
