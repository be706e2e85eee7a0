"""The end of the bar brought to its face. Source: a smith's write-up of the accordion cut (30 mm bar, web about 10 mm,
holes of 6 to 8 mm, a third to a half wasted), the rule that pre-squash times draw is one, and hand derivations."""

from __future__ import annotations

import numpy as np
import pytest

from billet.bar.bar import Bar
from billet.bar.trace import seams, steel_at
from billet.base.errors import InputError
from billet.ledger.rows import Row
from tests.making import NO_LOSSES, WELD, ledger_of

STACK = ["1084 12 mm", "15N20 6 mm", "52100 3 mm", "1084 9 mm"]  # 30 mm, the mark 18 to 21 mm up
TILES = {"do": "end_grain", "by": "tiles", "segment": "20 mm"}
ACCORDION = {"do": "end_grain", "by": "accordion", "segment": "18 mm", "web": "10 mm"}
SLICES = {"do": "end_grain", "by": "slices", "segment": "5 mm"}


def rows(step: dict, stack: list[str] = STACK, **more: object) -> tuple[Row, ...]:
    return ledger_of(stack, [step], width="30 mm", length="360 mm", **more).bars[0].rows


def marks(bar: Bar, y: float = 0.004) -> np.ndarray:
    """Middles of the marked plate along the new face [m]."""
    x = np.linspace(-0.5, 0.5, 200_001) * bar.length
    of_mark = steel_at(bar, np.stack([x, 0 * x + y, 0 * x + 0.3 * bar.thickness])) == "52100"
    ends = np.flatnonzero(np.diff(of_mark.astype(int)))
    return 0.5 * (x[ends[::2]] + x[ends[1::2] + 1])


def test_tiles_all_lie_the_same_way() -> None:
    """360 mm make 18 tiles of 20 mm, 30 mm long each when tipped; the upper side looks back along the bar, so the mark,
    19.5 mm up, lies 10.5 mm from the start of every tile."""
    bar = rows(TILES)[-1].bar
    assert (bar.length, bar.width, bar.thickness) == (pytest.approx(0.54), 0.03, 0.02)
    np.testing.assert_allclose(marks(bar), -0.27 + 0.0105 + 0.03 * np.arange(18), atol=5e-6)


def test_an_accordion_turns_every_second_leg_over() -> None:
    """The mark lies 10.5 and 19.5 mm from the start of the legs in turn: legs meet with the same side."""
    bar = rows(ACCORDION)[-1].bar
    k = np.arange(20)
    np.testing.assert_allclose(marks(bar), -0.3 + 0.03 * k + np.where(k % 2, 0.0195, 0.0105), atol=5e-6)


def test_the_layers_run_on_across_the_bends_of_an_accordion() -> None:
    """Height in the bar before has no jump, and nothing was welded there."""
    bar = rows(ACCORDION)[-1].bar
    bends = -0.3 + 0.03 * np.arange(1, 20)
    z = [bar.material.map.pull(bends + s * 1e-9, 0 * bends, 0 * bends).z for s in (-1, 1)]
    np.testing.assert_allclose(z[0], z[1], atol=1e-8)
    np.testing.assert_allclose(np.abs(z[0]), 0.015, atol=1e-8)
    assert bar.welded
    assert all(s.step != 2 for s in seams(bar.material, np.zeros((3, 1))))


def test_tiles_have_a_weld_at_every_end() -> None:
    bar = ledger_of(STACK, [TILES, WELD], width="30 mm", length="360 mm").last
    points = np.array([[-0.24, 0.031, 0.058], [0, 0, 0], [0, 0, 0]])  # tiles meet every 30 mm, one joint in the middle
    welded = [s for s in seams(bar.material, points) if s.step == 3]
    np.testing.assert_allclose(welded[0].distance, [0.0, 0.001, -0.002], atol=1e-9)


def test_tiles_are_open_until_they_are_welded() -> None:
    with pytest.raises(InputError, match="stacked but not welded"):
        ledger_of(STACK, [TILES, {"do": "trim", "each_end": "5 mm"}], width="30 mm", length="360 mm")


def test_the_old_end_is_the_new_face() -> None:
    """The face holds the section: along the new bar the old height, across it the old width, at any depth."""
    bar = rows(TILES)[-1].bar
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(-0.269, 0.269, 400), np.linspace(-0.0149, 0.0149, 5)))
    high, low = (bar.material.map.pull(x, y, 0 * x + s * 0.0099) for s in (1, -1))
    np.testing.assert_array_equal(high.z, low.z)
    np.testing.assert_array_equal(high.y, y)
    np.testing.assert_allclose(high.x - low.x, 0.0198, atol=1e-15)


