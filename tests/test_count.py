"""Layers counted in photographs whose true count is known by construction, and refusals where there is nothing to
count.

The truth of every synthetic photograph comes from its layer numbers (count_pictures.py), not from the counter. Seeds
10000 to 10799 were used while the counter's limits were being chosen; the checks here use seeds below 1000 and those
from 50000 only.
"""

from __future__ import annotations

import io
import os
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
import skimage
from PIL import Image
from typer import Typer
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.cli.count import count as count_command
from billet.count import Count, DeclinedError, Line, count_layers
from billet.count.against_recipe import as_json, compare_with_ledger
from billet.count.orient import layer_direction
from billet.count.photo import read_photo
from billet.count.photo_scale import dpi_pixel, pixel_size, read_line, ruler_pixel
from billet.count.signal import turning_points
from render.annotate import marked_png
from tests.count_pictures import Photograph, grey_card, noise_card, photograph, satin_card

PICTURES = Path(os.path.dirname(skimage.__file__)) / "data"  # photographs that ship with the library


def judged(picture: Photograph) -> tuple[bool, bool]:
    """Whether the count is within 3 % or one line of the truth, and whether its range holds it; refused is neither."""
    try:
        found = count_layers(picture.image)
    except DeclinedError:
        return False, False
    close = abs(found.layers - picture.layers) <= max(1, 0.03 * picture.layers)
    return close, found.low <= picture.layers <= found.high


def stripes(number: int, layer_px: float, width: int = 240, slope: float = 0.0) -> np.ndarray:
    """Equal dark and bright layers, softened by a pixel, falling by slope per column; the middle column starts and ends
    on a seam.
    """
    y, x = np.mgrid[0 : round(number * layer_px), 0:width].astype(float)
    phase = (y + 0.5 - slope * (x - (width - 1) / 2)) / layer_px
    return 0.5 + 0.2 * np.clip(layer_px * np.sin(np.pi * phase) / np.pi, -1, 1)


# How well it counts


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
        count_layers(np.rot90(read_photo(PICTURES / f"{name}.png").grey, quarter))


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


# Lines and scale


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


# Reading photographs

WIDE = np.uint8(np.linspace(0, 255, 40)[None].repeat(30, axis=0))  # dark left, bright right


def saved(folder: Path, image: Image.Image, name: str, **options: object) -> Path:
    """The picture saved under the name; its path."""
    image.save(folder / name, **options)
    return folder / name


@pytest.mark.parametrize("mode", ["L", "RGB", "RGBA", "LA", "P", "CMYK", "YCbCr", "1"])
def test_every_kind_of_picture_gives_brightness(tmp_path, mode):
    """Dark left and bright right whatever the file's colour model; TIFF holds all of them."""
    path = saved(tmp_path, Image.fromarray(WIDE).convert("RGB").convert(mode), "a.tif")
    grey = read_photo(path).grey
    assert grey.shape == (30, 40)
    assert grey[:, :8].mean() < 0.2
    assert grey[:, -8:].mean() > 0.8


def test_colours_weigh_as_the_eye_sees_them(tmp_path):
    """Luma of pure red, green and blue: 0.299, 0.587, 0.114 (ITU-R BT.601)."""
    rgb = np.uint8([[[255, 0, 0], [0, 255, 0], [0, 0, 255]]])
    grey = read_photo(saved(tmp_path, Image.fromarray(rgb), "c.png")).grey
    np.testing.assert_allclose(grey[0], [0.299, 0.587, 0.114], atol=0.003)  # 8-bit steps


def test_sixteen_bits_keep_their_steps(tmp_path):
    values = np.arange(30 * 40, dtype=np.uint16).reshape(30, 40) * 50
    grey = read_photo(saved(tmp_path, Image.fromarray(values), "deep.png")).grey
    np.testing.assert_allclose(grey, values / 65535)


def test_floating_point_tiff_is_read_and_not_a_number_refused(tmp_path):
    values = np.linspace(0, 1, 1200, dtype=np.float32).reshape(30, 40)
    np.testing.assert_allclose(read_photo(saved(tmp_path, Image.fromarray(values), "f.tif")).grey, values)
    values[3, 3] = np.nan
    with pytest.raises(InputError, match="not numbers"):
        read_photo(saved(tmp_path, Image.fromarray(values), "g.tif"))


