"""Twist: turns, hands, stars and angles, against the geometry of a wound round bar worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import gamma

from billet.bar.trace import trace
from billet.base.messages import RefusedError
from billet.forming.round_section import Wound, disc_angle, mass_a_length, square
from billet.steps.join import join
from billet.steps.twist import skin_shear
from tests.examples import bench, marked, step

SIDE = 14e-3


def blank(length: float = 0.15):
    """A square bar of fine layers."""
    return marked(length, SIDE, SIDE)


def wound(turns: object = 2, *, corners: float = 0.4, hand: str = "right"):
    """A bar twisted cold, so that its section stays the size it was."""
    return step(f'do = "twist"\nturns = {turns}\ncorners = {corners}\nhand = "{hand}"').apply(blank(), bench()).bar


def height(bar, x, y, z) -> np.ndarray:
    """Height in the laminate [m]."""
    return trace(bar.material, *np.broadcast_arrays(*(np.asarray(a, float) for a in (x, y, z)))).z


def line_angle(bar, x: float, z: float) -> float:
    """Angle of the layer lines to the bar's length in a cut at depth z, on the centre line y = 0 [rad]."""
    e = 1e-7
    along = height(bar, x + e, 0.0, z) - height(bar, x - e, 0.0, z)
    across = height(bar, x, e, z) - height(bar, x, -e, z)
    return float(np.arctan(-along / across))


@pytest.mark.parametrize("corners", [0.2, 0.4, 1.0])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_lines_stand_at_the_angle_of_the_helix(corners: float, share: float) -> None:
    """On the centre line atan(tau z A/(pi b^2)): the disc of the section's area turns, and a sector keeps its share of
    it (hand derivation).
    """
    bar = wound(2, corners=corners)
    z, n = share * 0.5 * SIDE, 2 / corners
    area = SIDE**2 * gamma(1 + 1 / n) ** 2 / gamma(1 + 2 / n)
    rate = 2 * np.pi * 2 / bar.length
    x = -0.5 * bar.length + 0.3 * bar.length / 4  # away from where the layers lie flat and the lines have no direction
    expected = np.arctan(rate * z * area / (np.pi * (0.5 * SIDE) ** 2))
    assert abs(line_angle(bar, x, z)) == pytest.approx(expected, abs=2e-4)


def test_a_round_half_inch_bar_of_one_turn_an_inch_leans_at_58_degrees() -> None:
    """Skin shear pi for 2 turns an inch and pi/2 for one on a half-inch bar; lines at atan(pi/2) = 57.5 degrees
    (bladesmiths' figure: 58).
    """
    bar = marked(4 * 25.4e-3, 12.7e-3, 12.7e-3)
    new = step('do = "twist"\nturns = 4\ncorners = 1').apply(bar, bench()).bar
    assert np.degrees(abs(line_angle(new, -0.049, 0.5 * 12.7e-3))) == pytest.approx(57.5, abs=0.5)


@pytest.mark.parametrize("z", [SIDE / 4, -SIDE / 4])
@pytest.mark.parametrize(("hand", "sense"), [("right", -1), ("left", 1)])
def test_both_faces_lean_the_same_way_seen_from_their_own_side(z: float, hand: str, sense: int) -> None:
    """A right-handed helix seen from outside, the axis running right, falls to the right. Seen from below y runs the
    other way.
    """
    bar = wound(2, hand=hand)
    seen_y = 1 if z > 0 else -1
    leans = np.tan(line_angle(bar, -0.5 * bar.length + 0.3 * bar.length / 4, z)) * seen_y
    assert np.sign(leans) == sense


