"""Forged to shape. Source: the trade's rule for a forged bevel (angle to the layers about (1 - f) theta, at f = 1 only
the ground skin's layers show), the flat grind's half-angle atan((s - e) / (2 h)), and conservation of volume."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from billet.bar.bar import Bar, Worked
from billet.bar.trace import cell_of, trace
from billet.base.errors import InputError
from billet.blade import Blade, BladeDesign
from billet.forming.blade_forging import Forged
from tests.making import WELD, alternating, ledger_of

SPINE, EDGE, HEIGHT = 3.0, 0.7, 48.0  # at hardening [mm]
KNIFE = {
    "length": "210 mm",
    "heel_height": f"{HEIGHT} mm",
    "spine": {
        "finished": {"heel": "2.6 mm", "middle": "2.1 mm", "tip": "0.9 mm"},
        "hardening": {"heel": f"{SPINE} mm", "middle": "2.5 mm", "tip": "1.3 mm"},
    },
    "edge": {"hardening": f"{EDGE} mm", "finished": "0.25 mm"},
    "allow": {"face": "0 mm"},
}
BAR = {"width": "50 mm", "length": "330 mm"}


@cache
def forged(share: float, lengthen: float = 0.5, plates: int = 60, thickness: float = SPINE, allow: float = 0.0) -> Bar:
    stack = alternating(plates, f"1084 {thickness / plates} mm", f"15N20 {thickness / plates} mm")
    knife = {**KNIFE, "allow": {"face": f"{allow} mm"}}
    return ledger_of(stack, [{"do": "shape", "share": share, "lengthen": lengthen}], **BAR, blade=knife).last


def form(bar: Bar) -> Forged:
    assert isinstance(bar.material, Worked) and isinstance(bar.material.map, Forged)
    return bar.material.map


def face(bar: Bar, x: np.ndarray, y: np.ndarray, state: str = "hardening", side: str = "right") -> np.ndarray:
    """Points of the ground face over places of the blade, in the frame of the bar."""
    blade = form(bar).knife.in_state(state)
    return blade.face_points(x, y, side, form(bar).place)


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.9])
def test_the_ground_face_lies_at_one_less_the_share_of_the_bevel_to_the_layers(share: float) -> None:
    """At the heel's spine, where the bar is just as thick as the blade, (1 - f) theta holds exactly."""
    bar = forged(share)
    theta = np.arctan((SPINE - EDGE) / (2 * HEIGHT))
    y = HEIGHT * 1e-3 - np.array([0.3e-3, 0.1e-3])
    points = face(bar, np.full(2, 1e-5), y)
    deep = form(bar).backward(points).points[2]
    assert np.diff(deep)[0] / np.diff(points[1])[0] == pytest.approx((1 - share) * np.tan(theta), rel=0.01)


@pytest.mark.parametrize("share", [0.0, 0.4, 0.8, 1.0])
def test_lines_from_edge_to_spine_follow_from_the_columns(share: float) -> None:
    """By hand: under the ground face t/2 of a column of c = (1 - f) T + f t lies T t / (2 c) of the bar, from edge to
    spine."""
    bar = forged(share)
    y = np.array([1e-5, HEIGHT * 1e-3 - 1e-5])
    deep = form(bar).backward(face(bar, np.full(2, 1e-4), y)).points[2]
    t, total = np.array([EDGE, SPINE]) * 1e-3, SPINE * 1e-3
    np.testing.assert_allclose(deep, total * t / (2 * ((1 - share) * total + share * t)), rtol=2e-3)


def test_a_share_of_nothing_leaves_the_bar_as_it_is() -> None:
    bar = forged(0.0)
    assert (bar.length, bar.width, bar.thickness) == (pytest.approx(0.33), pytest.approx(0.05), pytest.approx(3e-3))
    points = np.random.default_rng(1).uniform(-0.5, 0.5, (3, 1000)) * np.array([[0.33], [0.05], [3e-3]])
    np.testing.assert_allclose(form(bar).backward(points).points, points, atol=1e-12)


def test_forged_all_the_way_the_face_follows_one_layer_everywhere() -> None:
    """Where only the forged skin is left the face is the bar's face: the whole of T/2 lies under it. A cell of the
    tables (0.5 by 0.1 mm) that the outline runs through is left out: the blade's thickness has a kink there."""
    bar = forged(1.0)
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(0.001, 0.19, 60), np.linspace(0.0005, 0.044, 50)))
    knife = form(bar).knife
    well_in = [knife.inside(x + i * 0.5e-3, y + j * 0.1e-3) for i in (-1, 1) for j in (-1, 1)]
    points = face(bar, x, y)[:, np.all(well_in, axis=0)]
    deep = form(bar).backward(points).points[2]
    np.testing.assert_allclose(deep, 1.5e-3, rtol=2e-3)


