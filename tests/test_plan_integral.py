"""The block of an integral knife, forged out by the ledger: does the knife lie in it, and is it a block's weight."""

from __future__ import annotations

from pathlib import Path

import pytest

from billet.base.units import Kind
from billet.base.units import read as read_quantity
from billet.blade.geometry import STEEL_DENSITY
from billet.ledger.recipe_warnings import every_warning, holding
from billet.ledger.run import run
from billet.plan.goal import goal_of
from billet.plan.integral import block_of
from billet.plan.planner import plan
from billet.plan.recipe_text import INCH, length
from billet.recipe.blade import blade_of
from billet.recipe.read import build, load, plain
from billet.recipe.tables import Target

DEMO = Path("demo_billets/integral.toml")


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_block_holds_the_knife_once_it_is_forged_out(units: str) -> None:
    """A plain block of the size told, through the steps told, in the demo's fire: the ledger must find the knife in it."""
    table = plain(DEMO.read_text("utf-8"), DEMO)
    made = load(DEMO)
    block = block_of(blade_of(made), made.tables.shop, units)
    assert block is not None
    table["bar"] = [
        {
            "name": "block",
            "width": length(block.width, units),
            "length": length(block.length, units),
            "stack": [f"1084 {length(block.thickness, units)}"],
            "step": [dict(step) for step in block.steps],
        }
    ]
    book = run(build(table), diffuse=False)
    three = holding(book)
    assert three.enough
    assert [n.say(units) for r in book.bars[0].rows for n in r.notes] == []
    assert three.length.surplus < 0.35 * three.length.needed


def test_the_block_weighs_less_than_a_bar_as_thick_as_the_bolster() -> None:
    """A bar 9.5 + 0.4 + 0.8 + 3.5 in long, 2 in wide and 0.8 in thick is 14.2 x 2 x 0.8 x 0.283 = 6.4 lb (2.9 kg) before
    any allowance; the block is under half of that."""
    made = load(DEMO)
    block = block_of(blade_of(made), made.tables.shop)
    assert block is not None
    assert 0.6 < block.mass < 0.5 * 2.9


def test_an_integral_is_planned_as_a_block_that_holds_it_at_twice_the_scale() -> None:
    """The demo's knife with 200 layers asked for: blade and tang drawn out of a block, nothing to warn of, and the lines the
    face shows are those of plane geometry: N (s - e) / (2 T), T the blade's own thickness in the bar."""
    made = load(DEMO)
    first = plan(made, Target(layers=200)).candidates[0]
    done = [row.do for row in first.book.bars[0].rows]
    assert first.faults == () and every_warning(first.book, first.worst) == ()
    assert done.count("draw_out") == 2 and holding(first.worst).enough
    profile, blade = first.book.last.profile, blade_of(made)
    assert profile is not None
    thick = float(min(profile.thickness[-2:]))
    lines = 200 * (blade.taper.middle - made.tables.blade.edge.finished) / (2 * thick)
    assert first.face.at("middle").lines == pytest.approx(lines, rel=0.15)
    bar = goal_of(made, Target(layers=200), None).need
    assert first.laid < 0.5 * STEEL_DENSITY * bar.length * bar.width * bar.thickness


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_forging_is_told_in_marks_a_rule_and_a_dial_have(units: str) -> None:
    made = load(DEMO)
    block = block_of(blade_of(made), made.tables.shop, units)
    assert block is not None
    dial, rule = (25, INCH / 32) if units == "imperial" else (10, 5e-4)
    for step in block.steps:
        assert int(str(step["temperature"]).split()[0]) % dial == 0
        for name in ("keep", "width", "transition"):
            marks = read_quantity(step[name], Kind.LENGTH) / rule
            assert marks == pytest.approx(round(marks), abs=1e-3)


def test_a_knife_without_a_bolster_needs_no_block() -> None:
    made = load(Path("demo_billets/chef.toml"))
    assert block_of(blade_of(made), made.tables.shop) is None
