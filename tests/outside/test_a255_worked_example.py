"""ASTM A255-10 (2014), as printed on the hardenability page of a public metallurgical handbook."""

import pytest
from scipy.constants import inch

from billet.metal.hardenability import alloy_factors, carbon_factor, ideal_diameter, ideal_diameter_a255
from billet.metal.hardness import as_quenched_hrc, martensite_hrc_a255
from billet.metal.limits import OutsideRange, weight_percent

# The standard's worked example: composition in weight percent, its printed factors, its ideal diameter in inches.
EXAMPLE = weight_percent(C=0.22, Mn=0.80, Si=0.18, Ni=0.10, Cr=0.43, Mo=0.25, Cu=0.10, V=0.05)
PRINTED = {"Mn": 3.667, "Si": 1.126, "Ni": 1.036, "Cr": 1.929, "Mo": 1.75, "Cu": 1.04, "V": 1.09}


def test_ideal_diameter_of_the_worked_example():
    """Printed 1.95 in from factors rounded to three decimals; the equations themselves come 0.02 in lower."""
    assert ideal_diameter_a255(EXAMPLE) / inch == pytest.approx(1.95, abs=0.02)


@pytest.mark.parametrize("element", PRINTED)
def test_each_factor_of_the_worked_example(element):
    """Printed to two or three decimals; manganese is rounded up from 3.6666, vanadium to 1.09 from 1.0865."""
    assert alloy_factors(EXAMPLE)[element] == pytest.approx(PRINTED[element], abs=0.004)


def test_carbon_factor_of_the_worked_example():
    assert carbon_factor(0.22) == pytest.approx(0.119, abs=0.0005)


@pytest.mark.parametrize("joint", [0.39, 0.55, 0.65, 0.75])
def test_the_pieces_of_the_carbon_factor_meet(joint):
    """The standard's base diameters are one smooth curve in print: neighbouring equations agree where they meet."""
    assert carbon_factor(joint + 1e-9) == pytest.approx(float(carbon_factor(joint)), rel=0.01)


# 100 % martensite by carbon, worked out from the standard's equation apart from this project.
@pytest.mark.regression
@pytest.mark.parametrize(
    ("carbon", "hrc"),
    [(0.20, 44.4), (0.30, 50.5), (0.40, 56.3), (0.50, 61.2), (0.60, 64.6), (0.65, 65.5), (0.69, 65.8)],
)
def test_martensite_hardness_equation(carbon, hrc):
    assert martensite_hrc_a255(carbon) == pytest.approx(hrc, abs=0.06)


def test_the_hardness_equation_is_refused_where_it_falls():
    with pytest.raises(OutsideRange, match=r"0\.70 %C"):
        martensite_hrc_a255(0.90)


# Measured as quenched, plain carbon steels of Hollomon and Jaffe 1945 (open tempering data set, CC BY 4.0).
@pytest.mark.parametrize(("carbon", "measured"), [(0.56, 63.0), (0.74, 66.5), (0.89, 67.0), (0.98, 66.5), (1.15, 64.5)])
def test_as_quenched_band_holds_the_measured_hardness(carbon, measured):
    """The readings are to half a point, so half a point of slack."""
    band = as_quenched_hrc(carbon)
    assert band.low - 0.5 <= measured <= band.high + 0.5


def test_an_ordinary_heat_hardens_deeper_by_two_fifths():
    """Cr .10 Ni .08 Mo .02 Cu .15 (from memory) multiply the factors: 1.216 x 1.029 x 1.06 x 1.055 = 1.40."""
    unknown = ideal_diameter(weight_percent(C=0.75, Mn=0.75, Si=0.22))
    assert unknown.high / unknown.low == pytest.approx(1.40, abs=0.01)
