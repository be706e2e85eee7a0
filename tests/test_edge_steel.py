"""The edge is judged by the steel that reaches it, not by the mean of the bar.

0.60 % carbon as the least of a kitchen edge: common practice, no source. What lies where is plain geometry.
"""

from typing import Any

import pytest

from billet.blade.edge_steel import edge_steel
from billet.ledger.recipe_warnings import of_recipe
from billet.ledger.rows import Ledger
from billet.recipe.blade import blade_of
from tests.making import alternating, ledger_of
from tests.test_clad import BLADE, STEPS

DRAW = {"do": "draw", "thickness": "6 mm", "width": "54 mm", "heat": "1050 C", "time": "3 min"}
SOFT = "the edge will stay soft"


def made(stack: list[str], steps: list[dict[str, Any]] | None = None, **more: Any) -> Ledger:
    return ledger_of(stack, steps or [DRAW], **more)


def said(ledger: Ledger) -> str:
    return " ".join(n.say("metric") for n in of_recipe(ledger))


@pytest.mark.parametrize("jacket", ["wrought iron", "1018", "304", "410"])
@pytest.mark.parametrize("core", ["1095", "52100", "O1"])
@pytest.mark.parametrize("blade", [None, BLADE])
def test_a_hard_core_between_soft_jackets_is_no_soft_edge(jacket: str, core: str, blade: dict[str, Any] | None) -> None:
    """The bar's mean is 0.35 to 0.45 % carbon, the middle third is a steel of 0.92 % or more."""
    ledger = made([f"{jacket} 8 mm", f"{core} 8 mm", f"{jacket} 8 mm"], **({} if blade is None else {"blade": blade}))
    assert ledger.last.laminate is not None
    assert ledger.bars[-1].rows[-1].measures.carbon < 0.60
    assert SOFT not in said(ledger)
    assert edge_steel(ledger.last).steels == (core,)


def test_a_soft_core_between_hard_plates_is_a_soft_edge() -> None:
    """Two thirds of 1095 about a third of 1018: 0.69 % in the mean, 0.18 % at the edge."""
    ledger = made(["1095 8 mm", "1018 8 mm", "1095 8 mm"])
    assert ledger.bars[-1].rows[-1].measures.carbon > 0.60
    assert "what reaches the edge, 1018, holds 0.18 % carbon" in said(ledger)


@pytest.mark.parametrize(
    ("offset", "steel"), [("0 mm", "1095"), ("2.5 mm", "wrought iron"), ("-2.5 mm", "wrought iron")]
)
def test_the_blade_set_off_the_middle_brings_the_jacket_to_the_edge(offset: str, steel: str) -> None:
    """A core of 2 mm in a bar of 6 mm: 2.5 mm off the middle lies in the jacket."""
    ledger = made(["wrought iron 8 mm", "1095 8 mm", "wrought iron 8 mm"], blade={**BLADE, "offset": offset})
    assert edge_steel(ledger.last, blade_of(ledger.recipe)).steels == (steel,)
    assert (SOFT in said(ledger)) == (steel == "wrought iron")


def test_fine_layers_cross_the_edge_together() -> None:
    """0.84 and 0.18 %, half and half: 0.51 % over an edge many layers thick."""
    ledger = made(alternating(60, "1084 1 mm", "1018 1 mm"), [{**DRAW, "thickness": "3 mm"}])
    edge = edge_steel(ledger.last)
    assert edge.carbon == pytest.approx(0.51, abs=0.03)
    assert set(edge.steels) == {"1084", "1018"}
    assert SOFT in said(ledger)


def test_a_core_that_lost_its_carbon_to_iron_is_told_of() -> None:
    """Hours at welding heat level a core with thick jackets: the mean is all that is left (mass balance)."""
    level = {"do": "heat", "heat": "1200 C", "time": "20 h"}
    ledger = ledger_of(["1018 8 mm", "1095 4 mm", "1018 8 mm"], [*STEPS, level], diffuse=True)
    edge = edge_steel(ledger.last)
    assert edge.steels == ("1095",)
    assert edge.carbon < 0.60
    assert SOFT in said(ledger)


def test_a_twisted_bar_is_judged_at_its_edge_too() -> None:
    square = {"do": "draw", "thickness": "20 mm", "width": "20 mm", "heat": "1050 C", "time": "2 min"}
    twist = {"do": "twist", "turns": 4, "heat": "1100 C", "time": "2 min", "corners": 0.4}
    flat = {"do": "draw", "thickness": "8 mm", "width": "40 mm", "heat": "1050 C", "time": "2 min"}
    rich = made(alternating(16), [square, twist, flat])
    lean = made(alternating(16, "1018 2 mm", "wrought iron 2 mm"), [square, twist, flat])
    assert SOFT not in said(rich)
    assert SOFT in said(lean)
