"""Layers counted in photographs whose true count is known by construction, and refusals where there is nothing to
count.

The truth of every synthetic photograph comes from its layer numbers (count_pictures.py), not from the counter. Seeds
10000 to 10799 were used while the counter's limits were being chosen; the checks here use seeds below 1000 and those
from 50000 only.
"""

from __future__ import annotations

import os
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import skimage

from billet.base.errors import InputError
from billet.base.pictures import read_picture
from billet.count import DeclinedError, count_layers
from tests.count_pictures import Photograph, grey_card, noise_card, photograph, satin_card, stripes
from tests.truth.registry import How, Pairs, checks

PICTURES = Path(os.path.dirname(skimage.__file__)) / "data"  # photographs that ship with the library


def judged(picture: Photograph) -> tuple[bool, bool]:
    """Whether the count is within 3 % or one line of the truth, and whether its range holds it; refused is neither."""
    try:
        found = count_layers(picture.image)
    except DeclinedError:
        return False, False
    close = abs(found.layers - picture.layers) <= max(1, 0.03 * picture.layers)
    return close, found.low <= picture.layers <= found.high


# How well it counts


COUNTED = "layers in a photograph"
DRAWN = "eighty drawn photographs whose layers are known, not used while it was made"


@cache
def answers() -> list[tuple[Photograph, Any]]:
    """Photographs and what was counted in them; those declined are left out."""
    found = []
    for seed in range(80):
        picture = photograph(seed)
        with suppress(DeclinedError):
            found.append((picture, count_layers(picture.image)))
    return found


@checks(COUNTED, f"{DRAWN}: the count", How.HELD_OUT, unit="%", within=3.0, by="rms")
def test_counts_of_photographs() -> Pairs:
    """A line is worth more than 3 % in a coarse bar, so the root mean square is told."""
    return [(found.layers, picture.layers) for picture, found in answers()]


@checks(COUNTED, f"{DRAWN}: refused, or the range told misses the truth", How.HELD_OUT, unit="% of them", within=5.0)
def test_ranges_of_photographs() -> Pairs:
    held = sum(found.low <= picture.layers <= found.high for picture, found in answers())
    return [(100 * (80 - held) / 80, 0.0)]


def test_forty_photographs_within_three_percent_or_one_line_and_ranges_hold():
    close, held = np.array([judged(photograph(seed)) for seed in range(40)]).T
    assert close.mean() >= 0.95
    assert held.mean() >= 0.95


@pytest.mark.slow
def test_three_hundred_photographs_within_three_percent_or_one_line_and_ranges_hold():
    close, held = np.array([judged(photograph(seed)) for seed in range(50000, 50300)]).T
    assert close.mean() >= 0.95
    assert held.mean() >= 0.95


def test_ranges_are_narrow_enough_to_be_of_use():
    pictures = [photograph(seed) for seed in range(40, 55)]
    found = [(p, count_layers(p.image)) for p in pictures]
    widths = [(c.high - c.low) / p.layers for p, c in found]
    assert np.median(widths) < 0.08  # the half width near the 3 % that is asked of the count itself


@pytest.mark.parametrize("number, layer_px", [(7, 40.0), (20, 25.0), (113, 8.0), (400, 4.5)])
def test_equal_layers_are_counted_exactly(number, layer_px):
    assert count_layers(stripes(number, layer_px)).layers == number  # by construction


@pytest.mark.parametrize("slope", [-1.0, -0.36, -0.1, 0.05, 0.176, 0.7])
def test_a_turned_picture_counts_what_the_middle_column_crosses(slope):
    found = count_layers(stripes(100, 8.0, width=500, slope=slope))
    assert abs(found.layers - 100) <= 1
    assert found.orientation_rad == pytest.approx(np.arctan(slope), abs=np.radians(0.5))


@pytest.mark.parametrize("quarter, shift", [(0, 0.0), (1, np.pi / 2)])
def test_a_quarter_turn_changes_the_direction_but_not_the_count(quarter, shift):
    found = count_layers(np.rot90(stripes(60, 10.0, slope=0.1), quarter))
    assert abs(found.layers - 60) <= 1
    expected = np.arctan(0.1) - shift  # np.rot90 turns against the clock, angles run with it as y points down
    assert np.cos(2 * (found.orientation_rad - expected)) == pytest.approx(1.0, abs=1e-3)


