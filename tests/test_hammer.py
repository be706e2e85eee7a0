"""Hammer marks: rounded blows that run into one another, held against the geometry of a round hammer face."""

from __future__ import annotations

import numpy as np
import pytest

from billet.forming.relief_shapes import Blows

SIZE, DEPTH, LENGTH, WIDTH = 20e-3, 1e-3, 0.2, 0.04
SPHERE = 8 * DEPTH / SIZE**2  # curvature of the ball whose cap is as deep and as wide as a mark: depth = D^2 / 8R [1/m]


def sunk(seed: int) -> tuple[np.ndarray, float]:
    x, y = np.linspace(-0.5, 0.5, 1001) * LENGTH, np.linspace(-0.5, 0.5, 201) * WIDTH
    return Blows(SIZE, DEPTH, seed).depths(x, y, LENGTH, WIDTH).top, float(x[1] - x[0])


@pytest.mark.parametrize("seed", range(4))
def test_marks_run_into_one_another_without_a_crease(seed: int) -> None:
    """A crease is a ridge far sharper than the ball that made the marks: between two flanks the metal may bend the
    other way by a few times the ball's curvature, not ten times (plane geometry; marks down to 0.8 of the size)."""
    depth, step = sunk(seed)
    along, across = np.gradient(depth, step)
    xx, xy, yy = np.gradient(along, step)[0], *np.gradient(across, step)
    mean, spread = 0.5 * (xx + yy), np.hypot(0.5 * (xx - yy), xy)
    assert (mean + spread).max() < 5 * SPHERE
    assert (spread - mean).max() < 5 * SPHERE


@pytest.mark.parametrize("seed", range(4))
def test_no_part_of_the_face_stays_level(seed: int) -> None:
    """A smith works a face over row by row; where nothing is struck the lines would run straight. Level is a slope
    under a fiftieth of the steepest; the crowns and floors of the marks themselves hold less than one part in fifty."""
    depth, step = sunk(seed)
    slope = np.hypot(*np.gradient(depth, step))
    assert np.mean(slope < 0.02 * slope.max()) < 0.02


@pytest.mark.parametrize("seed", range(4))
def test_no_mark_is_deeper_than_was_asked(seed: int) -> None:
    depth, _ = sunk(seed)
    assert depth.min() >= 0
    assert 0.9 * DEPTH < depth.max() <= DEPTH


def test_the_two_faces_and_two_seeds_differ_and_one_seed_repeats() -> None:
    x, y = np.linspace(-0.1, 0.1, 101), np.linspace(-0.02, 0.02, 41)
    first, again, other = (Blows(SIZE, DEPTH, seed).depths(x, y, LENGTH, WIDTH) for seed in (1, 1, 2))
    assert np.array_equal(first.top, again.top)
    assert np.abs(first.top - first.bottom).max() > 0.3 * DEPTH
    assert np.abs(first.top - other.top).max() > 0.3 * DEPTH
