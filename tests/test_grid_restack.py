"""Tiles. Source: the symmetry groups the trade's names stand for (pinwheel: a quarter turn about the middle; mirror:
both middle lines) and hand counts of what is sawn and ground away."""

from __future__ import annotations

import numpy as np
import pytest

from billet.bar.bar import Bar
from billet.bar.trace import seams, steel_at
from billet.base.errors import InputError
from billet.steps.grid_restack import GridRestack, Tiled
from tests.examples import bench
from tests.making import NO_LOSSES, WELD, ledger_of

LOSSES = {**NO_LOSSES, "kerf": "2 mm", "face_cleanup": "0.4 mm", "end_trim": "8 mm"}
STACK = ["1084 8 mm", "15N20 4 mm", "52100 2 mm", "1084 6 mm"]  # 20 mm, the mark 12 to 14 mm up


def laid(grid: int, order: str, **more: object) -> Bar:
    return ledger_of(STACK, [{"do": "tile", "grid": grid, "order": order}], width="20 mm", length="400 mm", **more).last


def section(bar: Bar, y: np.ndarray, z: np.ndarray) -> np.ndarray:
    """Where points of the section were in the section of the bar that was cut, (2, n): a picture without any symmetry
    of its own."""
    assert isinstance(bar.material.map, Tiled)
    back = bar.material.map.pull(0 * y, y, z)
    return np.stack([back.y, back.z])


def places(bar: Bar, n: int = 4000) -> np.ndarray:
    return np.random.default_rng(5).uniform(-0.499, 0.499, (2, n)) * np.array([[bar.width], [bar.thickness]])


@pytest.mark.parametrize("losses", [{}, LOSSES], ids=["without losses", "with losses"])
@pytest.mark.parametrize("grid", [2, 3, 4])
def test_a_pinwheel_looks_the_same_a_quarter_turn_on_and_not_in_a_mirror(grid: int, losses: dict) -> None:
    bar = laid(grid, "pinwheel", **({"shop": losses} if losses else {}))
    y, z = places(bar)
    if grid == 3:  # the middle piece only keeps what symmetry it has
        outside = np.maximum(np.abs(y), np.abs(z)) > 0.011
        y, z = y[outside], z[outside]
    np.testing.assert_allclose(section(bar, -z, y), section(bar, y, z), atol=1e-15)
    assert np.abs(section(bar, -y, z) - section(bar, y, z)).max() > 1e-3


@pytest.mark.parametrize("grid", [2, 4])
def test_a_mirror_looks_the_same_across_both_middle_lines_and_not_a_quarter_turn_on(grid: int) -> None:
    bar = laid(grid, "mirror")
    y, z = places(bar)
    np.testing.assert_allclose(section(bar, -y, z), section(bar, y, z), atol=1e-15)
    np.testing.assert_allclose(section(bar, y, -z), section(bar, y, z), atol=1e-15)
    assert np.abs(section(bar, -z, y) - section(bar, y, z)).max() > 1e-3


def test_a_mirror_is_made_by_turning_pieces_end_for_end() -> None:
    """What points along the bar points the other way in the mirrored piece; no piece is reflected."""
    bar = laid(2, "mirror")
    slopes = bar.material.map.slope(np.array([[0, 0, 0, 0], [-0.01, 0.01, -0.01, 0.01], [-0.01, -0.01, 0.01, 0.01]]))
    along, across, through = (slopes[k, k] for k in range(3))
    assert (list(along), list(across), list(through)) == ([1, -1, -1, 1], [1, -1, 1, -1], [1, 1, -1, -1])


@pytest.mark.parametrize("grid", [2, 3, 4])
def test_same_repeats_itself_from_piece_to_piece(grid: int) -> None:
    bar = laid(grid, "same")
    y, z = places(bar)
    inner = (y < 0.5 * bar.width - 0.02) & (z < 0.5 * bar.thickness - 0.02)
    y, z = y[inner], z[inner]
    np.testing.assert_allclose(section(bar, y + 0.02, z), section(bar, y, z), atol=1e-15)
    np.testing.assert_allclose(section(bar, y, z + 0.02), section(bar, y, z), atol=1e-15)