@pytest.mark.parametrize("allow", [0.0, 0.1, 0.2])
def test_forged_all_the_way_only_the_ground_skins_layers_show(allow: float) -> None:
    """Layers within the skin p ground off a forged column c high: p over the layer's thickness there, (T / N) (c / T).
    Spine and edge bound it."""
    bar = forged(1.0, plates=400, thickness=SPINE + 2 * allow, allow=allow)
    y = np.linspace(1e-4, HEIGHT * 1e-3 - 1e-4, 500)
    points = face(bar, np.full(500, 1e-5), y, "finished")
    seen = np.unique(cell_of(bar.leaves[0], trace(bar.material, *points).z))
    blades = [form(bar).knife.in_state(state).thickness(1e-5, y[[0, -1]]) for state in ("hardening", "finished")]
    column = blades[0] + 2e-3 * allow
    skin = 0.5 * (column - blades[1])
    within = 400 * skin / column
    lowest, highest = 400 - within.max(), 400 - within.min()
    assert seen.min() + 0.5 == pytest.approx(lowest, abs=1.5)
    assert seen.max() + 0.5 == pytest.approx(highest, abs=1.5)


@pytest.mark.parametrize("lengthen", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("share", [0.5, 1.0])
def test_the_forging_holds_as_much_metal_as_the_bar(share: float, lengthen: float) -> None:
    """Columns of the forging, worked out from the blade alone and summed over its outline, give the bar's volume."""
    bar = forged(share, lengthen)
    by = form(bar)
    x, y = np.linspace(-0.5, 0.5, 1201) * bar.length, np.linspace(-0.5, 0.5, 1201) * bar.width
    t = held_thickness(by, x, y)
    column = (1 - share) * SPINE * 1e-3 + share * t
    inside = np.abs(y) <= by.half_width(x)[:, None]
    volume = (column * inside).sum() * (x[1] - x[0]) * (y[1] - y[0])
    assert volume == pytest.approx(0.33 * 0.05 * 3e-3, rel=4e-3)
    assert bar.volume == pytest.approx(0.33 * 0.05 * 3e-3, rel=1e-9)


def held_thickness(by: Forged, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Thickness of the blade over a grid of the bar, held beyond its outline."""
    blade = by.knife
    u = np.clip(x - by.place.heel_x, 0, blade.length - 1e-9)[:, None]
    v = np.clip(y[None, :] - by.place.edge_y, blade.edge_y(u) + 1e-12, blade.spine_y(u) - 1e-12)
    return blade.thickness(np.broadcast_to(u, v.shape), v)


def test_heights_scale_with_the_columns() -> None:
    """z before over z after is T / c, with c from the blade alone."""
    bar = forged(0.7)
    by = form(bar)
    x, y = np.linspace(-0.05, 0.09, 41), np.linspace(-0.02, 0.02, 33)
    column = 0.3 * SPINE * 1e-3 + 0.7 * held_thickness(by, x, y)
    z = by.pull(x[:, None], y[None, :], np.full((1, 1), 1e-4)).z
    np.testing.assert_allclose(z, 1e-4 * SPINE * 1e-3 / column, rtol=5e-4)


@pytest.mark.parametrize("share", [0.25, 0.5, 1.0])
def test_lengthen_shares_what_is_freed_between_length_and_width(share: float) -> None:
    longer, wider, both = forged(share, 1.0), forged(share, 0.0), forged(share, 0.5)
    assert longer.width == pytest.approx(0.05, rel=1e-6)
    assert wider.length == pytest.approx(0.33, rel=1e-6)
    assert wider.length < both.length < longer.length
    assert longer.width < both.width < wider.width


def test_a_chisel_keeps_its_flat_side_on_one_layer() -> None:
    """One side unground is one plane: forged all the way, both of its faces are still the bar's faces."""
    knife = {**KNIFE, "bevel": {"kind": "full flat", "left": {"kind": "unground"}}}
    bar = ledger_of(
        alternating(9, "1084 0.4 mm", "15N20 0.4 mm"), [{"do": "shape", "share": 1}], **BAR, blade=knife
    ).last
    x, y = np.full(40, 0.05), np.linspace(1e-3, 0.045, 40)
    for side, sign in (("left", -1), ("right", 1)):
        deep = form(bar).backward(face(bar, x, y, side=side)).points[2]
        np.testing.assert_allclose(deep, sign * 1.8e-3, rtol=2e-3)


@pytest.mark.parametrize("at", [{"heel_at": "100 mm"}, {"edge_at": "6 mm"}, {"heel_at": "110 mm", "edge_at": "8 mm"}])
def test_a_knife_measured_from_the_bar_is_found_in_the_forged_bar(at: dict) -> None:
    bar = ledger_of(
        alternating(5, "1084 0.8 mm", "15N20 0.8 mm"), [{"do": "shape", "share": 0.6}], **BAR, blade={**KNIFE, **at}
    ).last
    asked = form(bar).knife.placement(bar.length, bar.width)
    found = form(bar).place
    assert (found.heel_x, found.edge_y) == (
        pytest.approx(asked.heel_x, abs=1e-6),
        pytest.approx(asked.edge_y, abs=1e-6),
    )


def test_a_heat_after_shape_takes_scale_and_mass_closes() -> None:
    steps = [
        {"do": "shape", "share": 0.8, "heat": "1000 C", "time": "5 min", "heats": 3},
        {"do": "heat", "heat": "850 C", "time": "5 min"},
    ]
    rows = (
        ledger_of(
            alternating(5, "1084 0.8 mm", "15N20 0.8 mm"), steps, **BAR, blade=KNIFE, shop={"scale_per_heat": "0.02 mm"}
        )
        .bars[0]
        .rows
    )
    for before, after in pairwise(rows):
        assert after.bar.mass + after.lost.total == pytest.approx(before.bar.mass, rel=1e-12)
        assert after.lost.scale > 0


def test_shares_of_steel_stay() -> None:
    rows = (
        ledger_of(["1084 2 mm", "52100 0.5 mm", "15N20 1.5 mm"], [{"do": "shape", "share": 0.9}], **BAR, blade=KNIFE)
        .bars[0]
        .rows
    )
    before, after = rows[-2].measures.shares, rows[-1].measures.shares
    assert after == {k: pytest.approx(v, abs=0.012) for k, v in before.items()}  # four standard errors of the sample
    assert rows[-1].measures.distinct == 3


@pytest.mark.parametrize(
    ("steps", "more", "words"),
    [
        pytest.param([{"do": "shape", "share": 0.5}], {}, r"there is no \[blade\]", id="no blade"),
        pytest.param(
            [{"do": "shape", "share": 0.5}, {"do": "turn"}],
            {"blade": KNIFE},
            "already forged to the shape",
            id="turned after",
        ),
        pytest.param(
            [{"do": "shape", "share": 0.5}, {"do": "shape", "share": 0.5}],
            {"blade": KNIFE},
            "already forged to the shape",
            id="twice",
        ),
        pytest.param(
            [{"do": "surface", "top": "2 mm"}, {"do": "shape", "share": 0.5}],
            {"blade": KNIFE},
            "makes nothing thicker",
            id="too thin",
        ),
        pytest.param([{"do": "shape", "share": 1.5}], {"blade": KNIFE}, "share", id="more than all"),
    ],
)
def test_what_cannot_be_forged_is_refused(steps: list[dict], more: dict, words: str) -> None:
    with pytest.raises(InputError, match=words):
        ledger_of(["1084 2 mm", "15N20 2 mm"], steps, **BAR, **more)


def test_a_bar_far_too_thick_is_refused() -> None:
    with pytest.raises(InputError, match="in one go"):
        ledger_of(["1084 40 mm"], [{"do": "shape", "share": 1}], **BAR, blade=KNIFE)


def test_only_the_bar_the_blade_is_ground_from_can_be_forged_to_shape() -> None:
    from billet.ledger.run import run
    from billet.recipe.read import build

    first = {
        "name": "a",
        "width": "50 mm",
        "length": "200 mm",
        "stack": ["1084 4 mm"],
        "step": [WELD, {"do": "shape", "share": 0.5}],
    }
    last = {"name": "b", "width": "50 mm", "length": "200 mm", "stack": ["1084 4 mm"], "step": [WELD]}
    with pytest.raises(InputError, match=r'bar "a" step 2 .*belongs to the last bar'):
        run(build({"bar": [first, last], "blade": KNIFE}))


def test_a_bar_too_short_for_the_blade_is_told_of() -> None:
    notes = (
        ledger_of(["1084 4 mm"], [{"do": "shape", "share": 0.2}], width="50 mm", length="150 mm", blade=KNIFE)
        .bars[0]
        .rows[-1]
        .notes
    )
    assert any("past its end" in n.text for n in notes)
    notes = (
        ledger_of(["1084 4 mm"], [{"do": "shape", "share": 0.2}], width="30 mm", length="330 mm", blade=KNIFE)
        .bars[0]
        .rows[-1]
        .notes
    )
    assert any("too narrow" in n.text for n in notes)


def test_the_knife_of_the_bench_is_the_one_at_hardening() -> None:
    blade = form(forged(0.5)).knife
    assert isinstance(blade, Blade) and isinstance(blade.design, BladeDesign)
    assert blade.state == "hardening"
