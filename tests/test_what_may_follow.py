"""Which work may follow which. Source: what metal allows. A loose stack can only be warmed and welded; a round bar takes
no tool that needs flat faces; a bar drawn out to a blade or forged to bevels is no longer one block to cut, fold or draw.
Common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from billet.base.errors import InputError
from billet.ledger.run import run
from billet.recipe.read import build
from render.welds import between_pieces
from tests.making import NO_LOSSES, WELD

HOT = {"heat": "1050 C", "time": "1 min"}
HEATS: dict[str, dict[str, Any]] = {
    "heat": {"do": "heat", **HOT},
    "normalise": {"do": "normalise", "heat": "870 C", "time": "5 min"},
    "anneal": {"do": "anneal", "heat": "700 C", "time": "30 min"},
}
TRIM = {"do": "trim", "each_end": "2 mm"}
GRIND = {"do": "surface_grind", "top": "0.1 mm", "bottom": "0.1 mm"}
WORK: dict[str, dict[str, Any]] = {
    **HEATS,
    "weld": WELD,
    "trim": TRIM,
    "surface_grind": GRIND,
    "roll": {"do": "roll", "quarters": 1},
    "draw": {"do": "draw", **HOT, "thickness": "9 mm", "width": "12 mm"},
    "twist": {"do": "twist", "turns": 1},
    "restack": {"do": "restack", "pieces": 2},
    "ladder": {"do": "ladder", "pitch": "12 mm", "groove": "6 mm", "depth": "1 mm"},
}
BEFORE: dict[str, list[dict[str, Any]]] = {
    "a loose stack": [],
    "a round bar": [WELD, {"do": "twist", "turns": 1}],
    "a bar drawn out": [
        WELD,
        {"do": "draw_out", **HOT, "keep": "60 mm", "thickness": "8 mm", "width": "13 mm", "transition": "15 mm"},
    ],
    "a forged blade": [WELD, {"do": "forge_bevels", **HOT, "share": 0.5}],
}
ALLOWED = {
    "a loose stack": {"heat", "weld"},
    "a round bar": {*HEATS, "weld", "trim", "roll", "draw", "twist"},
    "a bar drawn out": {*HEATS, "trim", "surface_grind"},
    "a forged blade": {*HEATS, "trim", "surface_grind"},
}
SAID = {
    "a loose stack": "not welded",
    "a round bar": "still round",
    "a bar drawn out": "drawn out already",
    "a forged blade": "already forged to the shape",
}
BLADE = {"length": "90 mm", "heel_height": "12 mm"}


def made(state: str, work: str) -> None:
    bar = {"name": "a", "width": "14 mm", "length": "220 mm", "stack": ["1084 7 mm", "15N20 7 mm"]}
    steps = [*BEFORE[state], WORK[work]]
    run(build({"shop": NO_LOSSES, "bar": [{**bar, "step": steps}], "blade": BLADE}), diffuse=False)


@pytest.mark.parametrize("work", WORK)
@pytest.mark.parametrize("state", BEFORE)
def test_work_is_taken_or_refused_by_the_state_of_the_bar(state: str, work: str) -> None:
    if work in ALLOWED[state]:
        made(state, work)
        return
    with pytest.raises(InputError, match=SAID[state]):
        made(state, work)


LAYING_UP: dict[str, dict[str, Any]] = {
    "restack": WORK["restack"],
    "fold": {"do": "fold"},
    "grid_restack": {"do": "grid_restack", "grid": 2},
    "end_grain": {"do": "end_grain", "method": "tiles", "segment": "11 mm"},
    "split": {"do": "split", "drag": "2 mm", "reach": "5 mm"},
    "miter": {"do": "miter", "angle": "45 deg"},
}


@pytest.mark.parametrize("work", LAYING_UP)
def test_a_weld_after_pieces_were_laid_up_lies_between_pieces(work: str) -> None:
    """The first weld closes the plates of the stack, the second the pieces that were cut and laid together."""
    bar = {"name": "a", "width": "14 mm", "length": "220 mm", "stack": ["1084 7 mm", "15N20 7 mm"]}
    recipe = build({"shop": NO_LOSSES, "bar": [{**bar, "step": [WELD, LAYING_UP[work], WELD]}]})
    ledger = run(recipe, diffuse=False)
    assert [between_pieces(ledger, step) for step in (1, 3)] == [False, True]