@pytest.mark.parametrize("orientation, turned", [(1, 0), (3, 2), (6, 3), (8, 1)])
def test_a_photograph_is_read_as_the_camera_was_held(tmp_path, orientation, turned):
    """Exif 2.3, tag 0x0112: 1 upright, 3 half turn, 6 to be turned a quarter clockwise, 8 a quarter the other way."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = saved(tmp_path, Image.fromarray(WIDE), "held.png", exif=exif)
    np.testing.assert_allclose(read_photo(path).grey, np.rot90(WIDE / 255, turned))


def test_a_moving_picture_gives_its_first_frame(tmp_path):
    frames = [Image.fromarray(WIDE), Image.fromarray(255 - WIDE)]
    path = saved(tmp_path, frames[0], "moving.gif", save_all=True, append_images=frames[1:])
    assert read_photo(path).grey[:, -5:].mean() > 0.8


def test_the_scale_of_a_scan_is_read_and_a_placeholder_is_not(tmp_path):
    image = Image.fromarray(WIDE)
    assert read_photo(saved(tmp_path, image, "scan.png", dpi=(1200, 1200))).pixel_m == pytest.approx(
        0.0254 / 1200, rel=1e-3
    )
    assert read_photo(saved(tmp_path, image, "scan.jpg", dpi=(600, 600))).pixel_m == pytest.approx(0.0254 / 600)
    assert read_photo(saved(tmp_path, image, "screen.jpg", dpi=(72, 72))).pixel_m is None
    assert read_photo(saved(tmp_path, image, "oblong.png", dpi=(300, 600))).pixel_m is None
    assert read_photo(saved(tmp_path, image, "none.png")).pixel_m is None


def test_a_camera_does_not_know_the_scale(tmp_path):
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x829A] = 0.01  # exposure time, Exif 2.3
    path = saved(tmp_path, Image.fromarray(WIDE), "camera.jpg", dpi=(300, 300), exif=exif)
    assert read_photo(path).pixel_m is None


def png_header(width: int, height: int) -> bytes:
    """A PNG of the given size with hardly any data behind it (PNG specification, sections 5.2 and 11.2.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("size", [(10_001, 10_000), (50_000, 40_000), (2_000_000, 1_000)])
def test_a_picture_too_large_is_refused_by_its_header(tmp_path, size):
    (tmp_path / "bomb.png").write_bytes(png_header(*size))
    with pytest.raises(InputError, match="100 million pixels") as refused:
        read_photo(tmp_path / "bomb.png")
    assert str(refused.value).count("\n") == 0


def jpeg_cut_short() -> bytes:
    """The first half of a JPEG."""
    buffer = io.BytesIO()
    Image.fromarray(np.uint8(np.random.default_rng(1).integers(0, 255, (200, 200)))).save(buffer, "JPEG")
    return buffer.getvalue()[: len(buffer.getvalue()) // 2]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not a picture",
        b"\x89PNG\r\n\x1a\n",
        png_header(400, 300),
        jpeg_cut_short(),
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
        b"<svg/>",
        b"GIF89a",
    ],
    ids=["empty", "text", "bare", "no-data", "half", "postscript", "svg", "gif"],
)
def test_what_is_no_picture_is_one_sentence(tmp_path, data):
    (tmp_path / "x.png").write_bytes(data)
    with pytest.raises(InputError, match=r"x\.png: .*save it"):
        read_photo(tmp_path / "x.png")


