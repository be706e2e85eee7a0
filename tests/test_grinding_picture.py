"""The sheet for the grinder: what lies where, before what it looks like."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

import render.grinding_picture as grinding_picture
from billet.blade import Blade, BladeDesign, Side
from billet.grinding import Least, Plan, Reading, make_plan, on_blade
from render.grinding_picture import MARGIN, PAPER, SHORT, WIDE, plan_image, plan_png

MM = 1e-3
KNIFE = Blade(BladeDesign(length=0.240, heel_height=0.048))
SPOTS = [(x * MM, place) for x in (0, 60, 120, 180, 225) for place in ("spine", "edge")]


def removal_map(plan: Plan, units: str, side: Side) -> Image.Image:
    """What comes off one face as a bare map on paper, the face as the smith sees it with the edge down."""
    sheet = grinding_picture._Sheet(plan, units, Image.new("RGB", (1, 1), PAPER))
    left, right, _ = grinding_picture._figures(plan)
    look = grinding_picture._take_look(sheet, left, right)
    picture, mask = grinding_picture._painted(sheet, left if side == "left" else right, look, side)
    paper = Image.new("RGB", picture.size, PAPER)
    paper.paste(picture, (0, 0), mask)
    return paper


def plan(bow: float = 0.0, least: float = 0.05e-3, spare: float = 0.8e-3, lean: float = 0.0) -> Plan:
    """Stations with even spare metal, a bow in the middle of the spine, and more spare towards the tip by ``lean``."""
    bare = on_blade([Reading(x, place, MM) for x, place in SPOTS], KNIFE)
    readings = [
        replace(
            s.reading,
            thickness=float(KNIFE.thickness(s.x, s.y)) + spare + lean * s.x,
            bow=bow if (s.x, s.place) == (pytest.approx(0.120), "spine") else 0.0,
        )
        for s in bare
    ]
    return make_plan(on_blade(readings, KNIFE), KNIFE, Least(skin=least), "line")


def tone(image: Image.Image, x: float, up: float, side: str) -> float:
    """Mean lightness around a point of the blade on a bare map, heel at the left for the right face."""
    pixels = np.asarray(image.convert("L"), float)
    across = x / KNIFE.length * pixels.shape[1]
    col = int(across if side == "right" else pixels.shape[1] - across)
    scale = KNIFE.length / pixels.shape[1]
    row = int((float(KNIFE.spine_y(np.linspace(0, KNIFE.length, 257)).max()) - up) / scale)
    return float(pixels[row - 6 : row + 7, col - 6 : col + 7].mean())


def test_a_bow_to_the_right_is_darker_on_the_right_face_where_the_blade_bows() -> None:
    """From the meaning: dark is much to take, and a bow to the right comes off the right."""
    bowed = plan(bow=0.2e-3)
    right, left = (removal_map(bowed, "metric", side) for side in ("right", "left"))
    up = float(KNIFE.spine_y(0.12)) - 4 * MM
    assert tone(right, 0.12, up, "right") < tone(right, 0.02, up, "right") - 15
    assert tone(left, 0.12, up, "left") > tone(left, 0.02, up, "left") + 15


def test_the_left_map_of_a_bow_is_the_right_map_of_the_opposite_bow_seen_in_a_mirror() -> None:
    """By symmetry; the tip points left on the left face and right on the right face."""
    one = np.asarray(removal_map(plan(bow=0.2e-3, lean=1e-3), "metric", "left"), int)
    two = np.asarray(
        removal_map(plan(bow=-0.2e-3, lean=1e-3), "metric", "right").transpose(Image.Transpose.FLIP_LEFT_RIGHT), int
    )
    assert np.mean(np.abs(one - two) > 8) < 0.01


@pytest.mark.parametrize(("leans", "short"), [(0.0, False), (-3e-3, True)])
def test_the_map_is_hatched_where_less_comes_off_than_must(leans: float, short: bool) -> None:
    """By hand: 0.4 a side and a least of 0.05 leave nothing to hatch; 3 mm less spare per metre towards the tip leave
    (0.8 - 0.7) / 2 = 0.05 at the last station, 225 mm out, and less beyond it.
    """
    maps = [np.asarray(removal_map(plan(spare=0.8e-3, lean=leans), "metric", side)) for side in ("left", "right")]
    hatched = [(pixels == SHORT).all(axis=-1) for pixels in maps]
    assert [bool(where.any()) for where in hatched] == [short, short]
    beyond = int(0.22 / KNIFE.length * maps[1].shape[1])
    assert not hatched[1][:, :beyond].any()


def test_the_map_shows_the_outline_and_no_more() -> None:
    """By plane geometry: the share of paper is that of the rectangle outside the outline."""
    pixels = np.asarray(removal_map(plan(), "metric", "right"))
    x = np.linspace(0, KNIFE.length, 4001)
    low, high = KNIFE.edge_y(x), KNIFE.spine_y(x)
    covered = float(np.mean(high - low) / (high.max() - low.min()))
    assert float(np.mean((pixels != PAPER).any(axis=-1))) == pytest.approx(covered, abs=0.01)


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_sheet_is_a_whole_png_with_quiet_margins(units: str) -> None:
    """Ours: the outer third of the margin stays paper on both sides."""
    image = Image.open(io.BytesIO(plan_png(plan(bow=0.1e-3), units, "Smokehouse knife")))
    pixels = np.asarray(image.convert("RGB"))
    assert image.width == WIDE
    rim = MARGIN // 3
    assert (pixels[:, :rim] == PAPER).all()
    assert (pixels[:, -rim:] == PAPER).all()
    assert (pixels[-10:] == PAPER).all()


@pytest.mark.parametrize("readings", [["spine"], ["edge"], [0.02]])
def test_a_single_station_makes_a_sheet(readings: list[str | float]) -> None:
    """Degenerate: one reading anywhere."""
    stations = on_blade([Reading(0.05, place, 4 * MM, 0.1e-3) for place in readings], KNIFE)
    assert plan_image(make_plan(stations, KNIFE), "metric").height > 1000
