"""Views look at the metal from where they say, and never in a mirror."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from billet.bar.bar import Bar
from billet.bar.trace import steel_at
from billet.base.errors import InputError
from billet.blade import Blade
from billet.steel.library import library
from render.etch import Look, cell_reflectance, reflectance
from render.panel import Subject
from render.picture import draw, save
from render.request import Request, read_crop
from render.vary import changed, pictured, read_vary
from render.views import VIEWS, Window
from tests import picture_recipes as recipes

# What right and up in the picture are in the bar, for an observer outside who looks along one axis: right x up points
# at the eye.
AXES = {
    "right": ((1, 0, 0), (0, 1, 0)),
    "left": ((-1, 0, 0), (0, 1, 0)),
    "spine": ((1, 0, 0), (0, 0, -1)),
    "choil": ((0, 0, 1), (0, 1, 0)),
    "section": ((0, 0, 1), (0, 1, 0)),
    "bar-face": ((1, 0, 0), (0, 1, 0)),
    "bar-side": ((1, 0, 0), (0, 0, 1)),
    "bar-end": ((0, -1, 0), (0, 0, 1)),
}
EYE = {
    "right": (2, 1),
    "left": (2, -1),
    "spine": (1, 1),
    "choil": (0, -1),
    "section": (0, -1),
    "bar-face": (2, 1),
    "bar-side": (1, -1),
    "bar-end": (0, -1),
}


@pytest.fixture(scope="module")
def subject() -> Subject:
    ledger = recipes.ledger_of(recipes.ladder())
    bar, blade = ledger.last, Blade(ledger.recipe.tables.blade)
    return Subject(bar, blade, blade.placement(bar.length, bar.width), 0.05)


def middle(subject: Subject, name: str) -> Window:
    left, right, bottom, top = subject.bounds(name)
    return Window((0.5 * (left + right), 0.5 * (bottom + top)), 1e-5, 8, 8)


@pytest.mark.parametrize("name", VIEWS)
def test_right_and_up_are_what_an_observer_outside_sees(subject: Subject, name: str) -> None:
    surface = subject.view(name, middle(subject, name), np.float64).surface
    corners = [
        np.array([float(a[0]) for a in surface.points(np.array([r]), np.array([c]))])
        for r, c in ((4.0, 4.0), (4.0, 5.0), (3.0, 4.0))
    ]
    right, up = ((c - corners[0]) / 1e-5 for c in corners[1:])
    wanted = [np.array(a, float) for a in AXES[name]]
    assert right @ wanted[0] == pytest.approx(1, abs=1e-3)
    assert up @ wanted[1] == pytest.approx(1, abs=1e-3)
    axis, sign = EYE[name]
    assert np.cross(right, up)[axis] * sign > 0.99


@pytest.mark.parametrize("name", VIEWS)
def test_the_surface_lies_on_the_metal_nearest_the_eye(subject: Subject, name: str) -> None:
    view = subject.view(name, middle(subject, name), np.float64)
    point = np.array([float(a[0]) for a in view.surface.points(np.array([4.0]), np.array([4.0]))])[:, None]
    assert subject.bar.contains(point * (1 - 1e-9))[0]


def marked() -> Bar:
    """Eleven plates, the third from below nickel."""
    data = recipes.laminate(11)
    data["bar"][0]["stack"] = ["1084 1 mm", "1084 1 mm", "nickel 1 mm"] + ["1084 1 mm"] * 8
    data["bar"][0].pop("repeat")
    data["bar"][0].pop("cap")
    return recipes.bar_of(data)


def bright_rows(bar: Bar, name: str) -> tuple[float, float]:
    """Mean place of the bright plate across and down the picture, from -1 to 1."""
    blade = Blade(recipes.ledger_of(recipes.laminate(11)).recipe.tables.blade)
    subject = Subject(bar, blade, blade.placement(bar.length, bar.width), 0.02)
    from render.field import paint
    from render.scene import prepare

    left, right, bottom, top = subject.bounds(name)
    window = Window((0.5 * (left + right), 0.5 * (bottom + top)), min(right - left, top - bottom) / 200, 300, 300)
    _, scene = prepare(bar, Look(), lambda k: subject.view(name, window, k), window)
    bright = paint(scene) > 0.4
    row, col = np.nonzero(bright)
    return (float(col.mean()) + 0.5) / 150 - 1, (float(row.mean()) + 0.5) / 150 - 1


@pytest.mark.parametrize(
    ("name", "axis", "side"),
    [("bar-end", 1, 1), ("bar-side", 1, 1), ("choil", 0, -1), ("section", 0, -1), ("spine", 1, -1)],
)
def test_a_marked_plate_below_the_middle_shows_where_it_lies(name: str, axis: int, side: int) -> None:
    """The plate lies towards -z, which is low on a lying bar, and on the left face's side of a blade: left from the
    handle, on top from above.
    """
    assert bright_rows(marked(), name)[axis] * side > 0


def test_a_marked_plate_shows_on_the_left_face_alone() -> None:
    bar = marked()
    blade = Blade(recipes.ledger_of(recipes.laminate(11)).recipe.tables.blade)
    at = blade.placement(bar.length, bar.width)
    y = np.linspace(0.001, 0.047, 400)
    seen = {
        side: set(steel_at(bar, blade.face_points(np.full_like(y, 0.02), y, side, at))) for side in ("left", "right")
    }
    assert "nickel" in seen["left"]
    assert "nickel" not in seen["right"]


# Design order, dark to bright; common practice, no source.
RANKS = [
    ["O1", "1084", "1080", "1075"],
    ["1095", "W1", "W2", "80CrV2", "52100", "5160"],
    ["8670", "L6"],
    ["15N20"],
    ["A203E", "nickel", "304", "316", "410", "420", "13C26"],
]


@pytest.mark.parametrize(("darker", "brighter"), list(pairwise(RANKS)))
def test_etched_tones_keep_the_order_of_the_trade(darker: list[str], brighter: list[str]) -> None:
    steels = library()
    tones = [[float(reflectance(steels[n].composition)) for n in group] for group in (darker, brighter)]
    assert max(tones[0]) < min(tones[1])


def test_seams_poor_in_carbon_are_pale_and_can_be_left_away() -> None:
    leaf = recipes.bar_of(recipes.laminate(11)).leaves[0]
    composition = leaf.composition.copy()
    composition[4, 0] *= 0.4
    from dataclasses import replace

    poor = replace(leaf, composition=composition)
    sound = cell_reflectance(leaf, Look(seams=0.0))[4]
    hidden, shown, bold = (cell_reflectance(poor, Look(seams=s))[4] for s in (0.0, 0.5, 1.0))
    assert hidden == pytest.approx(sound, rel=0.1)
    assert sound < shown < bold


def test_pixels_have_their_true_size_on_paper(tmp_path: Path) -> None:
    picture = draw(recipes.ledger_of(recipes.laminate()), Request(width=600))
    save(picture, tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as found:
        dots = found.info["dpi"]
    assert dots[0] == pytest.approx(0.0254 / picture.pixel, rel=1e-3)
    assert picture.facts["width_px"] == 600


def test_a_picture_is_never_written_over(tmp_path: Path) -> None:
    picture = draw(recipes.ledger_of(recipes.laminate()), Request(width=300))
    save(picture, tmp_path / "a.png")
    before = (tmp_path / "a.png").read_bytes()
    with pytest.raises(InputError, match="force"):
        save(picture, tmp_path / "a.png")
    with pytest.raises(InputError, match="folder"):
        save(picture, tmp_path / "none" / "a.png")
    assert (tmp_path / "a.png").read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["a.png"]


def test_metal_that_is_not_there_is_hatched_and_told() -> None:
    data = recipes.laminate()
    data["blade"] = {**data["blade"], "offset": "1 mm"}
    picture = draw(recipes.ledger_of(data), Request(width=500, view="right"))
    assert picture.panels[0].missing > 0
    assert any("outside the bar" in line for line in picture.facts["warnings"])


@pytest.mark.parametrize(
    ("request_", "words"),
    [
        ({"view": "rihgt"}, "wanted one of"),
        ({"after": "2"}, "bar-face"),
        ({"width": 20}, "at least"),
        ({"width": 40_000}, "megapixels"),
        ({"state": "raw"}, "hardening"),
    ],
)
def test_what_cannot_be_shown_is_refused_in_a_sentence(request_: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Request(**request_)  # type: ignore[arg-type]


def test_a_close_look_is_where_it_was_asked_for() -> None:
    crop = read_crop("120 mm, 20 mm 10 mm x 5 mm")
    assert (crop.x, crop.y, crop.width, crop.height) == pytest.approx((0.12, 0.02, 0.01, 0.005))
    picture = draw(recipes.ledger_of(recipes.laminate()), Request(view="left", width=400, crop=crop))
    window = picture.panels[0].window
    assert window.centre == pytest.approx((-0.12, 0.02))
    assert window.pixel == pytest.approx(0.01 / 400)


def test_one_field_can_be_varied() -> None:
    data = recipes.laminate()
    assert changed(data, "blade.offset", "0.1 mm")["blade"]["offset"] == "0.1 mm"
    assert changed(data, "bar.0.repeat", "3")["bar"][0]["repeat"] == 3
    assert read_vary("blade.offset=0 mm, 0.1 mm") == ("blade.offset", ("0 mm", "0.1 mm"))
    with pytest.raises(InputError, match=r"bar\.7"):
        changed(data, "bar.7.repeat", "3")


def test_a_sheet_holds_one_picture_a_value(tmp_path: Path) -> None:
    import tomlkit

    from billet.recipe.read import load

    path = tmp_path / "knife.toml"
    path.write_text(tomlkit.dumps(recipes.laminate()))
    picture = pictured(load(path), Request(width=600), "blade.heel_height=44 mm,48 mm")
    assert [v["value"] for v in picture.facts["values"]] == ["44 mm", "48 mm"]
    assert picture.image.width == 600


@pytest.mark.parametrize(
    ("stack", "core"),
    [
        (["1084 2 mm", "15N20 2 mm"] * 4, False),
        (["nickel 3 mm", "W2 1.5 mm", "nickel 3 mm"], True),
        (["15N20 1.6 mm", "1084 1.6 mm", "15N20 1.6 mm", "1084 4 mm", "15N20 1.6 mm", "1084 1.6 mm"], True),
    ],
    ids=["eight like plates", "three layers", "a thick plate among thin ones of its steel"],
)
def test_only_a_blade_with_a_core_has_a_core_line(stack: list[str], core: bool) -> None:
    data = recipes.laminate(11)
    data["bar"][0] = {k: v for k, v in data["bar"][0].items() if k not in ("repeat", "cap")} | {"stack": stack}
    faces = pictured(recipes.build(data), Request(width=300), None).facts["faces"]
    assert all((face["core_line_m"] is not None) is core for face in faces.values())
