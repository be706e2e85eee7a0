"""Cut lists, the press, and what a measured bar still gives."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest

from billet.metal.flow_stress import flow_stress_shida_1969
from billet.plan.cutlist import Plate, saw
from billet.plan.measured import reach, read_measured
from billet.plan.planner import plan
from billet.plan.press import bite, push, resistance, thinnest
from billet.recipe.read import build
from billet.recipe.tables import Target
from billet.steel.library import find
from tests.planning import RACK, bar, knife

STEEL = find("1084")


def plates(*sizes: tuple[float, int]) -> list[Plate]:
    """Plates of 3.2 x 40 mm: (length [mm], how many)."""
    return [Plate(STEEL, 3.2e-3, 40e-3, long * 1e-3, many) for long, many in sizes]


def test_a_cutting_stock_problem_done_by_hand():
    """Two bars of 1000 mm, kerf 2 mm: 3 x 300 + 4 x 240. One bar takes 300 + 300 + 300 (904 with kerfs), the other
    4 x 240 (966); 300 + 3 x 240 (1026) does not fit one. By hand, so both bars are needed and nothing is short."""
    cuts, short = saw(plates((300, 3), (240, 4)), [bar("1084", 3.2, count=2)], 2e-3)
    assert not short
    assert sorted(sorted(round(v * 1e3) for v in c.lengths) for c in cuts) == [[240] * 4, [300] * 3]
    assert sum(c.offcut for c in cuts) == pytest.approx(2.0 - 3 * 0.302 - 4 * 0.242)


def test_one_millimetre_too_long_is_short_of_one_plate():
    """Four plates of 249 mm and three kerfs of 2 mm take 1002 mm of a bar of 1000 mm."""
    fits, none = saw(plates((248.5, 4)), [bar("1084", 3.2, count=1)], 2e-3)
    cuts, short = saw(plates((249, 4)), [bar("1084", 3.2, count=1)], 2e-3)
    assert not none and len(fits[0].lengths) == 4
    assert len(cuts[0].lengths) == 3
    assert [p.count for p in short] == [1]


def test_the_cheaper_bar_is_sawn_first_and_a_narrow_one_never():
    rack = [
        bar("1084", 3.2, price=20.0, count=1),
        bar("1084", 3.2, price=10.0, count=1),
        bar("1084", 3.2, width=30, price=1.0),
    ]
    cuts, short = saw(plates((300, 2)), rack, 2e-3)
    assert not short
    assert [c.bar.price for c in cuts] == [10.0]
    assert cuts[0].price == pytest.approx(10.0 * 0.604)


def test_every_plate_of_a_plan_is_sawn_from_the_rack():
    made = plan(knife(), Target(layers=120), RACK, handful=1)
    [c] = made.candidates
    table = tomllib.loads(c.text)["bar"][0]
    spacers = sum(s["pieces"] - 1 for s in table["step"] if s["do"] == "restack" and "spacer" in s)
    stacked = len(table["stack"]) * table["repeat"] + ("cap" in table)
    assert made.in_hand and not c.cuts.short
    assert sum(len(cut.lengths) for cut in c.cuts.cuts) == stacked + spacers
    assert all(sum(cut.lengths) <= cut.bar.length for cut in c.cuts.cuts)


def test_a_short_rack_says_what_to_buy():
    rack = (bar("1084", 3.2, length=150, count=1), bar("15N20", 1.6, length=150, count=1))
    made = plan(knife(), Target(layers=120), rack, handful=1)
    assert made.in_hand is False
    bought = {p.steel.name for p in made.candidates[0].cuts.short}
    assert bought == {"1084", "15N20"}


def test_push_and_bite_are_one_another_backwards():
    force = push(80e6, 50e-3, 30e-3, 20e-3)
    assert bite(80e6, 50e-3, 20e-3, force) == pytest.approx(30e-3)
    least = thinnest(80e6, 50e-3, 30e-3, force)
    assert least == pytest.approx(20e-3)


def test_push_is_the_slab_methods_mean_pressure():
    """2k (1 + b/4h) w b with 2k = 2/sqrt(3) sigma (textbook, from memory): sigma 60 MPa, 50 x 40 mm, 40 mm high by
    hand.
    """
    assert push(60e6, 50e-3, 40e-3, 40e-3) == pytest.approx(2 / np.sqrt(3) * 60e6 * 1.25 * 50e-3 * 40e-3)


def test_resistance_takes_the_higher_of_two_published_figures():
    assert resistance(0.8, 1423.15) >= flow_stress_shida_1969(0.8, 0.2, 1.0, 1423.15)


RECIPE = """\
title = "smokehouse knife, half way"
[[bar]]
name = "billet"
width = "40 mm"
length = "120 mm"
stack = ["1084 3.2 mm", "15N20 1.6 mm"]
repeat = 7
[[bar.step]]
do = "weld"
temperature = "1150 C"
soak = "8 min"
heats = 2
[[bar.step]]
do = "draw"
thickness = "12 mm"
width = "40 mm"
temperature = "1100 C"
soak = "3 min"
heats = 2
[[bar.step]]
do = "restack"
pieces = 3
weld = { temperature = "1150 C", soak = "8 min", heats = 2 }
draw = { thickness = "4.4 mm", width = "52 mm", temperature = "1100 C", soak = "2 min", heats = 3 }
[blade]
length = "210 mm"
heel_height = "48 mm"
"""


def half_way():
    return build(tomllib.loads(RECIPE), RECIPE)


def test_measured_as_expected_gives_what_the_ledger_gives():
    from billet.ledger.recipe_warnings import holding
    from billet.ledger.run import run

    book = run(half_way(), diffuse=False)
    bar_then = book.bars[0].after(2)
    found = reach(half_way(), 2, {"length": bar_then.length, "width": bar_then.width, "thickness": bar_then.thickness})
    assert found.nominal.length.available == pytest.approx(holding(book).length.available)
    assert found.enough


def test_a_short_bar_says_what_still_reaches():
    found = reach(half_way(), 2, {"length": 0.15})
    assert not found.pessimistic.enough
    assert found.redraw is not None
    assert found.redraw.answer.length.available > found.pessimistic.length.available
    assert 0 < found.blade < 0.21
    assert found.help == 3


def test_half_the_length_gives_all_but_half_the_blade_bar():
    """Length is straight in length but for trims, kerf and scale at the ends: between half and all of it is lost with
    half.
    """
    whole, half = (reach(half_way(), 2, {"length": v}).nominal.length.available for v in (0.30, 0.15))
    assert 0.35 * whole < half < 0.5 * whole


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("longth=120 mm", "longth"),
        ("length=120", "unit"),
        ("", "nothing was measured"),
        ("length=0 mm", "more than nothing"),
        ("width=3 kg", "width"),
    ],
)
def test_measurements_that_cannot_be_read(text, word):
    from billet.base.errors import InputError

    with pytest.raises(InputError, match=word):
        read_measured(text)
