"""Every warning is triggered by one recipe and not by its neighbour.

Limits without a source beside them are the shop's own words in the recipe, or common practice, no source.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from billet.ledger.overheating import COPPER_MELTS, PHOSPHORUS, red_line_of
from billet.ledger.recipe_warnings import of_recipe
from billet.ledger.run import run
from billet.metal.limits import weight_percent
from billet.recipe.read import build
from billet.steel.library import find
from tests.making import NO_LOSSES, WELD, alternating

C0 = 273.15
PAIR = alternating(16)


def words(
    stack: list[str],
    steps: list[dict[str, Any]],
    *,
    diffuse: bool = False,
    weld: bool = True,
    shop: dict[str, Any] | None = None,
    **more: Any,
) -> list[str]:
    """All warnings of a recipe of one bar, those of its steps first."""
    bar = {
        "name": "billet",
        "width": "50 mm",
        "length": "250 mm",
        "stack": stack,
        "step": [*([WELD] if weld else []), *steps],
        **more,
    }
    ledger = run(build({"shop": {**NO_LOSSES, **(shop or {})}, "bar": [bar]}), diffuse=diffuse)
    return [n.say() for row in ledger.bars[0].rows for n in row.notes] + [n.say() for n in of_recipe(ledger)]


def draw(thickness: str = "12 mm", width: str = "50 mm", heat: str = "1050 C", **more: Any) -> dict[str, Any]:
    return {"do": "draw", "thickness": thickness, "width": width, "heat": heat, "time": "2 min", **more}


def weld(heat: str, time: str = "5 min") -> dict[str, Any]:
    return {"do": "weld", "heat": heat, "time": time}


SQUARE = draw("20 mm", "20 mm")
TWIST = {"do": "twist", "corners": 0.4}
LADDER = {"do": "ladder", "pitch": "12 mm", "groove": "6 mm", "depth": "2 mm"}
LONG = {"do": "heat", "heat": "1200 C", "time": "2 h"}
SMALL = {"shop": {"fire_length": "300 mm"}}
LOW_PRESS = {"shop": {"press_opening": "30 mm"}}
SCALE = {"shop": {"scale_per_heat": "0.2 mm"}}
THICK_FACE, THIN_FACE = ["1084 2 mm", *PAIR[1:]], ["1084 0.15 mm", *PAIR[1:]]

# what is said, the recipe that calls for it, its neighbour that does not
CASES: dict[str, tuple[str, dict[str, Any], dict[str, Any]]] = {
    "a groove deeper than the bar flattens out": (
        "hollows remain",
        {"steps": [draw(), {**LADDER, "flat": "10.5 mm"}]},
        {"steps": [draw(), {**LADDER, "flat": "8 mm"}]},
    ),
    "a pitch under twice the depth": (
        "closer than twice their depth",
        {"steps": [draw(), {**LADDER, "pitch": "6 mm", "groove": "5 mm", "depth": "3.2 mm"}]},
        {"steps": [draw(), {**LADDER, "pitch": "7 mm", "groove": "5 mm", "depth": "3.2 mm"}]},
    ),
    "skin shear over three": (
        "the skin is sheared",
        {"steps": [SQUARE, {**TWIST, "turns": 60}]},
        {"steps": [SQUARE, {**TWIST, "turns": 30}]},
    ),
    "a bar longer than the fire": (
        "the fire heats",
        {"steps": [draw("12 mm")], **SMALL},
        {"steps": [draw("28 mm")], **SMALL},
    ),
    "a stack higher than the press": (
        "the press opens",
        {"steps": [draw(), {"do": "restack", "pieces": 4}], **LOW_PRESS, "stack": alternating(10)},
        {"steps": [draw("7 mm"), {"do": "restack", "pieces": 4}], **LOW_PRESS, "stack": alternating(10)},
    ),
    "a stack taller than it is wide": (
        "will tip",
        {"steps": [draw(), {"do": "restack", "pieces": 5}]},
        {"steps": [draw(), {"do": "restack", "pieces": 4}]},
    ),
    "one steel meets itself at a restack": (
        "bold layer",
        {"steps": [draw(), {"do": "restack", "pieces": 2}], "stack": alternating(15)},
        {"steps": [draw(), {"do": "restack", "pieces": 2}], "stack": alternating(16)},
    ),
    "the outer layer scaled away": (
        "layer of 1084 is gone",
        {"steps": [], "stack": THIN_FACE, **SCALE},
        {"steps": [], "stack": THICK_FACE, **SCALE},
    ),
    "the outer layer ground away": (
        "layer of 15N20 is gone",
        {"steps": [{"do": "surface", "top": "2.1 mm"}]},
        {"steps": [{"do": "surface", "top": "1.9 mm"}]},
    ),
    # computed with two open databases: solidus of 0.95 % C 1357 C, less 20 for alloy and 100: 1237 C
    "a weld above the red line of the richest plate": (
        "red line of 1095",
        {"steps": [], "weld": False, "step": [weld("1245 C")], "stack": ["1095 4 mm", "15N20 4 mm"]},
        {"steps": [], "weld": False, "step": [weld("1225 C")], "stack": ["1095 4 mm", "15N20 4 mm"]},
    ),
    # 1453 C at 0.4 % C (the fit's floor), less 20, 100, and 12 K for each 0.02 % of phosphorus past the first
    "phosphorus short of the solidus": (
        "red line of wrought iron, 1312 C: damage starts there (its phosphorus",
        {"steps": [], "weld": False, "step": [weld("1320 C")], "stack": ["wrought iron 4 mm", "1018 4 mm"]},
        {"steps": [], "weld": False, "step": [weld("1305 C")], "stack": ["wrought iron 4 mm", "1018 4 mm"]},
    ),
    "nickel begins to melt with carbon": (
        "red line of nickel",
        {"steps": [], "weld": False, "step": [weld("1230 C")], "stack": ["1018 4 mm", "nickel 1 mm", "1018 4 mm"]},
        {"steps": [], "weld": False, "step": [weld("1220 C")], "stack": ["1018 4 mm", "nickel 1 mm", "1018 4 mm"]},
    ),
    "a loose stack with a short soak": (
        "before its core is up",
        {"steps": [], "weld": False, "step": [weld("1150 C", "2 min")]},
        {"steps": [], "weld": False, "step": [weld("1150 C", "5 min")]},
    ),
    "blended carbon under 0.60 %": (
        "the edge will stay soft",
        {"steps": [], "stack": ["1084 2 mm", "1018 2 mm"]},
        {"steps": [], "stack": ["1095 4 mm", "1018 2 mm"]},
    ),
    "one steel throughout": (
        "no pattern will show",
        {"steps": [], "stack": ["1084 2 mm", "1084 3 mm"]},
        {"steps": [], "stack": ["1084 2 mm", "15N20 3 mm"]},
    ),
    "chromium faces in the open": (
        "want air kept out",
        {"steps": [], "stack": ["410 2 mm", "1095 4 mm", "410 2 mm"]},
        {"steps": [], "stack": ["52100 2 mm", "1095 4 mm", "52100 2 mm"]},
    ),
    "a washed-out pattern": (
        "of the etching contrast is left",
        {"steps": [draw("0.3 mm"), LONG], "diffuse": True},
        {"steps": [draw("4 mm"), LONG], "diffuse": True},
    ),
    "layers so thin that the heats mix them": (
        "mixed by the welding heats",
        {"steps": [draw("0.04 mm")]},
        {"steps": [draw("0.06 mm")]},
    ),
    "a bar that ends as a loose stack": (
        "not welded",
        {"steps": [draw(), {"do": "restack", "pieces": 2}]},
        {"steps": [draw(), {"do": "restack", "pieces": 2}, WELD]},
    ),
}  # fmt: skip


def said(case: dict[str, Any]) -> str:
    """The warnings of a case as one text."""
    given = {"stack": PAIR, **case}
    steps = given.pop("step", []) + given.pop("steps")
    return "\n".join(words(given.pop("stack"), steps, **given))


@pytest.mark.parametrize("name", CASES)
def test_a_warning_is_given(name: str) -> None:
    wanted, calls, _ = CASES[name]
    assert wanted in said(calls)


@pytest.mark.parametrize("name", CASES)
def test_its_neighbour_is_not_warned_of(name: str) -> None:
    wanted, _, quiet = CASES[name]
    assert wanted not in said(quiet)


def test_copper_in_the_stack_has_its_own_red_line() -> None:
    """Copper freezes at 1084.62 C (ITS-90); its alloys are kept the usual 100 K below that."""
    assert pytest.approx(1084.62 + C0) == COPPER_MELTS
    alloy = red_line_of(weight_percent(Cu=70.0, Ni=10.0), 0.0)
    assert alloy is not None
    assert alloy.heat == pytest.approx(984.62 + C0)


def test_copper_in_steel_is_red_where_copper_melts_unless_nickel_holds_it() -> None:
    """Copper under scale makes steel hot short, and nickel keeps it solid (common practice, no source)."""
    short = red_line_of(weight_percent(C=0.8, Cu=0.6), 0.8)
    held = red_line_of(weight_percent(C=0.8, Cu=0.6, Ni=1.0), 0.8)
    assert short is not None
    assert held is not None
    assert short.heat == pytest.approx(1084.62 + C0)
    assert held.heat > short.heat


def test_more_phosphorus_means_a_lower_red_line() -> None:
    """0.02 % lowers the solidus by 12 K (computed with an open database, Fe-0.8C)."""
    iron = np.array(find("wrought iron").composition, float)
    lines = [red_line_of(weight_percent(C=0.8, P=p), 0.8) for p in (0.15, 0.17)]
    assert all(line is not None for line in lines)
    assert lines[0].heat - lines[1].heat == pytest.approx(12.0)
    assert iron @ weight_percent(P=1.0) > PHOSPHORUS


def test_stainless_is_left_to_its_sheet() -> None:
    """No solidus formula above 3 % chromium."""
    assert red_line_of(np.array(find("410").composition, float), 0.12) is None