@pytest.mark.parametrize("grid", [2, 3, 4])
def test_quarter_turned_is_a_chessboard_of_lying_and_standing_layers(grid: int) -> None:
    bar = laid(grid, "quarter turned")
    middles = (np.arange(grid) - 0.5 * (grid - 1)) * 0.02
    column, row = (g.ravel() for g in np.meshgrid(np.arange(grid), np.arange(grid)))
    slopes = bar.material.map.slope(np.stack([0 * middles[column], middles[column], middles[row]]))
    standing = np.abs(slopes[2, 1]) == 1
    np.testing.assert_array_equal(standing, (column + row) % 2 == 1)


def test_sixteen_laid_at_once_are_four_laid_twice() -> None:
    """Once as pinwheel, its copies look alike however they are rolled."""
    once = laid(4, "pinwheel")
    step = {"do": "tile", "grid": 2, "order": "pinwheel"}
    twice = ledger_of(STACK, [step, WELD, step], width="20 mm", length="400 mm").last
    y, z = places(once)
    first = twice.material.map.pull(0 * y, y, z)
    back = twice.material.parent.map.pull(*first[:3])
    np.testing.assert_allclose(np.stack([back.y, back.z]), section(once, y, z), atol=1e-15)


def test_matching_corners_meet_in_the_middle() -> None:
    """In a mirror and in a pinwheel of four the four points next to the middle come from one corner of the piece."""
    step = 1e-6 * np.array([[-1, 1, 1, -1], [-1, -1, 1, 1]])
    for order in ("mirror", "pinwheel"):
        corner = section(laid(2, order), *step)
        np.testing.assert_allclose(corner, np.repeat(corner[:, :1], 4, axis=1), atol=1e-15)
        np.testing.assert_allclose(np.abs(corner), 0.01 - 1e-6, atol=1e-12)


def test_in_a_mirror_the_marked_plate_lies_turned_over_above() -> None:
    """The mark lies 13 mm up its piece: 13 mm up the lower row, and 13 mm down from the top of the upper."""
    bar = laid(2, "mirror")
    z = np.linspace(-0.5, 0.5, 40_001) * bar.thickness
    mark = z[steel_at(bar, np.stack([0 * z, 0 * z + 0.003, z])) == "52100"]
    assert (mark[mark < 0].mean(), mark[mark > 0].mean()) == (
        pytest.approx(-0.007, abs=2e-6),
        pytest.approx(0.007, abs=2e-6),
    )


def test_pieces_follow_one_another_along_the_bar_row_by_row_from_below() -> None:
    bar = laid(2, "same", shop={**NO_LOSSES, "kerf": "2 mm"})
    y, z = np.array([-0.01, 0.01, -0.01, 0.01]), np.array([-0.01, -0.01, 0.01, 0.01])
    along = bar.material.map.pull(0 * y, y, z).x
    length = (0.4 - 3 * 0.002) / 4
    assert bar.length == pytest.approx(length)
    np.testing.assert_allclose(along, -0.2 + 0.5 * length + np.arange(4) * (length + 0.002), atol=1e-12)


def test_seams_are_straight_crosses_on_all_inner_planes() -> None:
    bar = ledger_of(STACK, [{"do": "tile", "grid": 3}, WELD], width="20 mm", length="400 mm").last
    y, z = np.array([0.01, -0.0101, 0.02, 0.003]), np.array([0.001, 0.02, -0.0104, 0.0102])
    welded = [s for s in seams(bar.material, np.stack([0 * y, y, z])) if s.step == 3]
    np.testing.assert_allclose(welded[0].distance, [0.0, -0.0001, -0.0004, 0.0002], atol=1e-15)


