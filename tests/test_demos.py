"""The demo recipes: each runs, holds its blade and warns of just what is known; and where the trade has a number for a
pattern, the pattern has it. Numbers are read from coordinates traced back through the bar, never from pixels.

Rules are common trade practice or hand derivations, as stated beside each check.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.trace import slope, steel_at, trace
from billet.ledger.recipe_warnings import holding, of_recipe, ready_bar, uncertain_faces
from billet.ledger.rows import Ledger, Row
from billet.ledger.run import band, run
from billet.recipe.blade import blade_of
from billet.recipe.read import build, plain

Array = NDArray[np.float64]

FOLDER = Path(__file__).parent.parent / "demo_billets"
INCH = 0.0254
WARNED: dict[str, set[tuple[str, str]]] = {  # at which step, and words of it; all other demos say nothing
    "santoku": {("weld", "forging limit of W2")},
}


@cache
def book(name: str) -> Ledger:
    """A demo run forwards as rolls would draw it: the patterns' own geometry, without the waves of a hand."""
    file = FOLDER / f"{name}.toml"
    data = plain(file.read_text("utf-8"), file)
    return run(build({**data, "shop": {**data["shop"], "hand": "rolled"}}, path=file))


def row(name: str, do: str, nth: int = -1) -> Row:
    """The nth row of a kind in a demo's last bar."""
    return [r for r in book(name).bars[-1].rows if r.do == do][nth]


def before(name: str, after: Row) -> Bar:
    """The last bar of a demo before a row."""
    return book(name).bars[-1].rows[after.number - 1].bar


def heights(bar: Bar, x: Array | float, y: Array | float, z: Array | float) -> Array:
    """Heights in the first laminate from which points come [m]."""
    points = [np.ravel(a).astype(float) for a in np.broadcast_arrays(x, y, z)]
    return np.asarray(trace(bar.material, *points).z)


def wave(name: str, z: float, pitch: float) -> tuple[float, float]:
    """First Fourier coefficient at a pitch [m] of the heights seen on a plane at z: swing [m] and its phase at the
    bar's middle [rad]."""
    bar = book(name).last
    periods = int(0.8 * bar.length / pitch)
    x = np.linspace(-0.5, 0.5, 4000 * periods, endpoint=False) * periods * pitch
    seen = np.mean([heights(bar, x, y, z) for y in np.linspace(-0.3, 0.3, 7) * bar.width], axis=0)
    first = np.mean(seen * np.exp(2j * np.pi * x / pitch))
    return 2 * float(np.abs(first)), float(np.angle(first))


def said(ledger: Ledger) -> list[tuple[str, str]]:
    """Every warning with the step it belongs to."""
    notes = [(r.do, n) for b in ledger.bars for r in b.rows for n in r.notes]
    ends = [("end", n) for n in (*of_recipe(ledger), *uncertain_faces(ledger, *band(ledger.recipe)))]
    return [(do, n.say("metric")) for do, n in notes + ends]


NAMES = sorted(p.stem for p in FOLDER.glob("*.toml"))


@pytest.mark.parametrize("name", NAMES)
def test_the_bar_holds_the_blade(name: str) -> None:
    ready_bar(book(name))
    assert holding(book(name)).enough


@pytest.mark.parametrize("name", NAMES)
def test_the_warnings_are_those_that_are_known(name: str) -> None:
    known = WARNED.get(name, set())
    found = [(do, {k for k in known if k[0] == do and k[1] in text}, text) for do, text in said(book(name))]
    assert [text for _, match, text in found if not match] == []
    assert set().union(*(match for _, match, _ in found)) == known


@pytest.mark.parametrize("name", NAMES)
def test_a_recipe_says_in_its_first_lines_why_its_numbers_are_so(name: str) -> None:
    lines = (FOLDER / f"{name}.toml").read_text(encoding="utf-8").splitlines()
    assert sum(line.startswith("#") for line in lines[:5]) >= 2
    assert "Smokehouse" in book(name).recipe.tables.title or "smoker" in book(name).recipe.tables.title


