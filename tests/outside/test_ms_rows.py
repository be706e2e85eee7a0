"""Martensite start rows: coefficients of the published companion code of Ingber and Kunert, steel research int. 93
(2022) 2100576.

The values below were worked out from those coefficients apart from this project, to whole degrees Celsius.
"""

import numpy as np
import pytest
from scipy.constants import zero_Celsius

from billet.metal import martensite
from billet.metal.critical_temperatures import dissolved_carbon
from billet.metal.limits import weight_percent

STEELS = {
    "1080": weight_percent(C=0.80, Mn=0.75, Si=0.22),
    "1095": weight_percent(C=0.95, Mn=0.40, Si=0.22),
    "15N20": weight_percent(C=0.75, Mn=0.40, Si=0.25, Cr=0.10, Ni=2.0),
    "half and half": weight_percent(C=0.775, Mn=0.575, Si=0.235, Cr=0.05, Ni=1.0),
    "52100": weight_percent(C=1.0, Mn=0.35, Si=0.25, Cr=1.45),
    "5160": weight_percent(C=0.60, Mn=0.88, Si=0.22, Cr=0.80),
}
ROWS = (
    martensite.ms_andrews_1965_linear,
    martensite.ms_andrews_1965_product,
    martensite.ms_steven_haynes_1956,
    martensite.ms_capdevila_2002,
    martensite.ms_van_bohemen_2012,
    martensite.ms_ingber_kunert_2022,
    martensite.ms_trzaska,
)
CELSIUS = {
    "1080": (178, 246, 157, 223, 217, 230, 191),
    "1095": (125, 250, 98, 188, 191, 194, 143),
    "15N20": (173, 235, 157, 214, 204, 222, 186),
    "half and half": (175, 241, 157, 218, 211, 226, 188),
    "52100": (88, 175, 51, 161, 166, 149, 104),
    "5160": (249, 260, 234, 272, 264, 274, 255),
}


@pytest.mark.regression
@pytest.mark.parametrize("steel", STEELS)
def test_published_rows(steel):
    assert [float(row(STEELS[steel])) - zero_Celsius for row in ROWS] == pytest.approx(CELSIUS[steel], abs=1.0)


@pytest.mark.parametrize("row", martensite.PUBLISHED_MS)
def test_rows_take_many_layers_at_once(row):
    layers = np.array(list(STEELS.values()))
    assert row(layers) == pytest.approx([float(row(layer)) for layer in layers], abs=1e-12)


def test_measured_1080_lies_in_the_band():
    """Measured martensite start of 1080: about 215 to 220 C (from memory)."""
    band = martensite.martensite_start(STEELS["1080"])
    assert band.low < 215 + zero_Celsius
    assert band.high > 220 + zero_Celsius


# Retained austenite [%] with van Bohemen's start at 20 C: rate 0.011 (Koistinen and Marburger) and van Bohemen's rate.
@pytest.mark.regression
@pytest.mark.parametrize(
    ("steel", "slow", "fast"),
    [("1080", 11, 8), ("half and half", 12, 8), ("1095", 15, 13), ("52100", 20, 19), ("5160", 7, 3)],
)
def test_retained_austenite(steel, slow, fast):
    ms = martensite.ms_van_bohemen_2012(STEELS[steel])
    koistinen = martensite.austenite_left(martensite.KOISTINEN_MARBURGER_RATE, ms)
    bohemen = martensite.austenite_left(martensite.rate_van_bohemen_2012(STEELS[steel]), ms)
    assert 100 * koistinen == pytest.approx(slow, abs=0.6)
    assert 100 * bohemen == pytest.approx(fast, abs=0.6)


def test_nine_tenths_backwards_leaves_one_tenth():
    """By definition of the fraction."""
    cold = martensite.temperature_for_martensite(0.011, 500.0)
    assert martensite.austenite_left(0.011, 500.0, cold) == pytest.approx(0.1, rel=1e-12)


def test_carbon_in_solution_of_1095():
    """Fe-C table read backwards at 785 C: between 0.90 % (782 C) and 0.95 % (801 C), by hand 0.908 less the silicon's
    shift.
    """
    bare = dissolved_carbon(weight_percent(C=0.95), 785 + zero_Celsius)
    assert bare == pytest.approx(0.908, abs=0.001)
    assert martensite.in_solution(STEELS["1095"], 785 + zero_Celsius)[0] < bare


def test_alloy_of_the_carbide_formers_is_left_in_place():
    assert martensite.in_solution(STEELS["52100"], 830 + zero_Celsius)[1:] == pytest.approx(STEELS["52100"][1:])
