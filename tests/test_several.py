"""Several knives from one bar: laid along it, each previewed where it is cut from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.blade.handle import Whole
from billet.blade.lying import lying
from billet.blade.need import need
from billet.cli import app
from billet.ledger.recipe_warnings import each_holding, holding, of_recipe
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import build, load, plain
from billet.recipe.several import for_blade
from billet.where import look
from render.request import Request
from render.session import session

DEMO = Path("demo_billets/order.toml")
INTEGRAL = Path("demo_billets/integral.toml")
NAMES = ["slicer", "petty", "butter"]


@pytest.fixture(scope="module")
def order() -> Ledger:
    return run(load(DEMO))


def test_the_order_is_checked_without_a_warning(order: Ledger) -> None:
    assert [d.name for d in order.recipe.blades] == NAMES
    assert holding(order).enough
    assert [n.say("metric") for n in of_recipe(order)] == []
    assert [n.say("metric") for r in order.bars[0].rows for n in r.notes] == []


def test_the_knives_lie_behind_one_another_with_a_kerf_between(order: Ledger) -> None:
    """By hand: 230 + 85, 130 + 75 and 95 + 65 mm and two kerfs of 2: 684 mm, half of it either side of the middle."""
    spans = []
    for name in NAMES:
        blade = blade_of(for_blade(order.recipe, name))
        at = lying(blade, order.last)
        spans.append((at.heel_x - Whole(blade).behind, at.heel_x + blade.length))
    assert np.array(spans).ravel() * 1e3 == pytest.approx([-342, -27, -25, 180, 182, 342])
    assert holding(order).length.needed == pytest.approx(0.684)


def test_each_knife_is_drawn_where_it_is_cut_from(order: Ledger) -> None:
    """The drawing's surface begins at the place along the bar at which the knife lies."""
    for name in NAMES:
        ledger = Ledger(for_blade(order.recipe, name), order.bars)
        subject = session(ledger, Request()).subject
        assert subject.blade is not None
        assert subject.placement == lying(subject.blade, order.last)


def test_a_spot_of_the_second_knife_is_followed_from_its_own_place(order: Ledger) -> None:
    """100 mm ahead of the petty's heel lies 75 - 25 + 100 = 150 mm from the bar's middle; the row says it from the end."""
    found = look(Ledger(for_blade(order.recipe, "petty"), order.bars), "right", 0.1, 0.015)
    assert found.way[0].point[0] * 1e3 == pytest.approx(150.0, abs=0.2)


TWO = {"length": 0.1, "heel_height": 0.03}


def table(*blades: dict[str, Any]) -> dict[str, Any]:
    bar = {"name": "b", "width": 0.06, "length": 0.4, "stack": ["1084 4 mm"]}
    return {"version": 2, "bar": [bar], "blade": list(blades)}


@pytest.mark.parametrize(
    ("blades", "says"),
    [
        (({**TWO, "name": "a"}, TWO), "blade number 2 has no name"),
        (({**TWO, "name": "a"}, {**TWO, "name": "a"}), 'already is a blade "a"'),
        (({**TWO, "name": "a"}, {**TWO, "name": "b", "length": 0.02}), "heel height"),
    ],
)
def test_what_is_amiss_is_told(blades: tuple[dict[str, Any], ...], says: str) -> None:
    with pytest.raises(InputError, match=says):
        build(table(*blades), door=False)


def test_one_blade_in_a_list_is_that_blade() -> None:
    recipe = build(table(TWO), door=False)
    assert recipe.blades == ()
    assert recipe.tables.blade is not None
    assert recipe.tables.blade.length == 0.1


def test_an_unknown_blade_is_told(order: Ledger) -> None:
    with pytest.raises(InputError, match="slicer, petty, butter"):
        for_blade(order.recipe, "cleaver")


def test_a_bar_too_narrow_for_one_names_it() -> None:
    """A heel 80 mm high from a bar 60 mm wide."""
    wide = {"name": "wide", "length": 0.12, "heel_height": 0.08, "tang": {"kind": "none"}}
    found = holding(run(build(table({**TWO, "name": "a"}, wide), door=False)))
    assert not found.heel_height.enough
    assert found.heel_height.part == "wide"


def test_check_tells_every_blade_of_an_order_what_it_leaves(order: Ledger) -> None:
    """By hand: the bar's height less the blade's own, 42 less 36, 28 and 22 mm."""
    found = each_holding(order)
    heights = {
        d.name: order.last.width - need(blade_of(for_blade(order.recipe, d.name))).width for d in order.recipe.blades
    }
    assert {name: f.heel_height.surplus for name, f in found.items()} == pytest.approx(heights)
    told = CliRunner().invoke(app, ["check", str(DEMO)], catch_exceptions=False).stdout
    assert all(f"{name}: heel height" in told for name in ("slicer", "petty", "butter"))


@pytest.mark.parametrize("words", [["ledger", "--full"], ["grind", "--at", "heel spine 3.1 mm", "--no-record"]])
def test_one_blade_of_an_order_is_asked_for_by_name(words: list[str]) -> None:
    said = {
        name: CliRunner().invoke(app, [words[0], str(DEMO), "--blade", name, *words[1:]], catch_exceptions=False).stdout
        for name in ("slicer", "butter")
    }
    assert said["slicer"] != said["butter"]


@pytest.mark.parametrize(("thick", "warned"), [(2.0, True), (20.0, False)])
def test_a_bolster_thinner_than_its_blade_is_doubted(thick: float, warned: bool) -> None:
    table = plain(INTEGRAL.read_text("utf-8"), INTEGRAL)
    table["blade"]["bolster"]["thickness"] = f"{thick} mm"
    notes = [n.say() for n in of_recipe(run(build(table), diffuse=False))]
    assert any("a bolster no thicker than its blade" in text for text in notes) is warned
