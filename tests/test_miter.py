"""Chevrons. Source: plane geometry, and the trade's angle rule: the angle is that of the cut, altered by a draw as
tan(a2) = tan(a1) x width ratio / length ratio."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from billet.bar.bar import Bar
from billet.bar.trace import seams, slope, steel_at
from billet.base.errors import InputError
from billet.steps.miter import largest_slab
from tests.making import NO_LOSSES, WELD, alternating, ledger_of

HOT = {"heat": "1100 C", "time": "1 min"}
BLOCK = {"width": "20 mm", "length": "60 mm"}  # plates make 60 mm; on edge the bar is 60 mm wide
EVEN = alternating(15, "1084 4 mm", "15N20 4 mm")
MARKED = ["1084 30 mm", "15N20 10 mm", "52100 10 mm", "1084 10 mm"]


def chevron(*after: dict, angle: str = "45 deg", stack: list[str] = EVEN, **more: object) -> Bar:
    steps = [{"do": "turn"}, {"do": "miter", "angle": angle}, WELD, *after]
    return ledger_of(stack, steps, **{**BLOCK, **more}).last


def line_angles(bar: Bar) -> np.ndarray:
    """Angle between lines and seam [degrees] right and left of it, positive when they lean the way +x and +y go."""
    points = np.array([[0.0, 0.0], [-0.25, 0.25], [0.0, 0.0]]) * np.array([[1], [bar.width], [1]])
    along, across, through = slope(bar.material, points).gradient
    np.testing.assert_allclose(through, 0, atol=1e-12)
    return np.degrees(np.arctan(-along / across))


@pytest.mark.parametrize("angle", [20.0, 30.0, 45.0, 60.0])
def test_lines_meet_the_seam_at_the_angle_of_the_cut_on_either_side(angle: float) -> None:
    np.testing.assert_allclose(line_angles(chevron(angle=f"{angle} deg")), [-angle, angle], rtol=1e-9)


@pytest.mark.parametrize(("thickness", "width"), [("10 mm", "30 mm"), ("20 mm", "20 mm"), ("8 mm", "45 mm")])
def test_a_draw_alters_the_angle_by_width_ratio_over_length_ratio(thickness: str, width: str) -> None:
    before = chevron(angle="40 deg")
    after = chevron({"do": "draw", "thickness": thickness, "width": width, **HOT}, angle="40 deg")
    expected = np.tan(np.radians(40)) * (after.width / before.width) / (after.length / before.length)
    np.testing.assert_allclose(np.tan(np.radians(line_angles(after))), [-expected, expected], rtol=1e-9)


def test_lines_of_an_even_stack_meet_on_the_seam_in_the_middle() -> None:
    """The stack looks the same from above and from below, so each line finds its mirror image."""
    bar = chevron()
    x, y = (
        g.ravel()
        for g in np.meshgrid(np.linspace(-0.45, 0.45, 90) * bar.length, np.linspace(0.01, 0.49, 40) * bar.width)
    )
    np.testing.assert_array_equal(steel_at(bar, np.stack([x, y, 0 * x])), steel_at(bar, np.stack([x, -y, 0 * x])))
    points = np.array([[0.0, 0.0], [-1e-4, 2e-4], [0.0, 0.0]])
    welded = [s for s in seams(bar.material, points) if s.step == 4]
    np.testing.assert_allclose(welded[0].distance, points[1], atol=1e-15)


def test_the_half_is_turned_over_and_not_reflected() -> None:
    """On the other half every layer is the one as far on the other side of the middle of the stack, and the lower face
    is uppermost."""
    bar = chevron(stack=MARKED)
    rng = np.random.default_rng(2).uniform(-0.49, 0.49, (3, 500)) * np.array(
        [[bar.length], [bar.width], [bar.thickness]]
    )
    by = bar.material.map
    here, there = by.pull(*rng), by.pull(rng[0], -rng[1], rng[2])
    np.testing.assert_allclose(there.y, -here.y, atol=1e-15)
    np.testing.assert_allclose(there.z, -here.z, atol=1e-15)
    np.testing.assert_allclose(np.linalg.det(by.slope(rng).transpose(2, 0, 1)), 1, atol=1e-12)


@pytest.mark.parametrize("proportion", [0.5, 1.0, 1.7, 3.0])
def test_a_corner_to_corner_cut_keeps_half(proportion: float) -> None:
    """Hand derivation: the largest rectangle on the long side of a right triangle has half its area, half its
    height."""
    length, width = 0.1, 0.1 * proportion
    along, depth, _ = largest_slab(length, width, np.arctan(proportion), 0.0)
    diagonal = np.hypot(length, width)
    assert (along, depth) == (
        pytest.approx(diagonal / 2, rel=1e-6),
        pytest.approx(length * width / diagonal / 2, rel=1e-6),
    )


@given(st.floats(0.02, 0.5), st.floats(0.02, 0.2), st.floats(np.radians(5), np.radians(85)), st.floats(0, 2e-3))
def test_the_slab_lies_in_its_half_of_the_bar(length: float, width: float, angle: float, gap: float) -> None:
    along, depth, middle = largest_slab(length, width, angle, gap)
    s, n = middle + along * np.array([-0.5, 0.5, 0.5, -0.5]), -gap - depth * np.array([0, 0, 1, 1])
    x, y = s * np.cos(angle) - n * np.sin(angle), s * np.sin(angle) + n * np.cos(angle)
    inside = (np.abs(x) <= 0.5 * length * (1 + 1e-9)) & (np.abs(y) <= 0.5 * width * (1 + 1e-9))
    assert inside.all() or depth == 0


def test_kerf_and_cleanup_are_counted() -> None:
    """One steel, 60 x 60 x 20 cut from corner to corner: the cut is 60 x sqrt 2 long, 2 mm wide; each slab loses 0.5 mm
    of its length."""
    shop = {**NO_LOSSES, "kerf": "2 mm", "face_cleanup": "0.5 mm"}
    rows = (
        ledger_of(["1084 60 mm"], [{"do": "turn"}, {"do": "miter", "angle": "45 deg"}], **BLOCK, shop=shop).bars[0].rows
    )
    before, row = rows[-2].bar, rows[-1]
    a_mm2 = before.mass / 3600
    assert row.lost.kerf == pytest.approx(2 * 60 * np.sqrt(2) * a_mm2)
    assert row.lost.cleanup == pytest.approx(2 * 0.5 * row.bar.length * 1e3 * a_mm2)
    assert row.bar.mass + row.lost.total == pytest.approx(before.mass, rel=1e-12)


def test_a_kerf_of_its_own_wins_over_the_shops() -> None:
    steps = [{"do": "turn"}, {"do": "miter", "angle": "45 deg", "kerf": "0 mm"}]
    assert ledger_of(EVEN, steps, **BLOCK, shop={**NO_LOSSES, "kerf": "3 mm"}).bars[0].rows[-1].lost.kerf == 0


def test_flat_layers_are_told_of() -> None:
    notes = ledger_of(EVEN, [{"do": "miter", "angle": "45 deg"}], **BLOCK).bars[0].rows[-1].notes
    assert any("layers lie flat" in n.text for n in notes)
    steps = [{"do": "turn"}, {"do": "miter", "angle": "45 deg"}]
    assert not any("layers lie flat" in n.text for n in ledger_of(EVEN, steps, **BLOCK).bars[0].rows[-1].notes)


def test_what_a_long_bar_wastes_is_told() -> None:
    """60 mm over tan 45 degrees: a bar 60 mm long."""
    steps = [{"do": "turn"}, {"do": "miter", "angle": "45 deg"}]
    notes = ledger_of(EVEN, steps, width="20 mm", length="300 mm").bars[0].rows[-1].notes
    assert "a bar 60.00 mm long, cut from corner to corner, keeps most" in " ".join(n.say() for n in notes)


def test_the_halves_are_open_until_they_are_welded_and_the_layers_no_longer_counted_through() -> None:
    steps = [{"do": "turn"}, {"do": "miter", "angle": "45 deg"}]
    row = ledger_of(EVEN, steps, **BLOCK).bars[0].rows[-1]
    assert (row.bar.welded, row.bar.layers_counted, row.measures.distinct) == (False, 30, None)
    with pytest.raises(InputError, match="stacked but not welded"):
        ledger_of(EVEN, [*steps, {"do": "stand"}], **BLOCK)


@pytest.mark.parametrize("angle", ["2 deg", "90 deg", "-45 deg"])
def test_no_slant_is_no_miter(angle: str) -> None:
    with pytest.raises(InputError, match="wanted 5 to 85 degrees"):
        ledger_of(EVEN, [{"do": "miter", "angle": angle}])
