"""What the ground bevel shows, measured on rendered pictures, against plane geometry worked out by hand.

Source: a plane at the angle theta to layers of thickness t cuts them every t / sin(theta) along the cut, t / tan(theta)
in side view; all checks below are that one sentence. Lines are found in the PNG by scikit-image's profile_line, not by
our own code.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from skimage.measure import profile_line

from billet.blade import Blade
from billet.ledger.run import run
from billet.recipe.read import build
from render.etch import Look
from render.field import paint
from render.lines import figures
from render.panel import Subject
from render.picture import Picture, draw, save
from render.request import Crop, Request
from render.scene import prepare
from render.subject import subject_of
from render.welds import weld_cover
from tests import picture_recipes as recipes
from tests.truth.registry import How, Pairs, checks

Array = NDArray[np.float64]

HEIGHT, SPINE, EDGE, LENGTH = 48e-3, 2.5e-3, 0.3e-3, 210e-3  # [m]
THICK = 3.2e-3
SIDES: tuple[Literal["left", "right"], ...] = ("left", "right")


def untapered(data: dict[str, Any], **blade: Any) -> dict[str, Any]:
    """A nearly square-ended blade without distal taper, so that the plane geometry is exact at every station."""
    return {
        **data,
        "blade": {
            **data["blade"],
            "shape": "usuba",
            "spine": {k: "2.5 mm" for k in ("heel", "middle", "tip")},
            **blade,
        },
    }


def clad(offset: str = "0 mm", core: str = "1.0 mm") -> dict[str, Any]:
    """A dark core between bright jackets in a bar 3.2 mm thick, not forged any thinner."""
    jacket = f"A203E {(3.2 - float(core.split()[0])) / 2} mm"
    bar = {
        "name": "clad",
        "width": "54 mm",
        "length": "350 mm",
        "stack": [jacket, f"W2 {core}", jacket],
        "step": [recipes.WELD],
    }
    return untapered({"title": "Clad", "shop": recipes.SHOP, "bar": [bar], "blade": recipes.BLADE}, offset=offset)


def drawn(data: dict[str, Any], view: str, crop: Crop, width: int = 600) -> Picture:
    return draw(run(build(data), diffuse=False), Request(view=view, crop=crop, width=width, two_tone=True))


def rises(picture: Picture, path: Path) -> Array:
    """Heights above the lower border of the picture where it turns from dark to bright or back [m], going up its
    middle.
    """
    save(picture, path, force=True)
    with Image.open(path) as image:
        grey = np.asarray(image.convert("L"), float)[: picture.panels[0].window.rows]
    col = grey.shape[1] // 2
    line = profile_line(grey, (grey.shape[0] - 1, col), (0, col), linewidth=3, mode="nearest")
    line = line[: grey.shape[0]] - 128
    at = np.flatnonzero(np.diff(np.sign(line)) != 0)
    return (at + 0.5 + line[at] / (line[at] - line[at + 1])) * picture.pixel


GEOMETRY = "plane geometry by hand"
FOUND = "scikit-image finding lines in the PNG"


def png_rises(picture: Picture) -> Array:
    """`rises` of a picture that is written to a file of its own."""
    with TemporaryDirectory() as folder:
        return rises(picture, Path(folder) / "a.png")


@checks("width of a line on the bevel", f"{GEOMETRY}, {FOUND}, 25 to 301 layers", How.METHOD, unit="%", within=3.0)
def test_lines_stand_as_far_apart_as_the_plane_cuts_them() -> Pairs:
    tan = (SPINE - EDGE) / (2 * HEIGHT)
    for layers in (25, 101, 301):
        data = untapered(recipes.laminate(layers))
        measured = float(np.median(np.diff(png_rises(drawn(data, "right", Crop(0.06, 0.024, 0.010, 0.040))))))
        yield measured, THICK / layers / tan
        yield float(np.hypot(1, tan)) * measured, float(THICK / layers / np.sin(np.arctan(tan)))


def face_figures(layers: int, side: Literal["left", "right"]) -> tuple[int, float]:
    """Lines on a face and the width of most of them [m]."""
    ledger = run(build(untapered(recipes.laminate(layers))), diffuse=False)
    bar, blade = ledger.last, Blade(ledger.recipe.tables.blade)
    found = figures(bar, blade, blade.placement(bar.length, bar.width), side)
    return found.lines, float(found.median_line)


@checks(
    "lines on each face",
    f"{GEOMETRY}: the face goes through half of spine less edge",
    How.METHOD,
    unit="lines",
    within=1.0,
)
def test_lines_on_one_face() -> Pairs:
    """N (s - e) / (2 T), before it is rounded to whole lines."""
    for layers in (25, 101, 301):
        for side in SIDES:
            yield face_figures(layers, side)[0], layers * (SPINE - EDGE) / (2 * THICK)


@checks("width of a line on the bevel", f"{GEOMETRY}, the width printed", How.METHOD, unit="%", within=3.0)
def test_width_told_for_one_face() -> Pairs:
    for layers in (25, 101, 301):
        for side in SIDES:
            yield face_figures(layers, side)[1], THICK / layers * 2 * HEIGHT / (SPINE - EDGE)


BARED = [("0.6 mm", 6.5), ("0.83 mm", 11.6), ("1.0 mm", 15.3), ("1.25 mm", 20.7)]  # core, height [mm]


@checks("height of a bared core", f"{GEOMETRY}, {FOUND}", How.METHOD, unit="mm", within=0.2)
def test_bared_core_in_the_picture() -> Pairs:
    """h (c - e) / (s - e); the four heights follow from h 48, s 2.5, e 0.3 mm by hand."""
    for core, height_mm in BARED:
        yield 1e3 * png_rises(drawn(clad(core=core), "right", Crop(0.06, 0.024, 0.012, 0.048)))[0], height_mm


@checks("height of a bared core", f"{GEOMETRY}, the height printed", How.METHOD, unit="mm", within=0.1)
def test_bared_core_as_told() -> Pairs:
    for core, height_mm in BARED:
        picture = drawn(clad(core=core), "right", Crop(0.06, 0.024, 0.012, 0.048))
        yield 1e3 * picture.facts["faces"]["right"]["core_line_m"], height_mm


def test_an_offset_moves_the_core_line_up_on_one_face_and_down_on_the_other(tmp_path: Path) -> None:
    """0.1 mm over tan(theta) = (2.5 - 0.3) / (2 x 48) is 4.4 mm. Towards the right face, the right one is ground more
    above the core.
    """
    places = {}
    for offset in ("0 mm", "0.1 mm"):
        for side in ("left", "right"):
            picture = drawn(clad(offset), side, Crop(0.06, 0.024, 0.012, 0.048))
            places[side, offset] = rises(picture, tmp_path / "a.png")[0] * 1e3
    assert places["left", "0.1 mm"] - places["left", "0 mm"] == pytest.approx(4.36, abs=0.1)
    assert places["right", "0.1 mm"] - places["right", "0 mm"] == pytest.approx(-4.36, abs=0.1)


def test_three_hundred_layers_at_800_pixels_show_their_mean_grey() -> None:
    """Brightness is averaged in linear light: the mean of equal layers of two steels is the mean of their two tones."""
    ledger = run(build(untapered(recipes.laminate(300))), diffuse=False)
    bar, blade = ledger.last, Blade(ledger.recipe.tables.blade)
    subject = Subject(bar, blade, blade.placement(bar.length, bar.width))
    window = subject.window("right", LENGTH * 1.07 / 800)
    view, scene = prepare(bar, Look(), lambda k: subject.view("right", window, k), window)
    inside = view.region.whole(window.rows, window.cols) == 1
    from render.etch import steel_tone

    tones = [steel_tone(s, Look()) for s in bar.leaves[0].steels]
    assert float(paint(scene)[inside].mean()) == pytest.approx(sum(tones) / 2, rel=0.02)


def test_the_welds_of_a_core_are_drawn_where_it_comes_out() -> None:
    """The weld planes lie at c / 2 either side of the middle, so they reach the face h (c - e) / (s - e) above the
    edge.
    """
    picture = draw(
        run(build(clad()), diffuse=False), Request(view="right", crop=Crop(0.06, 0.024, 0.012, 0.048), width=300)
    )
    subject, _ = subject_of(run(build(clad()), diffuse=False), Request(view="right"))
    panel = picture.panels[0]
    covers = weld_cover(subject, panel, run(build(clad()), diffuse=False))
    assert len(covers) == 1
    row = np.flatnonzero(next(iter(covers.values()))[:, 150] > 0.5)
    height = (panel.window.rows - 0.5 - row.mean()) * panel.window.pixel
    assert height * 1e3 == pytest.approx(15.3, abs=0.15)
