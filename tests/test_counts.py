"""Layers counted and distinct. Source: plain combinatorics; worked counts as the trade prints them (5 plates cut in 3 four times is 405; 11 plates folded 5 times is 352)."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billet.bar.trace import layers_crossed
from billet.ledger.run import run
from billet.recipe.read import build
from tests.making import WELD, alternating, ledger_of, recipe_data

FOLD = {
    "do": "fold",
    "weld": {"heat": "1150 C", "time": "5 min"},
    "draw": {"thickness": "10 mm", "width": "50 mm", "heat": "1100 C", "time": "1 min"},
}
CUT_IN_3 = {"do": "restack", "pieces": 3, "weld": FOLD["weld"], "draw": FOLD["draw"]}
CUT_IN_2 = {**CUT_IN_3, "pieces": 2}


@pytest.mark.parametrize(
    ("plates", "step", "times", "counted", "distinct"),
    [
        pytest.param(7, FOLD, 4, 112, 16 * 6 + 1, id="7 plates folded 4 times: every seam makes two layers one"),
        pytest.param(5, CUT_IN_3, 4, 405, 81 * 4 + 1, id="5 plates cut in 3 four times"),
        pytest.param(11, FOLD, 5, 352, 32 * 10 + 1, id="11 plates folded 5 times"),
        pytest.param(8, CUT_IN_2, 4, 128, 128, id="8 plates restacked unturned 4 times: an even stack loses none"),
        pytest.param(8, FOLD, 1, 16, 15, id="8 plates folded once"),
        pytest.param(8, FOLD, 2, 32, 29, id="8 plates folded twice: both faces are one steel from now on"),
        pytest.param(8, FOLD, 3, 64, 57, id="8 plates folded 3 times"),
        pytest.param(8, FOLD, 4, 128, 113, id="8 plates folded 4 times"),
    ],
)
def test_counts(plates: int, step: dict, times: int, counted: int, distinct: int) -> None:
    last = ledger_of(alternating(plates), [{**step, "times": times}]).bars[0].rows[-1]
    assert (last.bar.layers_counted, last.measures.distinct) == (counted, distinct)


def test_a_spacer_of_the_other_steel_keeps_every_layer() -> None:
    """7 plates in 3 pieces with 2 spacers: 21 + 2 layers, none lost at a seam."""
    last = ledger_of(alternating(7), [{**CUT_IN_3, "spacer": "15N20 2 mm"}]).bars[0].rows[-1]
    assert (last.bar.layers_counted, last.measures.distinct) == (23, 23)


def test_a_layer_ground_away_is_gone_from_the_distinct_count_but_not_from_the_trades() -> None:
    """Two plates of 2 mm lie within 4.5 mm of the top: the third is cut into."""
    last = ledger_of(alternating(7), [{"do": "surface", "top": "4.5 mm"}]).bars[0].rows[-1]
    assert (last.bar.layers_counted, last.measures.distinct) == (7, 5)
    assert last.measures.outer_top == {"steel": "1084", "left_m": pytest.approx(1.5e-3)}


def test_the_marked_plate_shows_which_way_up_a_piece_lies() -> None:
    """A third steel lowest but one: turned pieces carry it highest but one."""
    stack = ["1084 2 mm", "O1 1 mm", "15N20 3 mm"]
    bar = ledger_of(stack, [{"do": "restack", "pieces": 2, "turn": "alternate"}, WELD]).last
    assert bar.laminate is not None
    names = [bar.laminate.steels[k].name for k in bar.laminate.steel]
    assert names == ["1084", "O1", "15N20", "15N20", "O1", "1084"]


@st.composite
def recipes(draw: st.DrawFn) -> dict:
    """Random laminar recipes with all losses on, and a third steel somewhere."""
    plates = draw(st.lists(st.sampled_from(["1084 3 mm", "15N20 2 mm", "O1 1.5 mm"]), min_size=2, max_size=6))
    steps = draw(
        st.lists(
            st.sampled_from(
                [
                    {"do": "restack", "pieces": 2, "weld": FOLD["weld"]},
                    {"do": "restack", "pieces": 3, "turn": "alternate", "weld": FOLD["weld"]},
                    {"do": "fold", "weld": FOLD["weld"]},
                    {"do": "restack", "pieces": 2, "spacer": "O1 1 mm", "weld": FOLD["weld"]},
                    {"do": "surface", "top": "0.7 mm", "bottom": "0.2 mm", "edges": "0.3 mm"},
                    {"do": "turn", "quarters": 2},
                    {"do": "trim", "each_end": "3 mm"},
                    {"do": "draw", "thickness": "8 mm", "width": "45 mm", "heat": "1100 C", "time": "1 min"},
                ]
            ),
            max_size=5,
        )
    )
    thick = [
        s for k, s in enumerate(steps) if s["do"] != "draw" or any(t["do"] in ("restack", "fold") for t in steps[:k])
    ]
    shop = {
        "kerf": "2 mm",
        "face_cleanup": "0.2 mm",
        "end_trim": "2 mm",
        "scale_per_heat": "0.05 mm",
        "press_opening": "2 m",
    }
    return recipe_data(
        plates,
        [s for k, s in enumerate(thick) if s["do"] != "draw" or k == len(thick) - 1],
        repeat=2,
        cap="15N20 4 mm",
        length="2 m",
        shop=shop,
    )


@settings(max_examples=60, deadline=None)
@given(recipes())
def test_layers_counted_along_a_line_equal_the_ledgers(data: dict) -> None:
    bar = run(build(data), diffuse=False).last
    deep = 0.5 * bar.thickness * (1 - 1e-12)
    ends = np.array([0.1 * bar.length, 0.1 * bar.width, -deep]), np.array([0.1 * bar.length, 0.1 * bar.width, deep])
    assert bar.laminate is not None
    assert layers_crossed(bar, *ends, samples=200_001) == bar.laminate.distinct


@settings(max_examples=60, deadline=None)
@given(recipes())
def test_mass_in_is_mass_out_and_losses_in_every_row(data: dict) -> None:
    rows = run(build(data), diffuse=False).bars[0].rows
    into = np.array([a.bar.mass + b.added for a, b in itertools.pairwise(rows)])
    out = np.array([b.bar.mass + b.lost.total for b in rows[1:]])
    np.testing.assert_allclose(out, into, rtol=1e-12)
