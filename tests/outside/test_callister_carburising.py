"""Callister, Materials Science and Engineering: the carburising example and design example of the diffusion chapter.

Inputs as printed in a published set of worked solutions to the book; the times are erf inverted by hand.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from tests.textbook.diffusion import semi_infinite

HOUR = 3600.0


def test_carburising_takes_seven_hours_with_the_diffusivity_given() -> None:
    """0.25 % C steel, face 1.20 %, 0.80 % at 0.5 mm, D = 1.6e-11 m2/s as given: 7.047 h (the book prints 7.1)."""
    felt = (0.80 - 0.25) / (1.20 - 0.25)
    seconds = brentq(lambda t: float(semi_infinite(0.5e-3, 1.6e-11, t)) - felt, HOUR, 100 * HOUR)
    assert seconds / HOUR == pytest.approx(7.047, abs=0.01)


def test_design_example_needs_this_diffusion_product() -> None:
    """0.20 % C, face 1.00 %, 0.60 % at 0.75 mm: D t = 6.182e-7 m2 whatever the temperature."""
    felt = (0.60 - 0.20) / (1.00 - 0.20)
    product = brentq(lambda Dt: float(semi_infinite(0.75e-3, Dt, 1.0)) - felt, 1e-8, 1e-5)
    assert product == pytest.approx(6.182e-7, rel=2e-4)


@pytest.mark.parametrize(("celsius", "hours"), [(900, 29.31), (950, 15.76), (1000, 8.894), (1050, 5.242)])
def test_design_example_times(celsius: float, hours: float) -> None:
    """The same with the book's D0 = 2.3e-5 m2/s, Q = 148 kJ/mol, R = 8.31 and +273, as worked."""
    D = 2.3e-5 * np.exp(-148e3 / (8.31 * (celsius + 273)))
    felt = (0.60 - 0.20) / (1.00 - 0.20)
    seconds = brentq(lambda t: float(semi_infinite(0.75e-3, D, t)) - felt, HOUR, 1000 * HOUR)
    assert seconds / HOUR == pytest.approx(hours, rel=2e-3)
