"""Bulge: the sides stay, the layers bend, and a restack turns the bends into W's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from billet.bar.bar import Bar
from billet.bar.trace import trace
from billet.base.messages import RefusedError
from billet.steps.bulge import Barrelled
from tests.examples import bench, marked, on_edge, square, step, wound

W, H = 14e-3, 10e-3


def done(bar: Bar, *texts: str) -> Bar:
    """A bar after steps."""
    for text in texts:
        bar = step(text).apply(bar, bench()).bar
    return bar


RESTACK = ('do = "restack"\npieces = 4', 'do = "weld"\ntemperature = "1150 C"\nsoak = "1 min"')


def along_the_height(bar: Bar, share: float = 0.3) -> np.ndarray:
    """Height in the laminate on an upright line across the end of the bar, at a share of the width: constant for
    straight standing layers.
    """
    z = np.linspace(-0.4999, 0.4999, 4001) * bar.thickness
    return trace(bar.material, np.zeros(1), np.full(1, share * bar.width), z).z


def turning_points(line: np.ndarray) -> int:
    """How often a line changes its direction."""
    slope = np.diff(line)
    sense = np.sign(slope[np.abs(slope) > 1e-12])
    return int(np.count_nonzero(np.diff(sense)))


@pytest.mark.parametrize("amount", [0.4, 1.2, -0.8, 2.0])
def test_the_flow_is_that_of_the_stream_function(amount: float) -> None:
    """Against scipy's adaptive integration of v = (dpsi/dz, -dpsi/dy), psi = a y (1 - 4y^2/W^2) z (1 - 4z^2/H^2),
    differentiated here by differences.
    """

    def psi(y: float, z: float) -> float:
        return amount * y * (1 - 4 * y**2 / W**2) * z * (1 - 4 * z**2 / H**2)

    def velocity(_t: float, p: np.ndarray) -> list[float]:
        e = 1e-6
        return [
            (psi(p[0], p[1] + e) - psi(p[0], p[1] - e)) / (2 * e),
            -(psi(p[0] + e, p[1]) - psi(p[0] - e, p[1])) / (2 * e),
        ]

    start = (0.23 * W, -0.31 * H)
    end = solve_ivp(velocity, (0, 1), start, rtol=1e-10, atol=1e-14).y[:, -1]
    _, y, z = Barrelled(W, H, amount).push(np.zeros(1), np.array([start[0]]), np.array([start[1]]))
    np.testing.assert_allclose([y[0], z[0]], end, atol=2e-5 * W)


@pytest.mark.parametrize("amount", [0.7, 1.2, 2.5])
def test_all_four_sides_are_kept(amount: float) -> None:
    by, t = Barrelled(W, H, amount), np.linspace(-0.5, 0.5, 101)
    for y, z in ((0.5 * W * np.ones(101), t * H), (t * W, -0.5 * H * np.ones(101))):
        _, new_y, new_z = by.pull(np.zeros(101), y, z)[:3]
        kept = np.where(np.ptp(y) == 0, new_y - y, new_z - z)
        np.testing.assert_allclose(kept, 0, atol=1e-15)
        assert np.abs(new_y).max() <= 0.5 * W * (1 + 1e-12) and np.abs(new_z).max() <= 0.5 * H * (1 + 1e-12)


def test_standing_layers_bow_out_at_the_middle_height() -> None:
    """Barrelled sides: the metal at half height has gone out, so what is found there came from nearer the axis (both
    sides alike).
    """
    bar = done(on_edge(), 'do = "bulge"\namount = 0.8')
    left, right = (along_the_height(bar, s) for s in (-0.3, 0.3))
    middle, face = len(left) // 2, len(left) // 20
    assert abs(right[middle]) < abs(right[face]) and abs(left[middle]) < abs(left[face])
    np.testing.assert_allclose(right, -left, atol=1e-9)  # the shift is odd across
    np.testing.assert_allclose(right, right[::-1], atol=1e-9)  # and even through the height


def test_squashing_alone_makes_no_ws() -> None:
    bar = done(
        on_edge(), 'do = "draw"\ntemperature = "1100 C"\nsoak = "1 s"\nthickness = "7 mm"\nwidth = "20 mm"', *RESTACK
    )
    assert np.ptp(along_the_height(bar)) < 1e-12


def test_a_bulge_and_a_restack_make_a_zigzag() -> None:
    once = done(on_edge(), 'do = "bulge"\namount = 0.8')
    bar = done(once, *RESTACK)
    assert turning_points(along_the_height(once)) == 1  # one bow
    assert (
        turning_points(along_the_height(bar)) == 2 * 4 - 1
    )  # a bow out in each of four pieces, a bend in at each of three seams
    assert np.ptp(along_the_height(bar)) > 0.05 * on_edge().width


def test_bias_squaring_lays_the_layers_from_corner_to_corner() -> None:
    bar = done(square(), 'do = "bulge"\namount = 0\nsection = "bias"')
    e = 1e-6
    across, through = (
        float(np.diff(trace(bar.material, np.zeros(2), *p).z)[0])
        for p in ((np.array([-e, e]), np.zeros(2)), (np.zeros(2), np.array([-e, e])))
    )
    assert abs(across) == pytest.approx(abs(through), rel=1e-6)


def test_bias_squared_bars_turned_over_alternately_make_a_zigzag() -> None:
    bar = done(
        square(), 'do = "bulge"\namount = 0.3\nsection = "bias"', RESTACK[0] + '\nflip = "alternate"', RESTACK[1]
    )
    assert turning_points(along_the_height(bar, 0.0)) >= 3  # a bend at each of the three seams


def test_lying_layers_are_warned_of_and_standing_ones_are_not() -> None:
    text = 'do = "bulge"\namount = 0.5'
    assert "stand on edge" in step(text).apply(square(), bench()).notes[0].say()
    assert "stand on edge" in step(text).apply(done(on_edge(), 'do = "roll"'), bench()).notes[0].say()
    assert step(text).apply(on_edge(), bench()).notes == ()
    assert step(text + '\nsection = "bias"').apply(square(), bench()).notes == ()


def test_a_round_bar_is_refused() -> None:
    with pytest.raises(RefusedError, match="square"):
        step('do = "bulge"\namount = 0.5').apply(wound(), bench())


def test_marked_plate_stays_on_its_side() -> None:
    """The bar was stood by a quarter turn; the mark is off the middle, and bulging neither mirrors nor swaps."""
    before, after = on_edge(), done(on_edge(), 'do = "bulge"\namount = 1.0')
    y = np.linspace(-0.49, 0.49, 999) * before.width
    marks = [trace(b.material, np.zeros(1), y, np.zeros(1)).z for b in (before, after)]
    laminate = marked(0.15, 0.014, 0.014).laminate
    low, high = laminate.edges[11:13]
    sides = [np.sign(y[(m > low) & (m < high)].mean()) for m in marks]
    assert sides[0] == sides[1] != 0


@pytest.mark.parametrize("amount", [-0.7, 0.3, 0.5, 0.7, 1.5])
def test_pictures_look_the_way_back_up_to_within_two_micrometres(amount: float) -> None:
    """The table against the integration it was made from, on a bar 40 by 36 mm."""
    by = Barrelled(40e-3, 36e-3, amount)
    y, z = np.random.default_rng(4).uniform(-0.5, 0.5, (2, 100_000)) * np.array([[40e-3], [36e-3]])
    few = [
        by.pull(np.zeros(1), y[k : k + 10_000], z[k : k + 10_000]) for k in range(0, 50_000, 10_000)
    ]  # not looked up
    exact_y, exact_z = (np.concatenate(part) for part in ([p.y for p in few], [p.z for p in few]))
    quick = by.pull(np.zeros(1, np.float32), y.astype(np.float32), z.astype(np.float32))
    assert quick.y.dtype == np.float32
    assert np.abs(quick.y[:50_000] - exact_y).max() < 2e-6
    assert np.abs(quick.z[:50_000] - exact_z).max() < 2e-6
