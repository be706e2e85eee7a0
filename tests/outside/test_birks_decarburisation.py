"""Birks, Meier, Pettit, Introduction to the High-Temperature Oxidation of Metals, ch. 5: carbon below a receding face.

The formula is from memory and was derived again: dC/dt = D C'' + X' C' below a face X = sqrt(2 kc t) held at Cs.
"""

from collections.abc import Callable

import numpy as np
import pytest

from billet.metal import solve
from billet.metal.carbon_diffusion import carbon_in_austenite_agren_1986
from billet.metal.decarburisation import (
    carbon_activity_under_scale,
    depth_in_profile,
    surface_carbon,
)
from billet.metal.limits import OutsideRange
from billet.metal.scale import parabolic_constant
from billet.metal.solve import Boundary, diffuse
from tests.textbook.diffusion import carbon_below_receding_face, depth_below_share, recession_constant

KELVIN, START = 273.15, 0.95


@pytest.fixture
def constant_diffusivity(monkeypatch: pytest.MonkeyPatch) -> float:
    """The formula knows one diffusivity [m2/s]: Agren's at half the carbon and 1100 C, for every content."""
    D = float(carbon_in_austenite_agren_1986(START / 2, 1373.15))
    everywhere: Callable[[float], object] = lambda _T: lambda carbon: np.full(len(carbon), D)  # noqa: E731
    monkeypatch.setattr(solve, "_agren", everywhere)
    return D


def face_mesh(length: float, recession: float) -> np.ndarray:
    """Cells [m] fine through the metal that will be eaten and two diffusion lengths on, then growing by a tenth."""
    fine = np.full(int((recession + 2 * length) / (length / 25)) + 1, length / 25)
    return np.concatenate([fine, length / 25 * 1.1 ** np.arange(1, 60)])


@pytest.mark.parametrize("scaling", [0.0, 0.25, 1.0, 4.0])
@pytest.mark.parametrize("minutes", [10, 60])
def test_the_solver_meets_the_formula_to_a_thousandth_percent_carbon(
    scaling: float, minutes: float, constant_diffusivity: float
) -> None:
    """1100 C, 0.95 % C, face at 0: largest difference anywhere below the final face under 1e-3 wt%."""
    D, seconds, kc = constant_diffusivity, 60.0 * minutes, float(recession_constant(1373.15)) * scaling
    lost = np.sqrt(2 * kc * seconds)
    h = face_mesh(np.sqrt(D * seconds), lost)
    face, start = Boundary(0.0, lost), np.full((len(h), 1), START)
    after = diffuse(h, start, [(1373.15, seconds)], elements=("C",), left=face, tolerance=2e-3)
    left = after.thickness > 0
    depth = (np.cumsum(after.thickness) - 0.5 * after.thickness)[left]
    expected = carbon_below_receding_face(depth, seconds, D, kc, START)
    assert np.abs(after.composition[left, 0] - expected).max() < 1e-3
    assert after.left.recession_m == pytest.approx(lost, rel=1e-9)


def test_both_faces_and_a_split_hold_give_the_same(constant_diffusivity: float) -> None:
    """Mirrored bar, the hold cut into three: the parabola goes on, so the formula still holds on both sides."""
    D, seconds, kc = constant_diffusivity, 600.0, float(recession_constant(1373.15))
    lost = np.sqrt(2 * kc * seconds)
    half = face_mesh(np.sqrt(D * seconds), lost)
    h = np.concatenate([half, half[::-1]])
    face = Boundary(0.0, lost)
    holds = [(1373.15, 60.0), (1373.15, 240.0), (1373.15, 300.0)]
    after = diffuse(h, np.full((len(h), 1), START), holds, elements=("C",), left=face, right=face)
    np.testing.assert_allclose(after.composition, after.composition[::-1], atol=1e-9)
    left = after.thickness[: len(half)] > 0
    depth = (np.cumsum(after.thickness) - 0.5 * after.thickness)[: len(half)][left]
    expected = carbon_below_receding_face(depth, seconds, D, kc, START)
    assert np.abs(after.composition[: len(half)][left, 0] - expected).max() < 1e-3


def test_with_no_recession_it_is_the_plain_error_function() -> None:
    """Crank eq. 3.13, erfc(1/2) = 0.479500 at one diffusion length."""
    assert carbon_below_receding_face(1e-3, 1e4, 1e-10, 0.0, 1.0) == pytest.approx(1 - 0.479500, abs=1e-6)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("celsius", "minutes", "share", "scaled_mm", "bare_mm"),
    [(900, 60, 0.5, 0.14, 0.18), (900, 60, 0.92, 0.40, 0.48), (1100, 10, 0.92, 0.45, 0.56), (1100, 60, 0.5, 0.38, 0.53),
     (1150, 10, 0.92, 0.55, 0.70), (1200, 10, 0.5, 0.23, 0.33), (1200, 60, 0.92, 1.64, 2.09)],
)  # fmt: skip
def test_depths(celsius: float, minutes: float, share: float, scaled_mm: float, bare_mm: float) -> None:
    """The same formula evaluated separately for 0.95 % C with dense scale (ratio 0.562), hundredths of a millimetre."""
    D = carbon_in_austenite_agren_1986(START / 2, celsius + KELVIN)
    kc = 0.562**2 * parabolic_constant(celsius + KELVIN) / 2
    assert depth_below_share(share, 60 * minutes, D, kc) * 1e3 == pytest.approx(scaled_mm, abs=0.0101)
    assert depth_below_share(share, 60 * minutes, D, 0.0) * 1e3 == pytest.approx(bare_mm, abs=0.0101)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("celsius", "activity"), [(800, 0.289), (900, 0.067), (1000, 0.0198), (1100, 0.0069), (1200, 0.0028)]
)
def test_activity_under_scale(celsius: float, activity: float) -> None:
    """FeO + C = Fe + CO, dG = 152300 - 152.24 T J/mol (Ellingham lines, from memory); two digits."""
    assert carbon_activity_under_scale(celsius + KELVIN) == pytest.approx(activity, rel=0.02)


def test_surface_carbon_is_a_tenth_at_900_and_a_hundredth_at_1200() -> None:
    """Those activities read back through Fe-C austenite (an open database): about 0.1 and 0.01 % C; refused below 850
    C.
    """
    assert surface_carbon(900 + KELVIN) == pytest.approx(0.1, abs=0.02)
    assert surface_carbon(1200 + KELVIN) == pytest.approx(0.01, abs=0.003)
    with pytest.raises(OutsideRange, match="below 850 C"):
        surface_carbon(800 + KELVIN)


def test_depth_is_read_from_a_profile() -> None:
    """By hand: cells of 1, 2, 2 mm with middles at 0.5, 2, 4 mm; 0.5 lies halfway between 0.4 and 0.6, at 3 mm."""
    assert depth_in_profile([1e-3, 2e-3, 2e-3], [0.2, 0.4, 0.6], 0.5) == pytest.approx(3e-3)
    assert depth_in_profile([1e-3, 2e-3], [0.7, 0.8], 0.5) == 0.0
    assert depth_in_profile([1e-3, 2e-3], [0.1, 0.2], 0.5) == pytest.approx(3e-3)