@pytest.mark.parametrize(
    "step",
    [{**TILES, "segment": "16 mm"}, {**ACCORDION, "segment": "24 mm", "web": "12 mm"}],
    ids=["tiles", "accordion"],
)
@pytest.mark.parametrize("squash", [0.5, 0.6, 0.8])
def test_the_picture_keeps_its_aspect_when_squash_times_draw_is_one(step: dict, squash: float) -> None:
    """Squashed to a share of its height at the same width, then drawn to one over that share of its length: heights
    come back."""
    hot = {"heat": "1100 C", "time": "1 min"}
    squashed = {"do": "draw", "thickness": f"{30 * squash} mm", "width": "30 mm", **hot}
    thick = float(str(step.get("web", step["segment"])).split()[0])
    weld = [WELD] if step["by"] == "tiles" else []
    bar = ledger_of(
        STACK,
        [squashed, step, *weld, {"do": "draw", "thickness": f"{thick * squash} mm", "width": "30 mm", **hot}],
        width="30 mm",
        length="360 mm",
    ).last
    places = marks(bar)
    spacing = {"tiles": [0.03, 0.03], "accordion": [0.039, 0.021]}[step["by"]]  # the mark lies 19.5 of 30 mm up
    np.testing.assert_allclose(np.sort(np.diff(places)[:2]), np.sort(spacing), atol=2e-5)


def test_an_accordion_wastes_what_lies_between_its_legs() -> None:
    """Legs of 10 mm every 15 to 20 mm in a 30 mm bar waste a third to a half, as the write-up has it."""
    for segment, waste in ((15, 1 / 3), (18, 4 / 9), (20, 1 / 2)):
        before, row = rows({**ACCORDION, "segment": f"{segment} mm"})[-2:]
        assert row.lost.trim == pytest.approx(waste * before.bar.mass)
        assert row.lost.total == row.lost.trim


def test_the_web_of_an_accordion_is_a_third_of_the_bar_unless_said_and_sets_the_thickness() -> None:
    step = {k: v for k, v in ACCORDION.items() if k != "web"}
    assert rows(step)[-1].bar.thickness == pytest.approx(0.01)
    assert rows({**step, "web": "8 mm"})[-1].bar.thickness == pytest.approx(0.008)


def test_tiles_lose_their_kerfs_their_ends_and_their_faces() -> None:
    """One steel: 360 mm less two ends of 8 leave 344; 15 tiles of 20 mm and 14 kerfs of 2 mm take 328, so 16 mm are
    over; 28 faces lose 0.4 of 30 mm."""
    shop = {**NO_LOSSES, "kerf": "2 mm", "face_cleanup": "0.4 mm", "end_trim": "8 mm"}
    before, row = rows(TILES, ["1084 30 mm"], shop=shop)[-2:]
    a_mm = before.bar.mass / 360
    assert row.lost.trim == pytest.approx((16 + 16) * a_mm)
    assert row.lost.kerf == pytest.approx(28 * a_mm)
    assert row.lost.cleanup == pytest.approx(28 * 0.4 * 20 / 30 * a_mm)
    assert row.bar.length == pytest.approx((15 * 30 - 28 * 0.4) * 1e-3)


def test_one_slice_goes_on_and_the_rest_is_counted_as_trim() -> None:
    """360 mm give 51 slices of 5 mm with 50 kerfs of 2 mm, 355 mm in all, and 5 mm over: 50 slices and the rest go."""
    before, row = rows(SLICES, shop={**NO_LOSSES, "kerf": "2 mm"})[-2:]
    bar, a_mm = row.bar, before.bar.mass / 360
    assert (bar.length, bar.width, bar.thickness, bar.welded) == (0.03, 0.03, 0.005, True)
    assert bar.mass == pytest.approx(5 * a_mm)
    assert (row.lost.kerf, row.lost.trim) == (pytest.approx(100 * a_mm), pytest.approx(255 * a_mm))
    assert "51 slices" in row.notes[0].say() and "other 50" in row.notes[0].say()
    np.testing.assert_allclose(marks(bar), [-0.0045], atol=1e-6)


@pytest.mark.parametrize("step", [TILES, ACCORDION, SLICES], ids=["tiles", "accordion", "slices"])
def test_single_layers_can_no_longer_be_counted_through_the_thickness(step: dict) -> None:
    measures = rows(step)[-1].measures
    assert (measures.distinct, measures.mean_layer) == (None, None)
    assert measures.lines_per_m is not None and measures.lines_per_m > 0


@pytest.mark.parametrize(
    ("step", "words"),
    [
        pytest.param(
            {**ACCORDION, "segment": "14 mm"}, "sharp roots shear", id="4 mm of hole at a web of 10; 6 to 8 are usual"
        ),
        pytest.param(
            {**ACCORDION, "segment": "30 mm", "web": "16 mm"}, "too stiff to unfold", id="web over half the bar"
        ),
        pytest.param(TILES, "1084 meets 1084 where the tiles join", id="same steel"),
    ],
)
def test_limits_are_told(step: dict, words: str) -> None:
    assert words in " ".join(n.say() for n in rows(step)[-1].notes)


def test_the_write_ups_own_accordion_is_not_warned_of() -> None:
    assert rows(ACCORDION)[-1].notes == ()


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ({**ACCORDION, "web": "18 mm"}, "less than the segment"),
        ({**TILES, "web": "5 mm"}, "only an accordion leaves legs"),
        ({**TILES, "segment": "400 mm"}, "gives no piece"),
        ({**TILES, "segment": "0 mm"}, "more than nothing"),
        ({"do": "end_grain", "by": "accordion", "segment": "9 mm"}, "leave no room for cuts"),
    ],
)
def test_what_cannot_be_cut_is_refused(step: dict, words: str) -> None:
    with pytest.raises(InputError, match=words):
        rows(step)