def test_unequal_plates_count_the_same_as_equal_ones():
    thick = np.where(np.arange(100) % 2, 14, 5)  # two gauges in turn
    column = np.repeat(np.where(np.arange(100) % 2, 0.65, 0.35), thick)
    assert count_layers(np.repeat(column[:, None], 200, axis=1)).layers == 100


def test_doubled_layers_count_once():
    """Folded bars show evenly spaced bold lines, one layer each: 7 plates in 8 pieces give 8 (7 - 1) + 1 = 49 (shop
    arithmetic).
    """
    thick = np.full(49, 9)
    thick[6:-1:6] *= 2
    column = np.repeat(np.where(np.arange(49) % 2, 0.65, 0.35), thick)
    assert count_layers(np.repeat(column[:, None], 200, axis=1)).layers == 49


def test_bench_above_and_below_the_bar_is_not_counted():
    bench = np.full((150, 240), 0.55)
    image = np.vstack([bench, stripes(90, 8.0), bench]) + np.random.default_rng(3).normal(0, 0.02, (1020, 240))
    assert abs(count_layers(image).layers - 90) <= 1


# What it declines, and why


@pytest.mark.parametrize("seed", range(4))
def test_a_plain_grey_card_is_declined(seed):
    with pytest.raises(DeclinedError, match="No layers"):
        count_layers(grey_card(seed))


@pytest.mark.parametrize("grain", [0.0, 1.0, 3.0, 10.0])
def test_noise_is_declined(grain):
    with pytest.raises(DeclinedError, match=r"No layers|do not carry on"):
        count_layers(noise_card(7, grain))


@pytest.mark.parametrize("seed", range(3))
def test_satin_scratches_alone_are_declined(seed):
    with pytest.raises(DeclinedError):
        count_layers(satin_card(seed))


@pytest.mark.parametrize(
    "name", ["camera", "astronaut", "coins", "chelsea", "coffee", "grass", "gravel", "moon", "page"]
)
@pytest.mark.parametrize("quarter", [0, 1])
def test_photographs_without_layers_are_declined(name, quarter):
    with pytest.raises(DeclinedError):
        count_layers(np.rot90(read_picture(PICTURES / f"{name}.png").grey, quarter))


@pytest.mark.parametrize("layer_px", [1.0, 1.5, 2.0, 2.5, 2.8])
@pytest.mark.parametrize("seed", [800, 801, 802])
def test_layers_of_three_pixels_or_less_are_declined(seed, layer_px):
    with pytest.raises(DeclinedError):
        count_layers(photograph(seed, lines=200, layer_px=layer_px).image)


@pytest.mark.parametrize("layer_px", [1.5, 2.0, 3.0])
def test_equal_layers_of_three_pixels_or_less_are_declined_by_their_width(layer_px):
    with pytest.raises(DeclinedError, match="pixels apart"):
        count_layers(stripes(200, layer_px))


def test_too_few_layers_are_left_to_the_eye():
    with pytest.raises(DeclinedError, match="by eye"):
        count_layers(stripes(4, 60.0))


def test_a_faint_etch_is_declined():
    with pytest.raises(DeclinedError, match="deeper"):
        count_layers(0.5 + 0.02 * (stripes(60, 10.0) - 0.5))


@pytest.mark.parametrize(
    "image", [np.zeros((400, 300)), np.ones((400, 300)), np.full((400, 300), 0.5)], ids=["black", "white", "grey"]
)
def test_an_even_picture_is_declined(image):
    with pytest.raises(DeclinedError):
        count_layers(image)


@pytest.mark.parametrize("image", [np.zeros((20, 300)), np.zeros((4, 4, 3)), np.full((50, 50), np.nan)])
def test_an_array_that_is_no_picture_is_refused(image):
    with pytest.raises(InputError, match="wanted"):
        count_layers(image)