def ladder_pitch() -> float:
    """Pitch of the cut ladder's rungs on the bar [m]: columns of mean height T - d w / p spread over the thickness
    after; a raised cosine groove w wide is half its depth on the mean (hand derivation)."""
    cut, flat = row("ladder", "ladder"), 0.18 * INCH
    thickness = before("ladder", cut).thickness - 2 * 0.00002  # two heats' scale, 10 micrometres a face
    return 0.375 * INCH * (thickness - 0.17 * INCH * 0.3125 / 0.375) / flat


def test_flattening_lengthens_the_ladder_as_the_thirds_rule_has_it() -> None:
    """Bar three times as thick as after, grooves a third deep on either face: common practice, no source."""
    cut = row("ladder", "ladder")
    assert before("ladder", cut).thickness / cut.bar.thickness == pytest.approx(3, rel=0.01)
    assert cut.bar.length / before("ladder", cut).length == pytest.approx(ladder_pitch() / (0.375 * INCH), rel=0.01)


def test_cut_rungs_show_the_deepest_layer_and_swing_by_the_depth_of_the_groove() -> None:
    """Staggered grooves swing the layers by the whole depth at any height (hand derivation: h = T - g_t - g_b, so
    the layer at a share s from below moves by g_b - s (g_t + g_b)); a raised cosine over 5/6 of the pitch has a
    first harmonic of about half its depth."""
    bar, pitch = book("ladder").last, ladder_pitch()
    for z in (-0.3 * bar.thickness, 0.0, 0.3 * bar.thickness):
        swing, phase = wave("ladder", z, pitch)
        assert swing == pytest.approx(0.5 * 0.17 * INCH, rel=0.15)
        assert phase == pytest.approx(-np.pi / 2, abs=0.2)  # lowest at +pitch/4, over a groove of the top face


def test_pressed_rungs_are_the_reverse() -> None:
    """The hump shows the deepest layer and the groove keeps the skin: common practice, no source."""
    pressed = row("ladder_pressed", "ladder")
    pitch = 0.012 * book("ladder_pressed").last.length / pressed.bar.length
    _, phase = wave("ladder_pressed", 0.0, pitch)
    assert phase == pytest.approx(np.pi / 2, abs=0.2)


def crossings(values: Array, x: Array) -> Array:
    """Places where values change sign."""
    at = np.flatnonzero(np.diff(np.sign(values)))
    return np.asarray(x[at] - values[at] * (x[1] - x[0]) / (values[at + 1] - values[at]))


def test_stars_come_every_half_turn() -> None:
    """Beside the axis the height is y cos(tau x): it changes sign twice a turn, and the draw after the twist
    lengthens that as it does the bar."""
    bar, twisted = book("twist").last, row("twist", "twist").bar
    drawn = row("twist", "draw").bar
    x = np.linspace(-0.48, 0.48, 40_001) * bar.length
    stars = crossings(heights(bar, x, 0.02 * bar.width, 0.0), x)
    assert np.diff(stars) == pytest.approx(twisted.length / 14 * drawn.length / twisted.length, rel=0.01)


def test_twisted_lines_lean_the_same_way_on_both_faces() -> None:
    """Seen each from its own side, so the other way in the bar's frame; common practice, no source."""
    bar = book("twist").last
    x = np.linspace(-0.4, 0.4, 200) * bar.length
    lean = []
    for z in (0.3 * bar.thickness, -0.3 * bar.thickness):
        gradient = slope(bar.material, np.stack([x, 0 * x, 0 * x + z])).gradient
        lean.append(np.median(gradient[0] / gradient[1]))
    assert lean[0] == pytest.approx(-lean[1], rel=0.1)
    assert abs(lean[0]) > 0.1


