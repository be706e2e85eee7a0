"""Crank, The Mathematics of Diffusion, 2nd ed. (1975), equation numbers from memory; the values were summed
independently.
"""

import numpy as np
import pytest

from billet.metal.lamella import rms_contrast
from billet.metal.solve import diffuse, diffusion_lengths
from tests.textbook.diffusion import contrast, couple, fourier_number, lamella_profile, semi_infinite, slab_uptake


@pytest.mark.parametrize(
    ("fourier", "left"),
    [(0.01, 0.999186), (0.05, 0.772312), (0.1, 0.474487), (0.2, 0.176867), (0.5, 0.00915699)],
)
def test_contrast_of_equal_lamellae_follows_the_cosine_series(fourier: float, left: float) -> None:
    """Mid-layer contrast (4/pi) sum (-1)^n/(2n+1) exp(-(2n+1)^2 pi^2 Fo), to the digits given."""
    assert contrast(fourier) == pytest.approx(left, abs=6e-7)


@pytest.mark.parametrize(("left", "fourier"), [(0.9, 0.03254), (0.5, 0.09469), (0.1, 0.25778), (0.01, 0.49108)])
def test_fourier_numbers_of_fading(left: float, fourier: float) -> None:
    """The same series solved for Fo, four digits; the slope d ln(contrast)/d Fo is at most pi^2 there."""
    assert contrast(fourier) == pytest.approx(left, rel=2e-4)


@pytest.mark.parametrize(("fourier", "share"), [(0.05, 0.252313), (0.2, 0.504088), (1.0, 0.931260)])
def test_slab_uptake_eq_4_18(fourier: float, share: float) -> None:
    """Mt/Minf of a slab with fixed faces; early time 2 sqrt(Dt/(pi l^2)) meets the series at 0.05."""
    assert slab_uptake(fourier) == pytest.approx(share, abs=6e-7)


def test_half_space_and_couple_eq_3_13_and_2_14() -> None:
    """At x = sqrt(Dt) the tables give erfc(1/2) = 0.479500 and half of it."""
    assert semi_infinite(1.0, 1.0, 1.0) == pytest.approx(0.479500, abs=6e-7)
    assert couple(1.0, 1.0, 1.0) == pytest.approx(0.239750, abs=6e-7)


@pytest.mark.parametrize("fourier", [0.02, 0.08, 0.3])
def test_profile_agrees_with_crank_sine_series(fourier: float) -> None:
    """The sum over images against 1/2 + (2/pi) sum sin((2n+1) pi x)/(2n+1) exp(-(2n+1)^2 pi^2 Fo), summed here."""
    x, odd = np.linspace(0.05, 1.95, 39), 2.0 * np.arange(40)[:, np.newaxis] + 1.0
    sine = 0.5 + (2 / np.pi) * np.sum(np.sin(odd * np.pi * x) / odd * np.exp(-((odd * np.pi) ** 2) * fourier), axis=0)
    np.testing.assert_allclose(lamella_profile(x, fourier), sine, atol=1e-12)


@pytest.mark.parametrize("fourier", [0.02, 0.1])
def test_rms_contrast_is_that_of_the_profile(fourier: float) -> None:
    """Parseval: twice the deviation of the profile, averaged over a period by midpoints (1e4 of them)."""
    x = (np.arange(10_000) + 0.5) / 5000
    assert rms_contrast(fourier) == pytest.approx(2 * np.std(lamella_profile(x, fourier)), rel=1e-6)


def test_thinning_adds_fourier_numbers() -> None:
    """Worked schedule: 10 min at 1150 C at 2.5 mm layers, then three 5 min heats at a quarter of it; hand sum of
    Dt/h^2.
    """
    total = fourier_number([1e-10, 5e-11, 5e-11, 5e-11], [600, 300, 300, 300], [2.5e-3, *[0.625e-3] * 3])
    assert total == pytest.approx(6e-8 / 6.25e-6 + 3 * 1.5e-8 / 0.390625e-6, rel=1e-12)


@pytest.mark.parametrize("fourier", [0.03, 0.1, 0.3])
def test_the_solver_follows_the_lamella_series(fourier: float) -> None:
    """Nickel has a constant diffusivity, so 80 cells must follow the series: 0.4 % of the first contrast."""
    period, hold = 80, [(1473.15, 3600.0)]
    layer = float(diffusion_lengths(hold, elements=("Ni",))[0]) / np.sqrt(fourier)
    nickel = np.repeat([2.0, 0.0], period // 2)[:, np.newaxis]
    shifted = np.roll(nickel, period // 4, axis=0)  # half a layer at each sealed face: the row goes on by reflection
    after = diffuse(np.full(period, 2 * layer / period), shifted, hold, elements=("Ni",)).composition[:, 0]
    x = (np.arange(period) + 0.5) * 2 / period - 0.5
    np.testing.assert_allclose(after, 2.0 * lamella_profile(x, fourier), atol=8e-3)


def test_the_solver_follows_a_couple() -> None:
    """Two plates of many diffusion lengths joined: eq. 2.14 on both sides, 0.4 % of the step."""
    hold = [(1473.15, 3600.0)]
    length = float(diffusion_lengths(hold, elements=("Cr",))[0])
    h = np.full(320, length / 20)
    after = diffuse(h, np.repeat([[1.0], [0.0]], 160, axis=0), hold, elements=("Cr",)).composition[160:, 0]
    np.testing.assert_allclose(after, couple((np.arange(160) + 0.5) * length / 20, length**2, 1.0), atol=4e-3)
