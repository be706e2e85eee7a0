"""What is this line? Spots followed back agree with the picture, with the ledger, and with stacks reckoned by hand."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from billet.bar.bar import Bar
from billet.base.errors import InputError
from billet.blade import Blade, Placement, Side
from billet.blade.handle import Whole
from billet.blade.lying import lying
from billet.cli import behind_the_heel, main
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import build, load
from billet.where import Plate, followed, framed, look, plates_at
from billet.where.asked import of_pixel
from billet.where.spot import _SKIN as SKIN
from render.etch import steel_tone
from render.picture import Picture, draw, save
from render.request import Request
from render.subject import look_of
from tests.truth.registry import How, Pairs, checks

DEMOS = sorted(p.name for p in Path("demo_billets").glob("*.toml") if p.name != "shop.toml")
SPOTS = 500
AROUND = [(i, j) for i in (-1.5, -1, -0.5, 0, 0.5, 1, 1.5) for j in (-1.5, -1, -0.5, 0, 0.5, 1, 1.5)]
RIM = 1.2e-3  # edge and spine are drawn as bare metal, steeper toward the point


def plates_on_face(bar: Bar, blade: Blade, at: Placement, side: Side, x: Any, y: Any) -> list[Plate]:
    """The plates many spots of a face show, for a followed bar; every spot must lie on the knife."""
    half = Whole(blade).half(x, y, side) - SKIN
    sign = 1.0 if side == "right" else -1.0
    return plates_at(bar, np.stack([x + at.heel_x, y + at.edge_y, at.offset + sign * half]))


@cache
def drawn(name: str) -> tuple[Ledger, Ledger, Blade, Picture]:
    """The demo's ledger, the same with numbered plates, its blade and its picture in plain black and white."""
    recipe = load(Path("demo_billets") / name)
    book = run(recipe, diffuse=False)
    return book, followed(recipe), blade_of(recipe), draw(book, Request(width=1600, two_tone=True))


@pytest.mark.parametrize("name", DEMOS)
def test_numbered_plates_do_not_change_the_bar(name: str) -> None:
    """The framed bar starts as a worked one and the ledger's as a laminar one: two ways to the same sizes."""
    recipe = load(Path("demo_billets") / name)
    for one, other in zip(run(recipe, diffuse=False).bars, framed(recipe).bars, strict=True):
        for a, b in zip(one.rows, other.rows, strict=True):
            sizes = [(r.bar.length, r.bar.width, r.bar.thickness) for r in (a, b)]
            assert sizes[0] == pytest.approx(sizes[1], rel=1e-12)


@pytest.mark.slow
@pytest.mark.parametrize("name", DEMOS)
def test_the_plate_is_the_one_the_picture_shows(name: str) -> None:
    """500 random spots a demo: wherever a layer covers the pixels around, dark steel is drawn dark and bright bright.
    The picture is painted from tables by the pixel, the spot is followed alone."""
    book, marked, blade, picture = drawn(name)
    bar, tone_of = marked.last, _is_dark(book)
    codes = np.array(picture.image.convert("L"))
    at = lying(blade, bar)
    rng, seen = np.random.default_rng(5), 0
    views = json.loads(picture.image.info["billet"])["views"]
    for turn in range(200):
        one = views[turn % len(views)]
        col, row = rng.integers(3, one["columns"] - 3, 2000), rng.integers(3, one["rows"] - 3, 2000)
        dark, on = _told(one, col, row, lambda s, x, y: plates_on_face(bar, blade, at, s, x, y), blade, tone_of)
        got = codes[one["top_px"] + row, one["left_px"] + col] < 120
        assert np.array_equal(got[on], dark[on])
        seen += int(on.sum())
        if seen >= SPOTS:
            return
    assert seen >= SPOTS


def _is_dark(book: Ledger) -> dict[str, bool]:
    """Which steels are drawn darker than the middle between black and white."""
    look_ = look_of(book, True)
    return {s.name: steel_tone(s, look_) < 0.35 for leaf in book.last.leaves for s in leaf.steels}


