"""Diffusivities: Agren 1986 and 1982 (second-hand, several public codes), Wert, Lee (from memory), and an open mobility
file.
"""

import pytest

from billet.metal.carbon_diffusion import (
    carbon_in_austenite_agren_1986,
    carbon_in_austenite_lee_2011,
    carbon_in_ferrite_agren_1982,
    chromium_slowing_lee_2011,
)
from billet.metal.limits import ELEMENTS
from billet.metal.solve import diffuse
from billet.metal.sources import sources_of
from billet.metal.substitutional_diffusion import SUBSTITUTIONAL, substitutional_in_austenite

KELVIN = 273.15


@pytest.mark.regression
@pytest.mark.parametrize(
    ("celsius", "carbon", "expected"),
    [
        (850, 0.0, 3.16e-12), (850, 0.8, 7.77e-12), (900, 0.4, 9.57e-12), (950, 1.0, 3.149e-11), (1000, 0.8, 4.404e-11),
        (1100, 0.0, 5.63e-11), (1150, 0.8, 1.731e-10), (1200, 0.4, 1.874e-10), (1250, 1.0, 4.299e-10),
    ],
)  # fmt: skip
def test_carbon_in_austenite(celsius: float, carbon: float, expected: float) -> None:
    """Agren 1986 evaluated from the printed constants in a separate program, 0.5 %."""
    assert carbon_in_austenite_agren_1986(carbon, celsius + KELVIN) == pytest.approx(expected, rel=5e-3)


def test_carbon_in_austenite_against_assessed_mobilities() -> None:
    """Interdiffusivity at 1000 C, 0.8 % C, computed from the Fe-C-Cr assessment that ships with kawin 0.5.0: 4.408e-11
    m2/s.
    """
    assert carbon_in_austenite_agren_1986(0.8, 1273.15) == pytest.approx(4.408e-11, rel=5e-3)


@pytest.mark.parametrize("celsius", [900, 1000, 1100, 1200])
def test_two_forms_agree_at_eutectoid_carbon(celsius: float) -> None:
    """Agren and Lee (coefficients from memory) rest on overlapping measurements: within 13 % at 0.8 % C."""
    ours = carbon_in_austenite_agren_1986(0.8, celsius + KELVIN)
    assert carbon_in_austenite_lee_2011(0.8, celsius + KELVIN) == pytest.approx(ours, rel=0.13)


@pytest.mark.regression
def test_a_bearing_steel_slows_carbon() -> None:
    """Lee 2011 for 1.0C-1.45Cr-0.35Mn-0.25Si at 1100 C is 0.77e-10 m2/s; its chromium alone slows, and none does
    nothing.
    """
    steel = carbon_in_austenite_lee_2011(1.0, 1373.15, chromium=1.45, manganese=0.35, silicon=0.25)
    assert steel == pytest.approx(0.77e-10, rel=5e-3)
    assert chromium_slowing_lee_2011(1.0, 0.0, 1373.15) == 1.0
    assert 0.5 < chromium_slowing_lee_2011(1.0, 1.45, 1373.15) < 0.75


@pytest.mark.regression
@pytest.mark.parametrize(("celsius", "expected"), [(600, 2.14e-11), (727, 1.301e-10), (850, 6.29e-10)])
def test_carbon_in_ferrite(celsius: float, expected: float) -> None:
    """Agren 1982 evaluated from the printed constants in a separate program, 0.5 %."""
    assert carbon_in_ferrite_agren_1982(celsius + KELVIN) == pytest.approx(expected, rel=5e-3)


def test_carbon_in_ferrite_against_wert() -> None:
    """Wert 1950, D0 = 0.02 cm2/s, 20100 cal/mol, gives 1.86e-11 m2/s at 600 C: within the 30 % stated."""
    assert carbon_in_ferrite_agren_1982(873.15) == pytest.approx(1.86e-11, rel=0.3)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("element", "expected"),
    [("Ni", 3.65e-15), ("Mn", 7.76e-15), ("Cr", 7.43e-15), ("Si", 1.48e-14), ("Mo", 9.42e-15), ("W", 4.29e-15),
     ("V", 1.07e-14), ("P", 8.8e-13), ("Cu", 5.1e-15), ("Co", 1.97e-15)],
)  # fmt: skip
def test_alloying_elements_at_1200(element: str, expected: float) -> None:
    """Arrhenius rows of the sources named in the table, evaluated separately; two or three digits."""
    assert substitutional_in_austenite(element, 1473.15) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(
    ("element", "other"),
    [("Ni", 2.67e-15), ("Ni", 8.7e-15), ("Mn", 6.28e-15), ("Cr", 1.27e-14), ("Mo", 1.13e-14), ("P", 3.3e-13)],
)
def test_a_second_source_lies_within_the_uncertainty(element: str, other: float) -> None:
    """At 1200 C: kawin's tracer nickel, Smithells nickel, Liu 2009, kawin's chromium, Alberry, Ueshima (some from
    memory).
    """
    ratio = other / float(substitutional_in_austenite(element, 1473.15))
    assert 1 / SUBSTITUTIONAL[element].uncertainty <= ratio <= SUBSTITUTIONAL[element].uncertainty


def test_every_alloying_element_has_a_row_and_the_solver_cites_it() -> None:
    """The table covers the composition's columns, and a carbon result can print its references."""
    assert set(SUBSTITUTIONAL) == set(ELEMENTS) - {"C"}
    assert {"agren1986", "oikawa1982"} <= {source.key for source in sources_of(diffuse, diffuse)}