def test_stars_stand_where_the_layers_lie_flat_and_repeat_every_half_turn() -> None:
    bar, x = wound(2), np.linspace(-0.499, 0.499, 2000) * 0.15
    side = height(bar, x, 0.3 * SIDE, 0.0)  # in the plane through the axis
    flat = np.flatnonzero(np.diff(np.sign(side)))
    # two turns: layers lie flat at the start and at every half turn; the axis plane then shows one single layer from
    # side to side
    np.testing.assert_allclose(0.5 * (x[flat] + x[flat + 1]), [-0.0375, 0, 0.0375], atol=1e-4)
    on_edge = -0.075 + 0.15 / 8  # a quarter turn further they stand on edge
    assert np.ptp(height(bar, on_edge, np.linspace(-0.4, 0.4, 9) * SIDE, 0.0)) > 0.75 * SIDE
    assert np.ptp(height(bar, 0.0, np.linspace(-0.4, 0.4, 9) * SIDE, 0.0)) < 1e-9


def test_stars_stand_at_the_same_place_on_both_faces() -> None:
    """Half a turn about the bar's axis carries one face on the other: there the marked plate lies as high as it lay
    low.
    """
    bar, x, y = wound(2), np.linspace(-0.07, 0.07, 50)[None, :], np.linspace(-0.4, 0.4, 9)[:, None] * SIDE
    np.testing.assert_allclose(height(bar, x, y, 1e-3), -height(bar, x, -y, -1e-3), atol=1e-12)


@pytest.mark.parametrize(
    ("turns", "ends"), [(2.25, 2.25), ("[2, -2]", 0.0), ("[1, 1.5]", 2.5), ("[2, -1, 0.25]", 1.25)]
)
def test_turns_are_counted_exactly(turns: object, ends: float) -> None:
    by = wound(turns).material.map
    assert float(by.angle(np.array(0.075))) == pytest.approx(2 * np.pi * ends, abs=1e-9)


def test_every_part_has_its_own_turns_in_spite_of_the_eased_reversal() -> None:
    by = wound("[2, -1, 0.25]").material.map
    got = np.diff(by.angle(np.array([-0.075, -0.025, 0.025, 0.075]))) / (2 * np.pi)
    np.testing.assert_allclose(got, [2, -1, 0.25], atol=1e-12)


def test_opposite_hands_mirror_about_their_joint() -> None:
    right, left = (replace(wound(2, hand=hand), name=hand) for hand in ("right", "left"))
    pair = join("pair", [(square(left), None), (square(right), None)], "side by side", bench()).bar
    x, y = np.linspace(-0.06, 0.06, 41)[None, :], np.linspace(1e-4, 0.012, 13)[:, None]
    np.testing.assert_allclose(height(pair, x, y, 2e-3), height(pair, x, -y, 2e-3), atol=1e-12)


@pytest.mark.parametrize("corners", [0.2, 0.4, 1.0])
def test_breaking_the_corners_costs_what_lies_outside_the_superellipse(corners: float) -> None:
    """Area of |y/a|^n + |z/b|^n = 1 is 4ab Gamma(1 + 1/n)^2/Gamma(1 + 2/n), a circle for n = 2 (from memory; standard
    calculus).
    """
    n = 2 / corners
    outcome = step(f'do = "twist"\nturns = 1\ncorners = {corners}').apply(blank(), bench())
    assert outcome.bar.area == pytest.approx(SIDE**2 * gamma(1 + 1 / n) ** 2 / gamma(1 + 2 / n), rel=1e-12)
    assert outcome.lost.trim == pytest.approx(blank().mass * (1 - outcome.bar.area / SIDE**2), rel=2e-2)


def test_a_layer_keeps_what_lies_inside_the_outline() -> None:
    """Against scipy's quadrature of the chord's width times the density."""
    laminate = blank().laminate
    n = 5.0

    def part(k: int) -> float:
        low, high = laminate.edges[k : k + 2] / (0.5 * SIDE)
        return (
            quad(lambda t: max(1 - abs(t) ** n, 0.0) ** (1 / n), low, high, epsabs=1e-13)[0]
            * 0.5
            * SIDE
            * SIDE
            * laminate.density[k]
        )

    assert mass_a_length(laminate, SIDE, n) == pytest.approx(sum(part(k) for k in range(15)), rel=1e-9)


