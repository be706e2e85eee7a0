"""How a bar spreads when it is drawn: the shop's own figure, in the draw and in the plans."""

from __future__ import annotations

import numpy as np
import pytest

from billet.base.errors import InputError
from billet.plan.planner import plan
from billet.plan.smiths_habits import habits_of
from billet.recipe.read import build
from billet.steel.library import library
from billet.steps.draw import Draw
from tests.examples import HOT, marked, step
from tests.making import ledger_of
from tests.planning import knife

DRAW = {"do": "draw", "thickness": "8 mm", "temperature": "1100 C", "soak": "3 min"}


@pytest.mark.parametrize("spread", [0.0, 0.15, 0.4])
@pytest.mark.parametrize("heats", [1, 3])
def test_drawn_to_a_thickness_alone_the_bar_spreads_as_the_shops_does(spread: float, heats: int) -> None:
    """The exponent is ln(w1/w0) over ln(t0/t1), as the bench record learns it; without scale the heats do not matter,
    and the length follows from the volume (hand derivation)."""
    book = ledger_of(["1084 20 mm"], [{**DRAW, "heats": heats}], shop={"scale_per_heat": "0 mm", "spread": spread})
    before, after = (row.bar for row in book.bars[0].rows[-2:])
    gained = np.log(after.width / before.width) / np.log(before.thickness / after.thickness)
    assert after.thickness == pytest.approx(8e-3, rel=1e-9)
    assert gained == pytest.approx(spread, abs=1e-9)
    assert after.volume == pytest.approx(before.volume, rel=1e-9)


def test_scale_comes_off_before_the_bar_spreads() -> None:
    """ln(W'/W) + 2s/W = x (ln(T/T') - 2s/T) to first order in the scale: the bench record's relation turned round."""
    book = ledger_of(["1084 20 mm"], [DRAW], shop={"scale_per_heat": "0.1 mm", "spread": 0.3})
    before, after = (row.bar for row in book.bars[0].rows[-2:])
    wide = np.log(after.width / before.width) + 2e-4 / before.width
    thin = np.log(before.thickness / after.thickness) - 2e-4 / before.thickness
    assert wide == pytest.approx(0.3 * thin, abs=1e-4)


def test_a_draw_still_wants_a_size() -> None:
    with pytest.raises(ValueError, match="thickness alone"):
        step(f'do = "draw"\n{HOT}width = "40 mm"')
    assert isinstance(step(f'do = "draw"\n{HOT}thickness = "6 mm"'), Draw)
    assert marked().thickness > 6e-3


def test_a_plan_asks_for_no_more_spread_than_the_shop_has() -> None:
    """Twice the shop's own, as flat dies give over drawing dies (0.3 to 0.45 against 0.1 to 0.2, from memory)."""
    steels = (library()["1084"], library()["15N20"])
    for spread in (0.05, 0.15, 0.3):
        shop = build({"shop": {"spread": spread}}).tables.shop
        assert habits_of(shop, steels, "metric").widest_spread == pytest.approx(2 * spread)


@pytest.mark.slow
def test_a_shop_whose_bars_do_not_spread_is_given_plates_as_wide_as_the_blade() -> None:
    recipe = knife(shop="spread = 0\nmost_welds = 2")
    try:
        found = plan(recipe).candidates
    except InputError:
        found = ()
    assert all(c.ledger.bars[0].rows[0].bar.width >= c.ledger.last.width - 1e-6 for c in found)
