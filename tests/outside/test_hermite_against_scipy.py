"""Small replacements of slow-loading parts of SciPy against SciPy itself (reference library), to rounding."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import cumulative_trapezoid
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator

from billet.base.hermite import hermite, through
from billet.base.interpolation import running_integral
from billet.metal.constants import INCH, STEFAN_BOLTZMANN, ZERO_CELSIUS


@pytest.mark.parametrize("count", [2, 3, 4, 9])
@pytest.mark.parametrize("seed", range(6))
def test_curves_through_points(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.cumsum(rng.uniform(0.1, 2.0, count))
    y = rng.choice([-1.0, 0.0, 1.0], count) * rng.uniform(0, 3, count)
    at = np.linspace(x[0] - 0.3, x[-1] + 0.3, 400)
    mine, wanted = through(x, y), PchipInterpolator(x, y)
    assert mine(at) == pytest.approx(wanted(at), abs=1e-12)
    assert mine(at, 1) == pytest.approx(wanted(at, 1), abs=1e-11)


def test_curves_of_given_slopes() -> None:
    x, y, slopes = (0.0, 0.7, 1.0), (1.0, -2.0, 0.5), (3.0, 0.0, -1.0)
    at = np.linspace(-0.2, 1.2, 300)
    assert hermite(x, y, slopes)(at) == pytest.approx(CubicHermiteSpline(x, y, slopes)(at), abs=1e-12)


def test_running_integrals() -> None:
    at = np.linspace(-1, 2, 50) ** 3
    values = np.random.default_rng(1).uniform(-1, 1, (4, 50))
    assert running_integral(values, at) == pytest.approx(cumulative_trapezoid(values, at, axis=1, initial=0))


def test_constants_of_physics() -> None:
    found = (ZERO_CELSIUS, INCH, STEFAN_BOLTZMANN)
    assert found == pytest.approx((constants.zero_Celsius, constants.inch, constants.Stefan_Boltzmann), rel=1e-9)