def test_what_is_sawn_and_ground_away_is_what_a_hand_count_gives() -> None:
    """One steel, 20 x 20 x 400: ends 2 x 8 mm; 3 cuts of 2 mm; each of four pieces loses 0.4 mm off two faces that meet
    at an edge."""
    run = ledger_of(
        ["1084 20 mm"],
        [{"do": "tile", "grid": 2}],
        width="20 mm",
        length="400 mm",
        shop={**LOSSES, "scale_per_heat": "0 mm"},
    )
    row, per_mm3 = run.bars[0].rows[-1], run.bars[0].rows[-2].bar.mass / (20 * 20 * 400)
    length = (400 - 16 - 6) / 4
    assert row.lost.trim == pytest.approx(16 * 400 * per_mm3)
    assert row.lost.kerf == pytest.approx(6 * 400 * per_mm3)
    assert row.lost.cleanup == pytest.approx(4 * length * (20**2 - 19.6**2) * per_mm3)
    assert (row.bar.length, row.bar.width, row.bar.thickness) == pytest.approx((length * 1e-3, 0.0392, 0.0392))


def test_the_middle_of_nine_is_ground_on_four_faces() -> None:
    """20 mm pieces, 0.4 mm a face: outer columns keep 19.6, the middle one 19.2."""
    bar = laid(3, "same", shop=LOSSES)
    np.testing.assert_allclose(np.diff(bar.material.map.across), [0.0196, 0.0192, 0.0196], atol=1e-12)
    assert bar.width == pytest.approx(0.0584)


@pytest.mark.parametrize(("grid", "counted"), [(2, 16), (3, 36), (4, 64)])
def test_the_trades_count_is_plates_times_pieces(grid: int, counted: int) -> None:
    row = ledger_of(STACK, [{"do": "tile", "grid": grid}], width="20 mm").bars[0].rows[-1]
    assert (row.bar.layers_counted, row.measures.distinct, row.measures.mean_layer) == (counted, None, None)


def test_pieces_that_are_rolled_need_a_square_bar() -> None:
    with pytest.raises(
        InputError, match=r"only fit one another in a square bar, and this one is 25\.00 mm by 20\.00 mm"
    ):
        ledger_of(STACK, [{"do": "tile", "grid": 2, "order": "pinwheel"}], width="25 mm")
    assert ledger_of(STACK, [{"do": "tile", "grid": 2, "order": "mirror"}], width="25 mm").last.width == pytest.approx(
        0.05
    )


def test_a_bar_a_little_out_of_square_is_ground_square() -> None:
    row = ledger_of(["1084 20 mm"], [{"do": "tile", "grid": 2}], width="20.5 mm").bars[0].rows[-1]
    assert (row.bar.width, row.bar.thickness) == (pytest.approx(0.04), pytest.approx(0.04))
    assert row.lost.trim == pytest.approx(row.bar.mass * 0.5 / 20)


@pytest.mark.parametrize(
    ("stack", "order", "warned"),
    [
        (STACK, "same", True),  # 1084 lowest and uppermost
        (["1084 10 mm", "15N20 10 mm"], "same", False),
        (["1084 10 mm", "15N20 10 mm"], "mirror", True),
    ],
)
def test_same_steel_meeting_between_rows_is_told(stack: list[str], order: str, warned: bool) -> None:
    notes = ledger_of(stack, [{"do": "tile", "grid": 2, "order": order}], width="20 mm").bars[0].rows[-1].notes
    assert any("bold layer" in n.text for n in notes) == warned


def test_a_bar_too_short_for_its_pieces_is_refused() -> None:
    with pytest.raises(InputError, match=r"16 pieces with 2\.0 mm of kerf between them need more"):
        ledger_of(STACK, [{"do": "tile", "grid": 4}], width="20 mm", length="28 mm", shop={**NO_LOSSES, "kerf": "2 mm"})


def test_a_grid_of_five_is_no_step() -> None:
    with pytest.raises(InputError, match="grid"):
        ledger_of(STACK, [{"do": "tile", "grid": 5}])


def test_a_round_bar_is_refused() -> None:
    from dataclasses import replace

    from billet.base.messages import RefusedError

    with pytest.raises(RefusedError, match="draw it square"):
        GridRestack(grid=2).apply(replace(ledger_of(STACK, [], width="20 mm").last, corner=4.0), bench())
