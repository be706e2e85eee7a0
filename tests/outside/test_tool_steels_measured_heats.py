"""Tool Steels (ASM International), table 7-3: W-type tool steels, critical diameter measured after a brine quench, H
= 5.
"""

import numpy as np
import pytest
from scipy.constants import inch

from billet.metal.hardenability import SCATTER, ideal_diameter, ideal_diameter_a255
from billet.metal.limits import weight_percent
from tests.textbook.quench import round_for_ideal_diameter
from tests.truth.registry import How, Pairs, checks

BRINE = 5.0 / inch

# heat: C, Mn, Si, Cr, Ni, V, Mo [wt%], observed critical diameter [mm]
HEATS = {
    "1": (1.02, 0.09, 0.03, 0.05, 0.02, 0.03, 0.03, 3.8),
    "2": (1.03, 0.28, 0.15, 0.04, 0.02, 0.0, 0.0, 8.9),
    "3": (1.07, 0.15, 0.09, 0.05, 0.10, 0.0, 0.0, 5.1),
    "4": (1.07, 0.34, 0.22, 0.10, 0.03, 0.0, 0.0, 11.4),
    "5": (1.00, 0.24, 0.17, 0.09, 0.07, 0.01, 0.0, 11.4),
    "6": (1.09, 0.26, 0.26, 0.17, 0.20, 0.0, 0.0, 11.4),
    "7": (1.04, 0.29, 0.16, 0.15, 0.14, 0.03, 0.0, 12.7),
    "8": (1.00, 0.31, 0.28, 0.13, 0.07, 0.03, 0.0, 15.2),
    "9": (0.97, 0.46, 0.29, 0.17, 0.05, 0.0, 0.0, 20.3),
    "10": (0.99, 0.36, 0.31, 0.15, 0.17, 0.03, 0.0, 19.1),
    "11": (0.98, 0.50, 0.37, 0.23, 0.12, 0.03, 0.0, 22.9),
    "12": (0.94, 0.45, 0.36, 0.21, 0.16, 0.0, 0.0, 25.4),
}
LEANEST = "1"  # 0.09 % manganese: no blade steel is as lean


def composition(heat):
    C, Mn, Si, Cr, Ni, V, Mo, _ = HEATS[heat]
    return weight_percent(C=C, Mn=Mn, Si=Si, Cr=Cr, Ni=Ni, V=V, Mo=Mo)


def observed(heat):
    return HEATS[heat][-1] / 1000.0


@pytest.mark.parametrize("heat", sorted(set(HEATS) - {LEANEST}, key=int))
def test_measured_diameter_lies_in_the_stated_band(heat):
    band = ideal_diameter(composition(heat), certified=True)
    assert round_for_ideal_diameter(band.low, BRINE) <= observed(heat) <= round_for_ideal_diameter(band.high, BRINE)


def test_the_leanest_heat_hardens_even_less_than_the_band_says():
    """The formula's floor: about one sixth beyond the band, stated beside `SCATTER`."""
    low = ideal_diameter(composition(LEANEST), certified=True).low
    assert observed(LEANEST) < round_for_ideal_diameter(low, BRINE) < 1.5 * observed(LEANEST)


def test_without_the_correction_every_heat_is_overpredicted():
    """The reason for the correction: the printed equations read 1.2 to 2.8 times the observed diameter on these
    heats.
    """
    ratios = [round_for_ideal_diameter(float(ideal_diameter_a255(composition(h))), BRINE) / observed(h) for h in HEATS]
    assert min(ratios) > 1.2
    assert np.median(ratios) > SCATTER


@checks(
    "thickness each quench hardens through", "twelve heats of W tool steel in brine (Tool Steels, ASM, table 7-3)",
    How.IN_THE_FIT, unit="times", within=1.8,
)  # fmt: skip
def test_the_likely_diameter() -> Pairs:
    """The correction for high carbon was made from these."""
    for heat in HEATS:
        likely = ideal_diameter(composition(heat), certified=True).likely
        yield round_for_ideal_diameter(likely, BRINE), observed(heat)
