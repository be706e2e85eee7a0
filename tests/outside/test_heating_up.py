"""How much of a heating-up counts as time at heat, against a slab followed through its thickness.

Source: one-dimensional explicit model of a slab between the walls of a furnace of 1250 C (emissivity 0.8, heat of
EN 1993-1-2), both faces heated, the carbon counted at its core: minutes to heat, and the minutes at heat they count as.
"""

import numpy as np
import pytest

from billet.heating.heats import coming_up
from billet.metal.carbon_diffusion import carbon_in_austenite_agren_1986
from billet.metal.heat_through import radiation_limited_seconds, share_of_rise
from billet.metal.scale import parabolic_constant
from tests.making import ledger_of

COUNTS = [  # thickness [mm], to [C], minutes, counts as minutes of scale, of carbon
    (10, 1100, 2.5, 0.3, 0.4), (25, 1100, 6.3, 0.8, 0.9), (50, 1100, 12.5, 1.6, 1.8),
    (10, 1200, 3.3, 0.65, 0.7), (25, 1200, 8.2, 1.6, 1.8), (50, 1200, 16.4, 3.2, 3.6),
]  # fmt: skip


@pytest.mark.regression
@pytest.mark.parametrize(("mm", "celsius", "minutes", "scale", "carbon"), COUNTS)
def test_what_a_heating_up_counts_as(mm, celsius, minutes, scale, carbon):
    """The printed minutes are rounded to a tenth."""
    top = celsius + 273.15
    rise = radiation_limited_seconds(mm * 1e-3, 1523.15, top) / 60.0
    assert rise == pytest.approx(minutes, abs=0.06 * minutes)
    for rate, counts in ((parabolic_constant, scale), (lambda T: carbon_in_austenite_agren_1986(0.6, T), carbon)):
        assert share_of_rise(top, rate) * rise == pytest.approx(counts, abs=0.05 + 0.05 * counts)


@pytest.mark.parametrize(("celsius", "least", "most"), [(1100, 0.12, 0.16), (1200, 0.20, 0.24)])
def test_the_share_is_an_eighth_to_a_fifth(celsius, least, most):
    """The rule of thumb from the same model: 12 % of the time at 1100 C, 20 % at 1200 C, carbon a little more."""
    heat = celsius + 273.15
    assert least <= coming_up(heat, 25e-3) / (0.3 * 60.0 * 25.0) <= most


def test_nothing_moves_below_the_heat_at_which_carbon_moves():
    """Below about 727 C carbon sits in carbides (iron-carbon diagram)."""
    assert coming_up(990.0, 50e-3) == 0.0


def test_a_short_heat_of_a_thick_bar_levels_as_a_longer_one_would():
    """Two minutes at 1200 C of 50 mm: coming up counts for as much again and more (3.6 min), so the carbon lost to the
    fire is that of 5.6 min and not of 2; loss goes with the square root of time (Crank).
    """

    def missing(thickness):
        book = ledger_of(
            [f"1095 {thickness}"], [{"do": "heat", "heat": "1200 C", "time": "2 min"}], diffuse=True,
            shop={"atmosphere": "oxidising", "scale_per_heat": "0.1 mm"},
        )  # fmt: skip
        bar = book.last
        carbon = np.array(bar.laminate.composition[:, 0])
        return float(bar.laminate.thickness @ (carbon.max() - carbon))

    thick, thin = missing("50 mm"), missing("10 mm")
    assert thick / thin == pytest.approx(np.sqrt((2 + 0.22 * 15) / (2 + 0.22 * 3)), rel=0.06)