def test_bars_of_opposite_hand_mirror_one_another_in_their_joint() -> None:
    """s(y, z) = z cos + y sin in one bar and z cos - y sin in the next, layers flat where the twist begins: mirrored
    in the joint they are equal, but for the plates' unevenness."""
    bar = book("twist_bars").last
    joint, half = bar.width * (0.25 + 0.5) - 0.5 * bar.width, 0.02 * bar.width
    x = np.linspace(-0.4, 0.4, 500) * bar.length
    below, above = (heights(bar, x, joint + s * half, 0.2 * bar.thickness) for s in (-1, 1))
    assert np.corrcoef(below, above)[0, 1] > 0.97


def test_the_edge_bar_keeps_the_edge() -> None:
    bar, blade = book("twist_bars").last, blade_of(book("twist_bars").recipe)
    x = np.linspace(0, 0.8, 200) * blade.length
    points = blade.face_points(x, blade.edge_y(x) + 1e-5, "right", blade.placement(bar.length, bar.width))
    assert set(steel_at(bar, points)) == {"1095"}


def test_the_feather_is_dragged_toward_the_wedges_travel_alike_on_both_sides_and_faces() -> None:
    """The wedge goes toward -z, which stands toward the handle (-x): at the vein the layers from 1/2 in higher lie,
    and past the reach none have moved; the faces ground off the cut were dragged a little more (hand derivation,
    drag (1 - s)^2)."""
    bar = book("feather").last
    x = np.linspace(-0.2, 0.2, 9) * bar.length
    vein, far = heights(bar, x, 1e-9, 0.0), heights(bar, x, 0.45 * bar.width, 0.0)
    assert vein - far == pytest.approx(0.5 * INCH * (1 - 0.010 / 0.875) ** 2, rel=0.01)
    for y in (0.05 * bar.width, 0.3 * bar.width):
        assert heights(bar, x, y, 0.0) == pytest.approx(heights(bar, x, -y, 0.0), abs=1e-9)
        assert heights(bar, x, y, 0.3 * bar.thickness) == pytest.approx(
            heights(bar, x, y, -0.3 * bar.thickness), abs=1e-9
        )


def test_the_feathers_lines_an_inch_follow_the_trades_rule() -> None:
    """Layers an inch of stack = lines an inch x final length over stack height: common practice, no source."""
    stood, split = book("feather").last, row("feather", "split")
    stack = before("feather", split)
    layers_an_inch = (row("feather", "draw", 2).measures.layers_per_m or 0) * INCH
    lines_an_inch = (row("feather", "normalise").measures.lines_per_m or 0) * INCH
    assert layers_an_inch == pytest.approx(lines_an_inch * stood.length / split.bar.thickness, rel=0.05)
    assert 0.95 * stack.thickness - split.bar.thickness < 0.5 * INCH


def test_ws_zigzag_once_a_piece_and_turn_over_at_the_middle() -> None:
    """Four pieces and then three: twelve points a tile, and what bulged up above the middle bulged down below it."""
    bar, cut = book("ws").last, row("ws", "end_grain").bar
    tiles = round(cut.length / before("ws", row("ws", "end_grain")).thickness)
    x = np.linspace(-0.5, 0.5, 60_001) * bar.length
    above = heights(bar, x, 0.25 * bar.width, 0.0)
    points = np.count_nonzero((above[1:-1] > above[:-2]) & (above[1:-1] >= above[2:]))
    assert points == pytest.approx(12 * tiles, abs=2 * tiles)
    assert above == pytest.approx(-heights(bar, x, -0.25 * bar.width, 0.0), abs=1e-6)


def test_the_accordion_keeps_the_mosaics_aspect() -> None:
    """Each leg lays the bar's height along the knife; drawn as much longer as wider, a tile stays square (hand
    derivation)."""
    opened, bar = row("mosaic", "end_grain"), book("mosaic").last
    longer, wider = bar.length / opened.bar.length, bar.width / opened.bar.width
    assert longer / wider == pytest.approx(1, abs=0.03)
    legs = round(opened.bar.length / before("mosaic", opened).thickness)
    bends = (np.arange(1, legs) / legs - 0.5) * bar.length
    y = np.linspace(-0.45, 0.45, 31) * bar.width
    for bend in bends:
        assert heights(bar, bend - 0.002, y, 0.0) == pytest.approx(heights(bar, bend + 0.002, y, 0.0), abs=1e-3)


