"""Solidus of Fe-C computed with two open thermodynamic databases (in agreement to 1 C)."""

import numpy as np
import pytest

from billet.metal.limits import OutsideRange
from billet.metal.solidus import red_line, solidus
from tests.truth.registry import How, Pairs, checks

CARBON = np.array([0.4, 0.6, 0.75, 0.8, 0.95, 1.0, 1.2, 1.4, 1.5, 1.8, 2.0])
SOLIDUS_C = np.array([1454, 1418, 1392, 1383, 1357, 1348, 1312, 1276, 1257, 1200, 1160])


HOTTEST = "hottest a stack may be forged"


@checks(
    HOTTEST,
    "solidus of iron and carbon by two open databases, 0.4 to 2.0 % carbon",
    How.IN_THE_FIT,
    unit="C",
    within=1.5,
)
def test_solidus_of_iron_and_carbon() -> Pairs:
    """The line is rounded to 1 C."""
    return list(zip(solidus(CARBON, alloy_shift=0.0) - 273.15, SOLIDUS_C, strict=True))


@checks(
    HOTTEST,
    "iron-carbon diagram, textbook: 1495 C at 0.17 % carbon, past the end of the fit",
    How.HELD_OUT,
    unit="C",
    within=4.0,
)
def test_the_fit_goes_on_to_the_peritectic() -> Pairs:
    """Austenite of 0.17 % C begins to melt at the peritectic."""
    return [(float(solidus(0.17, alloy_shift=0.0)) - 273.15, 1495.0)]


@checks(
    HOTTEST, "an old forge manual: welds readily at 1.1 % carbon, scarcely at 1.5 %, heat 1150 C up (in words)",
    How.HELD_OUT, unit="C", within=1.0,
)  # fmt: skip
def test_welding_is_reported_scarcely_possible_where_red_is_low() -> Pairs:
    """C. Ilgen: readily is read as 50 C and more of room above 1150 C, scarcely as none."""
    yield float(red_line(1.1)) - 273.15, (1200.0, 1495.0)
    yield float(red_line(1.5)) - 273.15, (0.0, 1150.0)


def test_common_steel_melts_lower_than_iron_and_carbon() -> None:
    """0.75 Mn + 0.2 Si cost 9 C, 0.02 % P a further 12 C (computed): taken together as 20."""
    assert solidus(0.8, alloy_shift=0.0) - solidus(0.8) == pytest.approx(9 + 12, abs=1.01)


def test_a_stack_is_limited_by_its_richest_plate() -> None:
    """Computed solidus of 0.95 % C is 1357 C; less 20 for alloy and the margin of 100 (judgement)."""
    assert red_line(np.array([0.2, 0.75, 0.95])) - 273.15 == pytest.approx(1357 - 20 - 100, abs=1.5)


def test_below_the_fit_the_answer_is_careful() -> None:
    """Pure iron melts at 1538 C and 0.17 % C begins at 1495 C (peritectic, textbook): the value returned is lower."""
    assert solidus(0.0, alloy_shift=0.0) - 273.15 <= 1495


@pytest.mark.parametrize("carbon", [0.0, 0.05, 0.1, 0.15])
def test_soft_iron_is_told_no_higher_than_the_peritectic(carbon: float) -> None:
    """Fe-C, textbook: below 0.17 % C melting begins between 1495 C and 1538 C, the line of delta iron."""
    assert 1485 < solidus(carbon, alloy_shift=0.0) - 273.15 <= 1495


@pytest.mark.parametrize(("carbon", "chromium"), [(2.2, 0.0), (0.9, 13.0), (np.nan, 0.0)])
def test_refuses_what_the_fit_never_saw(carbon: float, chromium: float) -> None:
    """Cast iron, stainless and an unknown carbon have no answer here."""
    with pytest.raises(OutsideRange):
        red_line(carbon, chromium)
