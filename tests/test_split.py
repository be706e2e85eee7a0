"""The feather: what the wedge does to the layers. Source: the trade's description of the figure (a straight vein on the
seam, barbs bent the way the wedge went, alike on both sides and on both faces, fading to straight lines) and hand
derivations from plain geometry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from billet.bar.bar import Bar
from billet.bar.trace import seams, steel_at, trace
from billet.base.errors import InputError
from billet.steel.library import find
from billet.steps.split import Split, Wedged
from tests.examples import bench
from tests.making import WELD, alternating, ledger_of

DRAG, REACH = 0.01, 0.015
SPLIT = {"do": "split", "drag": "10 mm", "reach": "15 mm"}
MARKED = [
    "1084 20 mm",
    "15N20 20 mm",
    "52100 10 mm",
    "1084 20 mm",
    "15N20 10 mm",
]  # 80 mm high, the mark 40 to 50 mm up


def feather(stack: list[str] = MARKED, **more: object) -> Bar:
    return ledger_of(stack, [SPLIT, WELD], width="50 mm", length="40 mm", **more).last


def middle_of_mark(bar: Bar, y: float) -> float:
    """Height of the middle of the marked plate in a column [m]."""
    z = np.linspace(-0.5, 0.5, 20_001) * bar.thickness
    steel = steel_at(bar, np.stack([0 * z, 0 * z + y, z]))
    return float(z[steel == "52100"].mean())


def test_at_the_cut_the_layers_are_dragged_by_the_drag_the_way_the_wedge_went() -> None:
    bar = feather()
    far, cut = middle_of_mark(bar, 0.02), middle_of_mark(bar, 1e-9)
    assert cut - far == pytest.approx(-DRAG, abs=2 * bar.thickness / 20_000)


@pytest.mark.parametrize("y", [0.001, 0.004, 0.008, 0.012, 0.02])
def test_both_halves_are_alike(y: float) -> None:
    bar = feather()
    assert middle_of_mark(bar, y) == pytest.approx(middle_of_mark(bar, -y), abs=1e-12)


def test_barbs_fade_to_straight_lines_at_the_reach() -> None:
    """Half way out a quadratic has a quarter of its drag left; at the reach and past it nothing, and no slope."""
    by = Wedged(DRAG, REACH)
    y = np.array([0.0, 0.5 * REACH, REACH, 1.2 * REACH, 2 * REACH])
    moved = by.pull(0 * y, y, 0 * y).z + 0.5 * DRAG
    np.testing.assert_allclose(moved, [DRAG, DRAG / 4, 0, 0, 0], atol=1e-15)
    np.testing.assert_allclose(by.slope(np.stack([0 * y, y, 0 * y]))[2, 1, 2:], 0, atol=1e-12)


def test_the_vein_lies_exactly_on_the_seam() -> None:
    """Lines kink only there: the slope on either side is 2 drag over reach, with opposite signs."""
    bar = feather()
    points = np.array([[0.0, 0.0], [-1e-9, 1e-9], [0.01, 0.01]])
    left, right = bar.material.map.slope(points)[2, 1]
    assert (left, right) == (pytest.approx(2 * DRAG / REACH, rel=1e-6), pytest.approx(-2 * DRAG / REACH, rel=1e-6))
    vein = [s for s in seams(bar.material, points) if s.step == 3]
    np.testing.assert_allclose([s.distance for s in vein], [[-1e-9, 1e-9]])
    assert list(bar.material.map.backward(points).piece) == [0, 1]


def test_the_pattern_runs_through_from_face_to_face() -> None:
    bar = ledger_of(MARKED, [SPLIT, WELD, {"do": "stand"}], width="50 mm", length="40 mm").last
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(-0.03, 0.03, 101), np.linspace(-0.02, 0.02, 51)))
    faces = [steel_at(bar, np.stack([x, y, 0 * x + s * 0.0199])) for s in (-1, 1)]
    assert (faces[0] == faces[1]).all()
    assert len(set(faces[0])) == 3


def test_barbs_point_the_way_the_wedge_went_once_the_bar_is_on_its_end() -> None:
    """Standing makes the old height the new length, so barbs meet the vein further toward -x."""
    bar = ledger_of(MARKED, [SPLIT, WELD, {"do": "stand"}], width="50 mm", length="40 mm").last
    x = np.linspace(-0.5, 0.5, 20_001) * bar.length
    places = [x[steel_at(bar, np.stack([x, 0 * x + y, 0 * x])) == "52100"].mean() for y in (0.0, 0.02)]
    assert places[0] - places[1] == pytest.approx(-DRAG, abs=1e-5)


def test_lines_per_length_follow_the_feather_rule() -> None:
    """A smith's rule: layers per inch of stack = lines per inch x final length / stack height (50 x 12 / 3 = 200).

    40 plates of 2 mm, 70 mm high once dressed, drawn to four times its length: lines every 8 mm.
    """
    steps = [
        SPLIT,
        WELD,
        {"do": "stand"},
        {"do": "draw", "thickness": "10 mm", "width": "50 mm", "heat": "1100 C", "time": "1 min"},
    ]
    bar = ledger_of(alternating(40), steps, width="50 mm", length="40 mm").last
    assert bar.length == pytest.approx(0.28)
    x = np.linspace(-0.13, 0.13, 20_001)
    steel = steel_at(bar, np.stack([x, 0 * x + 0.02, 0 * x]))
    places = x[1:][steel[1:] != steel[:-1]]
    lines_per_m = (len(places) - 1) / (places[-1] - places[0])
    assert lines_per_m * bar.length / 0.07 == pytest.approx(1 / 2e-3, rel=1e-3)


def test_drawing_scales_the_drag_with_the_spacing_of_the_lines() -> None:
    """Hand derivation: both are lengths along the drawn axis."""
    steps = [
        SPLIT,
        WELD,
        {"do": "stand"},
        {"do": "draw", "thickness": "20 mm", "width": "50 mm", "heat": "1100 C", "time": "1 min"},
    ]
    bar = ledger_of(MARKED, steps, width="50 mm", length="40 mm").last
    x = np.linspace(-0.5, 0.5, 20_001) * bar.length
    places = [x[steel_at(bar, np.stack([x, 0 * x + y, 0 * x])) == "52100"].mean() for y in (0.0, 0.02)]
    assert places[0] - places[1] == pytest.approx(-2 * DRAG, abs=2e-5)


def test_a_turned_bar_split_through_its_thickness_is_the_same_feather() -> None:
    """Rolled back by a quarter, the old height lies along y and the wedge, going toward -y, goes the same way through
    the layers."""
    upright = feather()
    turned = [{"do": "turn", "quarters": -1}, {**SPLIT, "along": "thickness"}, WELD]
    rolled = ledger_of(MARKED, turned, width="50 mm", length="40 mm").last
    x, y, z = np.random.default_rng(1).uniform(-0.5, 0.5, (3, 4000)) * np.array([[0.04], [0.05], [0.07]])
    np.testing.assert_allclose(trace(rolled.material, x, z, -y).z, trace(upright.material, x, y, z).z, atol=1e-15)


def test_what_is_dressed_off_is_as_high_as_the_drag() -> None:
    """One steel: 10 of 80 mm go as trim, and 2 x 0.5 of 50 mm as cleanup; the sheared halves keep their volume."""
    run = ledger_of(
        ["1084 80 mm"],
        [SPLIT],
        width="50 mm",
        length="40 mm",
        shop={"face_cleanup": "0.5 mm", "scale_per_heat": "0 mm", "press_opening": "2 m"},
    )
    before, row = run.bars[0].rows[-2].bar, run.bars[0].rows[-1]
    assert (row.bar.width, row.bar.thickness) == (pytest.approx(0.049), pytest.approx(0.07))
    assert row.lost.cleanup == pytest.approx(before.mass * 0.02)
    assert row.lost.trim == pytest.approx(before.mass * 0.98 / 8)
    assert row.measures.distinct is None


def test_what_a_split_through_the_thickness_cleans_off_is_the_middle_plate() -> None:
    """A millimetre of nickel between steels of 10 mm: half a millimetre either side of the cut is all of it."""
    plates = ["1084 10 mm", "nickel 1 mm", "15N20 10 mm"]
    shop = {"face_cleanup": "0.5 mm", "scale_per_heat": "0 mm", "press_opening": "2 m"}
    cut = {"do": "split", "drag": "4 mm", "reach": "8 mm", "along": "thickness"}
    run = ledger_of(plates, [cut], width="50 mm", length="40 mm", shop=shop)
    bar = run.bars[0].rows[-1].bar
    density = [find(name).density for name in ("1084", "15N20")]
    assert (bar.width, bar.thickness) == (pytest.approx(0.046), pytest.approx(0.020))
    assert bar.mass == pytest.approx(0.01 * sum(density) * 0.046 * bar.length, rel=1e-9)


def test_the_halves_are_open_until_they_are_welded() -> None:
    with pytest.raises(InputError, match="stacked but not welded"):
        ledger_of(MARKED, [SPLIT, {"do": "stand"}])


def test_a_drag_past_the_stack_is_refused() -> None:
    with pytest.raises(InputError, match=r"drag the layers 100\.0 mm down a bar 80\.0 mm high"):
        ledger_of(MARKED, [{**SPLIT, "drag": "100 mm"}])


@pytest.mark.parametrize(
    ("step", "stack", "words"),
    [
        pytest.param(
            {**SPLIT, "drag": "50 mm", "reach": "40 mm"},
            MARKED,
            "more than half of a stack",
            id="drag over half the stack",
        ),
        pytest.param(
            {**SPLIT, "reach": "40 mm"}, MARKED, "do not run out into straight lines", id="reach past the half"
        ),
        pytest.param({**SPLIT, "reach": "5 mm"}, MARKED, "sheared by 4.0", id="2 x 10 / 5 = 4 of shear at the cut"),
        pytest.param({**SPLIT, "along": "thickness"}, MARKED, "travels along the layers", id="along the layers"),
    ],
)
def test_limits_are_told(step: dict, stack: list[str], words: str) -> None:
    row = ledger_of(stack, [step]).bars[0].rows[-1]
    assert words in " ".join(n.say() for n in row.notes)


def test_a_good_feather_is_not_warned_of() -> None:
    assert Split(drag=DRAG, reach=REACH).apply(ledger_of(MARKED, [], width="120 mm").last, bench()).notes == ()


@given(st.floats(1e-4, 0.1), st.floats(1e-3, 0.1), st.floats(0, 2e-3), st.sampled_from(["width", "thickness"]))
def test_any_wedge_keeps_every_volume(drag: float, reach: float, clean: float, along: str) -> None:
    points = np.random.default_rng(3).uniform(-0.05, 0.05, (3, 200))
    slopes = Wedged(drag, reach, clean, along).slope(points)
    np.testing.assert_allclose(np.linalg.det(slopes.transpose(2, 0, 1)), 1.0, atol=1e-9)
