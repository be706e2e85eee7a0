"""The block of an integral knife, forged out by the ledger: does the knife lie in it, and is it a block's weight."""

from __future__ import annotations

from pathlib import Path

import pytest

from billet.ledger.recipe_warnings import holding
from billet.ledger.run import run
from billet.plan.integral import block_of
from billet.plan.recipe_text import length
from billet.recipe.blade import blade_of
from billet.recipe.read import build, load, plain

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


def test_a_knife_without_a_bolster_needs_no_block() -> None:
    made = load(Path("demo_billets/chef.toml"))
    assert block_of(blade_of(made), made.tables.shop) is None