def test_a_missing_file_and_a_folder_are_said_so(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_photo(tmp_path / "nowhere.png")
    with pytest.raises(InputError, match="folder"):
        read_photo(tmp_path)


@pytest.mark.parametrize("seed", range(25))
def test_damaged_bytes_give_a_picture_or_the_one_error(tmp_path, seed):
    rng = np.random.default_rng(seed)
    buffer = io.BytesIO()
    kind = ["PNG", "JPEG", "TIFF", "GIF", "WEBP"][seed % 5]
    Image.fromarray(WIDE).convert("RGB").save(buffer, kind)
    data = bytearray(buffer.getvalue())
    for at in rng.integers(0, len(data), 12):
        data[at] = rng.integers(0, 256)
    (tmp_path / "y").write_bytes(data)
    try:
        assert read_photo(tmp_path / "y").grey.ndim == 2
    except InputError as refused:
        assert "wanted" in str(refused) or "save it" in str(refused)


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


# Beside the ledger, and the command

FOUND = Count(97, 96, 99, None, 9, 0.0, "nine lines", Line(0, 0, 0, 100), (1.0, 2.0))


@pytest.mark.parametrize(
    "distinct, words",
    [(97, "agree"), (99, "agree"), (112, "13 or more are missing"), (90, "6 or more too many"), (193, "one bevel")],
)
def test_the_ledger_and_the_photograph_are_set_side_by_side(distinct, words):
    """Seven plates in 16 pieces: 112 by the trade's count, 16 (7 - 1) + 1 = 97 distinct (shop arithmetic)."""
    sentence = compare_with_ledger(FOUND, distinct)
    assert words in sentence
    assert "97 (96 to 99)" in sentence


def test_json_has_the_keys_other_tools_rely_on():
    assert list(as_json(FOUND)) == ["layers", "low", "high", "layers_per_m", "lines_used"]


@pytest.fixture
def bar_end(tmp_path) -> Path:
    """A scanned bar end of 97 equal layers, 8 px each at 1200 dpi."""
    return saved(tmp_path, Image.fromarray(np.uint8(255 * stripes(97, 8.0))), "bar-end.png", dpi=(1200, 1200))


def run(*words: object):
    """The count command run with these words."""
    app = Typer(pretty_exceptions_enable=False)
    app.command()(count_command)
    return CliRunner().invoke(app, [str(w) for w in words])


def test_the_command_prints_the_count_and_the_density(bar_end):
    result = run(bar_end)
    assert result.exit_code == 0
    assert "97 (96 to 98) layers" in result.stdout
    assert "150 layers per inch" in result.stdout  # 1200 dpi over 8 px


def test_the_command_gives_json_in_si(bar_end):
    import json

    data = json.loads(run(bar_end, "--json").stdout)
    assert data["layers"] == 97
    assert data["layers_per_m"] == pytest.approx(150 / 0.0254, rel=0.01)


def test_the_command_takes_a_line_and_a_ruler(bar_end):
    import json

    data = json.loads(run(bar_end, "--json", "--along", "120,40,120,440", "--scale", "0,0,200,0=10 mm").stdout)
    assert abs(data["layers"] - 50) <= 1
    assert data["layers_per_m"] == pytest.approx(2500, rel=0.01)  # 8 px of 0.05 mm


def test_the_command_compares_with_a_recipe(bar_end, tmp_path):
    recipe = tmp_path / "smokehouse.toml"
    recipe.write_text(
        'version = 1\ntitle = "Smokehouse set"\nunits = "metric"\n'
        '[[bar]]\nname = "billet"\nwidth = "40 mm"\nlength = "150 mm"\n'
        'stack = ["1084 3 mm", "15N20 3 mm"]\nrepeat = 3\ncap = "1084 3 mm"\n'
    )
    assert "7 distinct: there are 89 or more too many" in run(bar_end, "--recipe", recipe).stdout
    assert isinstance(run(bar_end, "--recipe", recipe, "--after", "5").exception, InputError)


def test_the_marked_picture_is_written_once(bar_end, tmp_path):
    out = tmp_path / "counted.png"
    assert run(bar_end, "--picture", out).exit_code == 0
    first = out.read_bytes()
    assert isinstance(run(bar_end, "--picture", out).exception, InputError)
    assert out.read_bytes() == first
    assert run(bar_end, "--picture", out, "--force").exit_code == 0


def test_a_picture_of_another_kind_and_a_band_without_a_line_are_refused(bar_end, tmp_path):
    assert "ending in .png" in str(run(bar_end, "--picture", tmp_path / "counted.jpg").exception)
    assert "--along" in str(run(bar_end, "--band", "80").exception)
    assert not list(tmp_path.glob("counted*"))


def test_every_layer_has_its_block_in_the_marked_picture():
    """Amber on bright and blue on dark layers, read back from the picture along the measured line."""
    image = stripes(30, 20.0)
    sheet = np.asarray(Image.open(io.BytesIO(marked_png(image, count_layers(image)))).convert("RGB"), dtype=int)
    line = sheet[
        16 : 16 + 600, 16 + 120
    ]  # the photograph stands at 16, 16 and is not scaled: 600 px high, its middle column
    amber = line[:, 0] > line[:, 2]
    bright = image[:, 120] > 0.5
    assert np.mean(amber == bright) > 0.95
    assert 1 + np.count_nonzero(np.diff(amber)) == 30