def test_the_chevrons_angle_is_that_of_the_cut_as_the_draw_altered_it() -> None:
    """tan(a2) = tan(a1) x width ratio over length ratio; the lines stood across the bar, 90 - 25 degrees from the
    cut (plane geometry)."""
    bar, welded, drawn = book("chevron").last, row("chevron", "weld").bar, row("chevron", "draw").bar
    tangent = np.tan(np.radians(65)) * (drawn.width / welded.width) / (drawn.length / welded.length)
    x = np.linspace(-0.2, 0.2, 50) * bar.length
    for y, sign in ((-0.2, 1), (0.2, -1)):
        g = slope(bar.material, np.stack([x, 0 * x + y * bar.width, 0 * x])).gradient
        assert -g[0] / g[1] == pytest.approx(sign * tangent, rel=0.02)


def test_nickel_steel_lies_against_the_clad_core() -> None:
    """What the recipe promises is left after the grinding before the join."""
    lam = book("santoku").last.laminate
    assert lam is not None
    names = [lam.steels[k].name for k in lam.steel[lam.starts]]
    core = names.index("W2")
    assert names[core - 1 : core + 2] == ["15N20", "W2", "15N20"]
    assert min(lam.layer_thickness[[core - 1, core + 1]]) > 20e-6


def lines_at(name: str, share: float) -> int:
    """Lines of steel from edge to spine on the right face, at a share of the blade's length."""
    bar, blade = book(name).last, blade_of(book(name).recipe)
    x = share * blade.length
    y = np.linspace(float(blade.edge_y(x)) + 1e-5, float(blade.spine_y(x)) - 1e-5, 20_001)
    steel = steel_at(bar, blade.face_points(np.full_like(y, x), y, "right", blade.placement(bar.length, bar.width)))
    return 1 + int(np.count_nonzero(steel[1:] != steel[:-1]))


def test_a_full_flat_bevel_shows_its_share_of_the_layers() -> None:
    """Lines on one face = N (s - e) / (2 T), plane geometry; 105 thou at the spine, 10 at the edge."""
    m, bar = row("chef", "normalise").measures, book("chef").last
    assert m.distinct is not None
    assert lines_at("chef", 0.0) == pytest.approx(m.distinct * (105 - 10) * 1e-3 * INCH / (2 * bar.thickness), rel=0.08)
    assert 250 <= m.distinct <= 300


def test_forged_layers_run_out_with_the_bevel() -> None:
    """A layer at a share of the column's height tilts by that share of the column's taper. Forged by f the column is
    (1 - f) T + f t, t the blade at hardening with its allowance, and the finished face lies at its half thickness
    over half the column (hand derivation). The middle of many places, since the hammer's marks tilt the layers
    either way."""
    bar, blade = book("forged").last, blade_of(book("forged").recipe)
    before_shape = before("forged", row("forged", "forge_bevels"))
    hard = blade.in_state("hardening")
    x, w = (a.ravel() for a in np.meshgrid(np.linspace(0.05, 0.6, 60) * blade.length, np.linspace(0.25, 0.75, 20)))
    y = blade.edge_y(x) + w * blade.height(x)
    g = slope(bar.material, blade.face_points(x, y, "right", blade.placement(bar.length, bar.width))).gradient
    column = 0.2 * before_shape.thickness + 0.8 * (hard.thickness(x, y) + 2 * blade.design.allow.face)
    tilt = blade.thickness(x, y) / column * 0.8 * hard.slope(x, y, "right")[1]
    assert np.median(-g[1] / g[2]) == pytest.approx(np.median(tilt), rel=0.15)
    assert np.median(-g[1] / g[2]) > 0.4 * np.median(blade.slope(x, y, "right")[1])
