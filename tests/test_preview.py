"""What the preview's options show: the ground blade, close looks, blades ground from measured stations."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from numpy.typing import NDArray
from typer.testing import CliRunner

from billet.bar.trace import trace
from billet.base.errors import InputError
from billet.blade import Blade
from billet.cli import app
from billet.ledger.rows import Ledger
from render.etch import Look
from render.field import paint
from render.inset import TIMES, wants_inset
from render.measured_face import measured
from render.panel import Subject
from render.picture import draw
from render.request import Request, asked, read_zoom
from render.scene import prepare
from render.views import Window
from tests import picture_recipes as recipes
from tests.brute import finer, reference, supersampled, without_region

Array = NDArray[np.float64]
NOTHING = {"after": None, "state": "finished", "welds": False, "crop": None, "at": None, "two_tone": False}


def with_offset(offset: str) -> Ledger:
    data = recipes.laminate()
    return recipes.ledger_of({**data, "blade": {**data["blade"], "offset": offset}})


def subject_of(ledger: Ledger) -> Subject:
    blade, bar = Blade(ledger.recipe.tables.blade), ledger.last
    return Subject(bar, blade, blade.placement(bar.length, bar.width))


def stations(path: Path, *rows: str) -> Path:
    path.write_text("position,place,thickness,bow\n" + "\n".join(rows) + "\n")
    return path


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "knife.toml"
    path.write_text(tomlkit.dumps(recipes.laminate()))
    return path


def test_ground_is_the_option_and_state_its_second_name(recipe: Path) -> None:
    shown = []
    for option, ground in (("--ground", "hardening"), ("--state", "hardening"), ("--ground", "finished")):
        out = recipe.with_name("a.png")
        words = ["preview", str(recipe), "-o", str(out), "--width", "400", option, ground, "--force"]
        assert CliRunner().invoke(app, words).exit_code == 0
        shown.append(out.read_bytes())
    assert shown[0] == shown[1] != shown[2]


def test_cautions_stand_once_below_the_words_and_not_in_the_json(recipe: Path) -> None:
    words = ["preview", str(recipe), "--width", "300", "--force"]
    text, data = (CliRunner().invoke(app, [*words, *more]).stdout for more in ((), ("--json",)))
    assert text.count("Acid into water") == text.count("Rinse and neutralise") == 1
    assert json.loads(data)["pixel_m"] > 0


def test_a_zoom_is_ten_millimetres_across_the_full_width() -> None:
    request = asked(view=None, width=4000, zoom="120 mm, 20 mm", **NOTHING)  # type: ignore[arg-type]
    assert request.view == "right"
    window = subject_of(with_offset("0 mm")).close_up("right", request.crop, request.width)  # type: ignore[arg-type]
    assert window.cols * window.pixel == pytest.approx(10e-3)
    assert window.centre == pytest.approx((0.12, 0.02))
    with pytest.raises(InputError, match="120 mm, 20 mm"):
        read_zoom("120 mm")


@pytest.mark.parametrize("name", ["ladder", "twist"])
def test_a_zoom_four_thousand_pixels_wide_loses_nothing(name: str) -> None:
    """At 2.5 micrometres a pixel: no further from 64 x 64 samples in the laminate itself than 8 x 8 samples are."""
    subject = subject_of(recipes.ledger_of(recipes.RECIPES[name]()))
    window = Window((0.0703, 0.024), 10e-3 / 4000, 48, 48)
    truth = reference(subject.bar, Look(), lambda w, k: subject.view("right", w, k), window)
    _, scene = prepare(subject.bar, Look(), lambda k: subject.view("right", window, k), window)
    scene = without_region(scene)
    fine = subject.view("right", finer(window, 8), scene.surface.kind).surface
    own, brute = (np.sqrt(np.mean((a - truth) ** 2)) for a in (paint(scene), supersampled(scene, fine, 8)))
    assert own <= brute + 1e-3


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_constant_bow_is_the_opposite_offset(tmp_path: Path, side: str) -> None:
    """Ground straight again, a blade that hung 0.2 mm to the right lies 0.2 mm further left in its steel: plain
    geometry.
    """
    file = stations(
        tmp_path / "s.csv", *(f"{x} mm,{p},3.2 mm,0.2 mm right" for x in (0, 150) for p in ("spine", "edge"))
    )
    bowed, straight = with_offset("0 mm"), with_offset("-0.2 mm")
    subject = subject_of(bowed)
    assert subject.blade is not None
    shift = measured(bowed, subject.blade, file).shift
    ground = Subject(subject.bar, subject.blade, subject.placement, shift=shift)
    window = Window(((1 if side == "right" else -1) * 0.1, 0.02), 0.4e-3, 200, 90)
    depths = [
        s.view(side, window, np.float64).surface.grid(slice(0, 90), slice(0, 200))
        for s in (ground, subject_of(straight))
    ]
    for mine, wanted in zip(*depths, strict=True):
        assert mine == pytest.approx(np.broadcast_to(wanted, mine.shape), abs=1e-9)


def test_an_uneven_bow_is_followed_over_the_face(tmp_path: Path) -> None:
    """The drawn face lies at offset + shift(x, y) + half thickness, to a hundredth of the thinnest layer there."""
    file = stations(
        tmp_path / "s.csv", "0 mm,spine,3.2 mm,straight", "70 mm,20 mm,3 mm,0.1 mm left",
        "140 mm,spine,2.9 mm,0.2 mm right", "150 mm,edge,1.4 mm,0.1 mm left",
    )  # fmt: skip
    ledger = with_offset("0 mm")
    subject = subject_of(ledger)
    assert subject.blade is not None and subject.placement is not None
    shift = measured(ledger, subject.blade, file).shift
    ground = Subject(subject.bar, subject.blade, subject.placement, shift=shift)
    window = Window((0.07, 0.02), 0.2e-3, 60, 60)
    x, y, z = ground.view("right", window, np.float64).surface.grid(slice(0, 60), slice(0, 60))
    here = x - subject.placement.heel_x, y - subject.placement.edge_y
    there = subject.blade.face_points(*here, "right", subject.placement)
    wanted = there[2] + np.asarray(shift(*here)).ravel()
    thinnest = ledger.last.leaves[0].thickness.min()
    assert np.abs(z.ravel() - wanted).max() < 0.01 * thinnest
    assert np.ptp(shift(np.linspace(0, 0.2, 9), np.full(9, 0.02))) > 0.05e-3


def test_stations_move_the_figures_and_say_so(tmp_path: Path) -> None:
    file = stations(
        tmp_path / "s.csv", *(f"{x} mm,{p},3.2 mm,0.2 mm right" for x in (0, 150) for p in ("spine", "edge"))
    )
    picture = draw(with_offset("0 mm"), Request(width=300, stations=file))
    grinding = picture.facts["grinding"]
    assert grinding["shift_m"] == pytest.approx(-0.2e-3)
    assert grinding["lines_move_m"]["left"] < 0 < grinding["lines_move_m"]["right"]
    assert any("0.20 mm left" in line for line in grinding["says"])
    with pytest.raises(InputError, match="--stations"):
        Request(view="spine", stations=file)


def test_lines_too_fine_to_see_get_a_close_look_and_bare_pictures_none() -> None:
    ledger = recipes.ledger_of(recipes.laminate(401))
    plain, bare = (draw(ledger, Request(width=1200, bare=b)) for b in (False, True))
    corner = [np.asarray(p.image.convert("L"))[:70, -300:-50].astype(float) for p in (plain, bare)]
    line = plain.facts["median_line_m"]
    assert line < 4 * plain.pixel
    assert np.ptp(corner[0]) > 60
    assert not wants_inset(Request(width=1200, bare=True), line, plain.pixel)
    assert not wants_inset(Request(width=1200, view="right"), line, plain.pixel)
    assert not wants_inset(Request(width=1200), 4.1 * plain.pixel, plain.pixel)
    assert TIMES * line / plain.pixel > 4


def test_tracing_agrees_where_zoom_and_full_view_meet() -> None:
    """The centre of a zoom is the point it was asked for, whatever the pixel."""
    subject = subject_of(recipes.ledger_of(recipes.ladder()))
    crop = read_zoom("100 mm, 20 mm")
    at = [subject.close_up("right", crop, width) for width in (400, 4000)]
    heights = []
    for window in at:
        surface = subject.view("right", window, np.float64).surface
        point = surface.points(np.array([window.rows / 2]), np.array([window.cols / 2]))
        heights.append(float(trace(subject.bar.material, *point).z[0]))
    assert heights[0] == pytest.approx(heights[1], abs=1e-9)