def _told(one: dict[str, Any], col: Any, row: Any, plates: Any, blade: Blade, dark: dict[str, bool]) -> tuple[Any, Any]:
    """Whether the steel told at pixels is dark, and where all pixels around are told alike."""
    side: Side = one["view"]
    sign = 1.0 if side == "right" else -1.0
    told, on = [], np.ones(len(col), bool)
    for across, down in AROUND:
        x = sign * (one["left_m"] + (col + 0.5 + across) * one["pixel_m"])
        y = one["top_m"] - (row + 0.5 + down) * one["pixel_m"]
        x_in = np.clip(x, RIM, blade.length - RIM)
        low, high = blade.edge_y(x_in) + RIM, blade.spine_y(x_in) - RIM
        on &= (x == x_in) & (y > low) & (y < high)
        y_in = np.clip(y, low, np.maximum(low, high))
        told.append(np.array([dark[p.steel] for p in plates(side, x_in, y_in)]))
    middle = told[len(told) // 2]
    return middle, on & np.all([t == middle for t in told], axis=0)


TABLE = {
    "version": 2,
    "bar": [
        {
            "name": "b",
            "width": 0.06,
            "length": 0.3,
            "stack": ["1084 1 mm", "15N20 1 mm"],
            "repeat": 5,
            "cap": "1084 1 mm",
            "step": [{"do": "weld", "temperature": 1400.0, "soak": 60.0}],
        }
    ],
    "shop": {"scale_per_heat": 0.0},
    "blade": {
        "length": 0.2,
        "heel_height": 0.05,
        "shape": "usuba",
        "spine": {"heel": 3e-3, "middle": 3e-3, "tip": 3e-3},
        "edge": {"finished": 1e-3, "hardening": 1e-3},
        "allow": {"face": 0.0},
    },
}


@pytest.mark.parametrize(
    ("side", "y", "plate", "stays", "weld", "under"),
    [
        ("right", 0.01, 7, 0.2, 0.2, 0.2),
        ("right", 0.04, 7, 0.8, 0.2, None),
        ("left", 0.01, 5, 0.2, 0.2, 0.2),
        ("left", 0.04, 5, 0.8, 0.2, None),
    ],
)
def test_a_flat_stack_by_hand(side: Side, y: float, plate: int, stays: float, weld: float, under: float | None) -> None:
    """Eleven plates of 1 mm, welds at 0.5, 1.5 mm ... either side of the middle; an usuba 50 mm high, 1 mm at the edge and
    3 at the spine: half = 0.5 + y / 50 mm. At 10 mm that is 0.7, in plate 7 and 0.2 over its lower weld; at 40 mm 1.3,
    still plate 7, 0.2 under its upper weld, which grinding leaves behind. Left is the lower side, its plates count down."""
    book = run(build(TABLE, door=False), diffuse=False)
    found = look(book, side, 0.1, y)
    assert (found.plate.number, found.plate.of) == (plate, 11)
    assert found.plate.steel == ("15N20" if plate % 2 == 0 else "1084")
    assert found.weld is not None
    assert found.weld.distance * 1e3 == pytest.approx(weld, abs=1e-3)
    assert found.weld.mark == 1
    assert found.stays is not None
    assert found.stays * 1e3 == pytest.approx(stays, abs=2e-3)
    assert (found.weld.comes_up is None) is (under is None)
    assert (found.weld.comes_up or 0.0) * 1e3 == pytest.approx(under or 0.0, abs=2e-3)


BY_HAND = [("right", 0.01, 7, 0.2), ("right", 0.04, 7, 0.2), ("left", 0.01, 5, 0.2), ("left", 0.04, 5, 0.2)]


@checks(
    "which plate and which weld show at a spot",
    "a flat stack by hand: the plate's number",
    How.METHOD,
    unit="plates",
    within=0.0,
)
def test_the_plate_by_hand() -> Pairs:
    book = run(build(TABLE, door=False), diffuse=False)
    return [(look(book, side, 0.1, y).plate.number, plate) for side, y, plate, _ in BY_HAND]  # type: ignore[arg-type]


@checks(
    "which plate and which weld show at a spot",
    "a flat stack by hand: how far off the weld is",
    How.METHOD,
    unit="mm",
    within=1e-3,
)
def test_the_weld_by_hand() -> Pairs:
    book = run(build(TABLE, door=False), diffuse=False)
    for side, y, _, weld in BY_HAND:
        found = look(book, side, 0.1, y)  # type: ignore[arg-type]
        assert found.weld is not None
        yield 1e3 * found.weld.distance, weld


@checks(
    "how far a line moves as the face is ground",
    "a bevel of 1 in 50 by hand: 50 mm for each ground off",
    How.METHOD,
    unit="%",
    within=0.1,
)
def test_a_line_moves_up_the_bevel_as_it_is_ground() -> Pairs:
    """0.1 mm ground off moves a level weld's line 5 mm toward the spine, y = t / slope; along the length nothing tapers."""
    book = run(build(TABLE, door=False), diffuse=False)
    for side in ("left", "right"):
        found = look(book, side, 0.1, 0.04)  # type: ignore[arg-type]
        assert found.weld is not None
        assert found.weld.drift[0] == pytest.approx(0.0, abs=1e-3)
        yield found.weld.drift[1], 50.0


def test_the_way_back_ends_in_the_stack() -> None:
    """A weld without scale moves nothing: the spot lies where it lay in the stack."""
    found = look(run(build(TABLE, door=False), diffuse=False), "right", 0.1, 0.01)
    assert [s.mark for s in found.way] == [1, 0]
    assert found.way[0].point == pytest.approx(found.way[1].point)


def test_a_spot_beside_the_knife_is_told() -> None:
    with pytest.raises(InputError, match="is not on the knife"):
        look(run(build(TABLE, door=False), diffuse=False), "right", 0.1, 0.09)


def test_a_pixel_is_found_again_in_the_file(tmp_path: Path) -> None:
    """The scale drawn in the picture is true: 100 mm from the heel lie 100 mm / pixel from it, left and right mirrored."""
    book = run(build(TABLE, door=False), diffuse=False)
    picture = draw(book, Request(width=800))
    save(picture, tmp_path / "a.png")
    views = json.loads(picture.image.info["billet"])["views"]
    for one in views:
        sign = 1 if one["view"] == "right" else -1
        col = (sign * 0.1 - one["left_m"]) / one["pixel_m"] + one["left_px"] - 0.5
        row = (one["top_m"] - 0.02) / one["pixel_m"] + one["top_px"] - 0.5
        assert of_pixel(tmp_path / "a.png", col, row) == (one["view"], pytest.approx(0.1), pytest.approx(0.02))


@pytest.mark.parametrize(("across", "down", "says"), [(1, 1, "in neither face")])
def test_a_pixel_beside_the_faces_is_told(tmp_path: Path, across: int, down: int, says: str) -> None:
    save(draw(run(build(TABLE, door=False), diffuse=False), Request(width=800)), tmp_path / "a.png")
    with pytest.raises(InputError, match=says):
        of_pixel(tmp_path / "a.png", across, down)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        (["where", "k.toml", "-5 mm, 20 mm", "--face", "left"], ["where", "k.toml", " -5 mm, 20 mm", "--face", "left"]),
        (["where", "k.toml", "-½ in, 1 in", "--full"], ["where", "k.toml", " -½ in, 1 in", "--full"]),
        (["where", "k.toml", "43 mm, 12 mm", "-h"], ["where", "k.toml", "43 mm, 12 mm", "-h"]),
        (["grind", "k.toml", "-5"], ["grind", "k.toml", "-5"]),
    ],
)
def test_a_spot_behind_the_heel_is_no_option(typed: list[str], read: list[str]) -> None:
    assert behind_the_heel(typed) == read


def test_a_spot_behind_the_heel_is_followed_from_the_command_line(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    monkeypatch.setattr("sys.argv", ["billet", "where", "demo_billets/slicer.toml", "-5 mm, 20 mm"])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0 and "5.0 mm behind the heel" in capsys.readouterr().out
