"""The line that is counted along, the scale of a picture, and the parts that find direction and turning points."""

from __future__ import annotations

import numpy as np
import pytest

from billet.base.errors import InputError
from billet.count import DeclinedError, Line, count_layers
from billet.count.orient import layer_direction
from billet.count.photo_scale import dpi_pixel, pixel_size, read_line, ruler_pixel
from billet.count.signal import turning_points
from tests.count_pictures import photograph, stripes


def test_a_line_counts_only_the_layers_it_crosses():
    found = count_layers(stripes(100, 8.0, width=400), line=Line(200, 80, 200, 480))
    assert abs(found.layers - 50) <= 1  # 400 px of 8 px layers


def test_a_slanted_line_crosses_fewer_layers_than_its_length_suggests():
    found = count_layers(stripes(100, 8.0, width=600), line=Line(150, 100, 450, 620), pixel_m=1e-5)
    assert abs(found.layers - 65) <= 1  # 520 px of height
    assert found.layers_per_m == pytest.approx(1 / 8e-5, rel=0.01)  # square to the layers, whatever the line
    assert abs(found.orientation_rad) < np.radians(0.7)


def test_a_line_from_rim_to_rim_is_measured():
    assert abs(count_layers(stripes(100, 8.0, width=400), line=Line(180, 0, 220, 799)).layers - 100) <= 1


def test_turning_a_line_round_changes_nothing():
    image = photograph(900).image.T if photograph(900).upright else photograph(900).image
    h, w = image.shape
    there, back = Line(w / 2, 20, w / 2 + 10, h - 20), Line(w / 2 + 10, h - 20, w / 2, 20)
    assert abs(count_layers(image, line=there).layers - count_layers(image, line=back).layers) <= 1


def test_a_line_along_the_layers_is_declined():
    with pytest.raises(DeclinedError, match="along the layers"):
        count_layers(stripes(100, 8.0, width=600), line=Line(50, 400, 550, 405))


@pytest.mark.parametrize(
    "line", [Line(100, -5, 100, 300), Line(100, 10, 900, 300), Line(100, 10, 100, 20), Line(1, 10, 1, 700)]
)
def test_a_line_that_cannot_be_measured_is_refused(line):
    with pytest.raises(InputError, match="line"):
        count_layers(stripes(100, 8.0), line=line)


def test_layers_per_metre_follow_from_the_pixel():
    found = count_layers(stripes(100, 8.0, slope=0.176), pixel_m=0.0254 / 1200)
    square_px = 8.0 * np.cos(np.arctan(0.176))
    assert found.layers_per_m == pytest.approx(1200 / 0.0254 / square_px, rel=0.01)


def test_a_ruler_gives_the_pixel():
    """An inch is 25.4 mm exactly (international yard and pound agreement, 1959); 3-4-5 triangle."""
    assert ruler_pixel("100,50,400,450=1 in") == pytest.approx(0.0254 / 500)
    assert ruler_pixel("0,0,1000,0 = 25 mm") == pytest.approx(25e-6)
    assert dpi_pixel(1200) == pytest.approx(25.4e-3 / 1200)
    assert pixel_size(1.0e-5, None, None) == 1.0e-5
    assert pixel_size(1.0e-5, 254.0, None) == pytest.approx(1.0e-4)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "1,2,3,4",
        "1,2,3=25 mm",
        "1,2,3,4=25",
        "1,2,1,2=25 mm",
        "1,2,3,4=0 mm",
        "a,2,3,4=25 mm",
        "1,2,3,nan=1 in",
        "1,2,3,4=20 C",
    ],
)
def test_a_ruler_that_cannot_be_read_names_the_option(text):
    with pytest.raises(InputError, match="--scale"):
        ruler_pixel(text)


@pytest.mark.parametrize(
    "text, band", [("1,2,3", None), ("1;2;3;4", None), ("5,5,5,5", None), ("1,2,3,4", -3.0), ("1e400,2,3,4", None)]
)
def test_a_line_that_cannot_be_read_names_the_option(text, band):
    with pytest.raises(InputError, match=r"--along|--band"):
        read_line(text, band)


@pytest.mark.parametrize("dpi", [0.0, -300.0, float("nan"), float("inf")])
def test_a_senseless_dpi_is_refused(dpi):
    with pytest.raises(InputError, match="--dpi"):
        dpi_pixel(dpi)


def test_two_scales_are_one_too_many():
    with pytest.raises(InputError, match="one of them"):
        pixel_size(None, 300.0, "0,0,100,0=1 in")


# Parts


def test_turning_points_keep_what_stands_out():
    profile = np.array([0.0, 1.0, 0.9, 1.0, 0.0, 0.05, -0.1, 1.0])
    points = turning_points(profile, np.full(8, 0.3))
    assert list(np.sign(np.diff(profile[points]))) == [
        1,
        -1,
        1,
    ]  # by hand: up, down, up; the small wiggles are struck out
    assert len(turning_points(np.full(9, 0.4), np.full(9, 0.1))) == 0


@pytest.mark.parametrize("degrees", [-80, -45, -10, 0, 10, 30, 60, 90])
def test_the_direction_of_a_grating_is_found(degrees):
    y, x = np.mgrid[0:300, 0:300]
    angle = np.radians(degrees)
    image = 0.5 + 0.2 * np.sin(2 * np.pi / 14 * (y * np.cos(angle) - x * np.sin(angle)))
    found = layer_direction(image)
    assert np.cos(2 * (found.angle - angle)) > np.cos(2 * np.radians(0.5))
    assert found.coherence > 0.98