@pytest.mark.parametrize("exponent", [2.0, 5.0, 10.0])
def test_a_sector_keeps_its_share_of_the_area(exponent: float) -> None:
    """Against scipy's quadrature of rho^2/2."""

    def sector(theta: float) -> float:
        return quad(
            lambda t: 0.5 * (np.cos(t) ** exponent + np.sin(t) ** exponent) ** (-2 / exponent), 0, theta, epsabs=1e-13
        )[0]

    for theta in (0.1, 0.7, 1.2, 1.5):
        assert disc_angle(np.array(theta), exponent) / (np.pi / 2) == pytest.approx(
            sector(theta) / sector(np.pi / 2), abs=1e-9
        )


def test_skin_shear_is_that_of_the_trade_tables() -> None:
    """Half-inch square bar, one turn an inch: 1.57 at the flats, 2.2 at sharp corners; broken corners lie between (2 pi
    r n).
    """
    by = Wound(6.35e-3, 6.35e-3, 5.0, 0.0, (2 * np.pi / 25.4e-3,))
    assert 1.57 < skin_shear(by) < 2.22
    assert skin_shear(Wound(6.35e-3, 6.35e-3, 2.0, 0.0, (2 * np.pi / 25.4e-3,))) == pytest.approx(1.571, abs=1e-3)


@pytest.mark.parametrize(("turns", "said"), [(2, False), (9, True), ("[1, -6]", True)])
def test_too_many_turns_are_warned_of(turns: object, said: bool) -> None:
    notes = step(f'do = "twist"\nturns = {turns}').apply(blank(), bench()).notes
    assert any("tear" in n.say() for n in notes) == said


def test_an_oblong_bar_is_warned_of() -> None:
    assert any("square" in n.say() for n in step('do = "twist"\nturns = 0.5').apply(marked(), bench()).notes)


def test_no_turns_at_all_are_refused() -> None:
    with pytest.raises(RefusedError, match="turns"):
        step('do = "twist"\nturns = []').apply(blank(), bench())


# --- squared again


def test_a_draw_squares_the_section_and_keeps_the_volume() -> None:
    bar = wound(2)
    drawn = step('do = "draw"\ntemperature = "1100 C"\nsoak = "1 s"\nthickness = "10 mm"\nwidth = "10 mm"').apply(
        bar, bench()
    )
    assert np.isinf(drawn.bar.corner)
    assert drawn.bar.length * drawn.bar.width * drawn.bar.thickness == pytest.approx(
        bar.volume - drawn.lost.scale / bar.mean_density, rel=1e-9
    )


def test_squaring_turns_the_lines_of_the_skin_as_the_columns_stretch() -> None:
    """At y = 0 a column grows from 2b to T' = 2b sqrt(A/4ab) and widths change by the inverse: tan keeps z A/(pi b^2)
    but for 2b/T' of width (hand derivation).
    """
    bar = wound(2)
    new = square(bar)
    x, z, b = -0.5 * bar.length + 0.3 * bar.length / 4, 0.5, 0.5 * SIDE
    before, after = (np.tan(line_angle(one, x, z * 0.5 * one.thickness)) for one in (bar, new))
    assert after / before == pytest.approx(2 * b / new.thickness, rel=1e-3)


def test_a_squared_bar_still_shows_the_same_layer_along_its_axis_plane() -> None:
    bar = wound(2)
    new = square(bar)
    flat_again = height(new, 0.0, np.linspace(-0.45, 0.45, 9) * new.width, 0.0)
    assert np.abs(flat_again).max() < 1e-9
    edge_to_edge = height(new, 0.0, 0.0, np.array([-0.5, 0.5]) * new.thickness * (1 - 1e-9))
    assert np.ptp(edge_to_edge) == pytest.approx(SIDE, rel=1e-6)
