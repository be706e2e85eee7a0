"""Stacks laid up by hand: every layer from bottom to top as a smith would write it down, for laminates and worked bars alike.

Source: plain arithmetic. Four unlike plates of 3, 1, 2 and 4 mm, 0.3 mm ground off each mating face, nothing lost to scale.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from billet.bar.bar import Bar, Worked
from billet.bar.measure import by_steel, measure
from billet.bar.outcome import Bench
from billet.bar.trace import layers_crossed, steel_at
from billet.base.errors import InputError
from billet.base.shop import Shop
from billet.ledger.run import run
from billet.recipe.read import build
from billet.steel.library import find
from tests.examples import as_worked, bench, marked, step

WELD = {"do": "weld", "heat": "1100 C", "time": "1 min"}
UNMARKED = {"do": "hammer", "mark": "15 mm", "depth": "0.000001 mm"}  # makes a worked bar and moves next to nothing
SHOP = {"scale_per_heat": "0 mm", "kerf": "2 mm", "face_cleanup": "0.3 mm", "end_trim": "5 mm"}
PLATES = ["1084 3 mm", "nickel 1 mm", "15N20 2 mm", "1095 4 mm"]
UP = [("1084", 3.0), ("nickel", 1.0), ("15N20", 2.0), ("1095", 4.0)]


def bar_of(steps: list[dict[str, Any]], worked: bool, join: list[Any] | None = None) -> Bar:
    first = [WELD, UNMARKED] if worked else [WELD]
    sizes = {"width": "40 mm", "length": "200 mm"}
    bars: list[dict[str, Any]] = [{"name": "a", **sizes, "stack": PLATES, "step": first + ([] if join else steps)}]
    if join:
        bars.append({"name": "b", **sizes, "length": "100 mm", "stack": ["O1 6 mm"]})
        bars.append({"name": "j", "join": join, "as": "layers", "step": steps})
    return run(build({"shop": SHOP, "bar": bars}), diffuse=False).last


def layers(bar: Bar) -> list[tuple[str, float]]:
    """Steel and thickness [mm] of every layer met on the way up, off the middle of the bar."""
    n = 40_001
    z = (np.arange(n) / (n - 1) - 0.5) * bar.thickness * (1 - 1e-9)
    steel = steel_at(bar, np.stack([np.full(n, 0.1 * bar.length), np.full(n, 0.1 * bar.width), z]))
    starts = np.r_[0, np.flatnonzero(steel[1:] != steel[:-1]) + 1]
    thick = np.diff(np.r_[starts, n - 1]) / (n - 1) * bar.thickness * 1e3
    return [(str(steel[k]), float(t)) for k, t in zip(starts, thick, strict=True)]


def ground(stack: list[tuple[str, float]], low: float = 0.0, high: float = 0.0) -> list[tuple[str, float]]:
    """A stack with so much [mm] off its lowest and its uppermost layer."""
    out = [*stack]
    out[0] = (out[0][0], out[0][1] - low)
    out[-1] = (out[-1][0], out[-1][1] - high)
    return out


CASES: dict[str, tuple[list[dict[str, Any]], list[Any] | None, list[tuple[str, float]]]] = {
    "restacked": ([{"do": "restack", "pieces": 2}, WELD], None, ground(UP, 0, 0.3) + ground(UP, 0.3, 0)),
    "with a spacer": (
        [{"do": "restack", "pieces": 2, "spacer": "O1 1 mm"}, WELD],
        None,
        [*ground(UP, 0, 0.3), ("O1", 1.0), *ground(UP, 0.3, 0)],
    ),
    "folded": ([{"do": "fold"}, WELD], None, [*UP[:3], ("1095", 7.4), *UP[2::-1]]),
    "every second turned": (
        [{"do": "restack", "pieces": 3, "turn": "alternate"}, WELD],
        None,
        [*UP[:3], ("1095", 7.4), *UP[2:0:-1], ("1084", 5.4), *UP[1:]],
    ),
    "turned over": ([{"do": "turn", "quarters": 2}], None, UP[::-1]),
    "ground": ([{"do": "surface", "top": "2 mm", "bottom": "1 mm"}], None, ground(UP, 1, 2)),
    "clad, the upper jacket turned over": (
        [WELD],
        ["a", "b", {"bar": "a", "turn": "over"}],
        [*ground(UP, 0, 0.3), ("O1", 5.4), *ground(UP, 0, 0.3)[::-1]],
    ),
}


@pytest.mark.parametrize("worked", [False, True], ids=["laminate", "worked"])
@pytest.mark.parametrize("name", CASES)
def test_the_layers_lie_as_they_were_laid(name: str, worked: bool) -> None:
    steps, join, wanted = CASES[name]
    found = layers(bar_of(steps, worked, join))
    assert [steel for steel, _ in found] == [steel for steel, _ in wanted]
    assert [t for _, t in found] == pytest.approx([t for _, t in wanted], abs=0.003)


def steels() -> dict[str, Any]:
    return {name: find(name) for name, _ in UP}


@pytest.mark.parametrize("worked", [False, True])
def test_what_is_measured_of_four_plates_is_what_they_add_up_to(worked: bool) -> None:
    """Shares and carbon by mass, spread of contents by thickness as its standard deviation, all summed by hand; a worked
    bar is sampled: within 3 %.
    """
    bar, known = bar_of([], worked), steels()
    found, rel = measure(bar), 0.03 if worked else 1e-9
    thick = np.array([t for _, t in UP])
    mass = thick * [known[n].density for n, _ in UP]
    carbon = np.array([known[n].carbon for n, _ in UP])
    content = np.array([known[n].composition for n, _ in UP])
    assert found.distinct == 4
    assert (found.mean_layer, found.layers_per_m) == pytest.approx((2.5e-3, 400.0), rel=1e-3)
    assert found.shares == pytest.approx(dict(zip(known, mass / mass.sum(), strict=True)), rel=rel)
    assert found.carbon == pytest.approx(mass @ carbon / mass.sum(), rel=rel)
    off = content - thick @ content / 10
    variance = thick @ off**2 / 10
    assert found.carbon_deviation == pytest.approx(np.sqrt(variance[0]), rel=rel)
    assert found.alloy_deviation == pytest.approx(np.sqrt(variance[1:].sum()), rel=rel)
    assert found.carbon_contrast == pytest.approx(1.0, rel=rel)
    assert found.alloy_contrast == pytest.approx(1.0, rel=rel)
    each = {one.steel.name: (one.share, one.composition) for one in by_steel(bar)}
    assert {name: share for name, (share, _) in each.items()} == pytest.approx(found.shares, rel=rel)
    assert all(np.allclose(composition, known[name].composition) for name, (_, composition) in each.items())


@pytest.mark.parametrize("along", [False, True])
def test_lines_along_the_face_are_the_layers_that_come_up_there(along: bool) -> None:
    """A stack stood on its end shows its four layers once along the face, in 98 hundredths of the length looked at; one
    that lies flat shows a single one.
    """
    bar = bar_of([{"do": "upend"}] if along else [], True)
    lines = measure(bar).lines_per_m
    assert lines is not None
    assert lines * 0.98 * bar.length == pytest.approx(4 if along else 1)


@pytest.mark.parametrize(("up_to", "layers"), [(2.9, 1), (3.1, 2), (5.9, 3), (6.1, 4), (9.9, 4)])
def test_a_line_crosses_the_layers_between_its_ends_and_no_others(up_to: float, layers: int) -> None:
    """From the bottom face up to so many millimetres."""
    bar = bar_of([], False)
    start, end = (np.array([0.0, 0.0, (up - 5.0) * 1e-3]) for up in (0.1, up_to))
    assert layers_crossed(bar, start, end) == layers


@pytest.mark.parametrize(
    ("pieces", "each", "taken"), [(2, 0.99, True), (2, 1.01, False), (3, 0.49, True), (3, 0.51, False)]
)
def test_what_the_cleanup_would_grind_away_whole_is_not_restacked(pieces: int, each: float, taken: bool) -> None:
    """Pieces inside a stack of three lose metal on both faces, the outer two of any stack on one: 1 mm of plate in all."""
    bar = {"name": "a", "width": "40 mm", "length": "200 mm", "stack": ["1084 1 mm"]}
    step = {"do": "restack", "pieces": pieces}
    recipe = build({"shop": {**SHOP, "face_cleanup": f"{each} mm"}, "bar": [{**bar, "step": [step]}]})
    if taken:
        assert run(recipe, diffuse=False).last.thickness == pytest.approx((pieces - 2 * (pieces - 1) * each) * 1e-3)
        return
    with pytest.raises(InputError, match="leaves nothing"):
        run(recipe, diffuse=False)


def test_hollows_that_stay_are_counted_as_if_they_were_full() -> None:
    """One steel, ground less than the dies went in: what is left is a plate of the thickness asked for."""
    pressed = {"do": "ladder", "method": "pressed", "pitch": "12 mm", "groove": "6 mm", "depth": "3 mm"}
    bar = {"name": "a", "width": "40 mm", "length": "120 mm", "stack": ["1084 9 mm"]}
    recipe = build({"shop": SHOP, "bar": [{**bar, "step": [{**pressed, "thickness_after": "8 mm"}]}]})
    after = run(recipe, diffuse=False).last
    assert after.mass == pytest.approx(find("1084").density * 0.12 * 0.04 * 8e-3, rel=1e-4)


def test_how_deep_the_hollows_stay_is_told() -> None:
    """Dies three deep in nine: raised cosines six wide every twelve take 0.75 on the mean, and as much the ridges rise,
    so the floors lie 3 - 0.75 under the old faces and 4.5 would be clean; ground to 8 they stay (8 - 4.5) / 2 deep.
    """
    text = (
        'do = "ladder"\nmethod = "pressed"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "3 mm"\nthickness_after = "8 mm"'
    )
    (said,) = (n.say("metric") for n in step(text).apply(marked(), bench()).notes if "remain" in n.say("metric"))
    assert "up to 1.75 mm deep" in said
    assert "4.50 mm or less" in said


@pytest.mark.parametrize("pieces", [2, 3, 4])
def test_pieces_come_from_where_they_were_sawn(pieces: int) -> None:
    """Lengths and kerfs in turn from the one end: the middle of each piece is the middle of its part of the bar."""
    shop = Bench(Shop.model_validate({**SHOP, "end_trim": "0 mm", "face_cleanup": "0 mm"}, context={"door": True}))
    bar = as_worked(marked())
    by = step(f'do = "restack"\npieces = {pieces}').apply(bar, shop).bar.material
    assert isinstance(by, Worked)
    each = (bar.length - (pieces - 1) * 2e-3) / pieces
    middles = [-0.5 * bar.length + k * (each + 2e-3) + 0.5 * each for k in range(pieces)]
    heights = (np.arange(pieces) - 0.5 * (pieces - 1)) * bar.thickness
    back = by.map.backward(np.stack([np.zeros(pieces), np.zeros(pieces), heights])).points
    np.testing.assert_allclose(back[0], middles, rtol=0, atol=1e-12)
    np.testing.assert_allclose(back[2], 0.0, rtol=0, atol=1e-12)


@pytest.mark.parametrize(("segment", "told"), [("50 mm", 1), ("70 mm", 0)])
def test_slices_that_do_not_go_on_are_told_of(segment: str, told: int) -> None:
    """Of a bar of 120 mm: two slices of 50, of which one stays, or one of 70, and no other to tell of."""
    notes = step(f'do = "end_grain"\nmethod = "slices"\nsegment = "{segment}"').apply(marked(), bench()).notes
    assert sum("counted as trim" in n.say("metric") for n in notes) == told


@pytest.mark.parametrize(
    ("steps", "layers"),
    [
        ([], 4),
        ([{"do": "roll", "quarters": 2}], 4),
        ([{"do": "restack", "pieces": 2}, WELD], 8),
        ([{"do": "fold"}, WELD], 7),
        ([{"do": "roll", "quarters": 1}], None),
        ([{"do": "upend"}], None),
    ],
)
def test_layers_on_one_another_are_counted_and_others_are_not(steps: list[dict[str, Any]], layers: int | None) -> None:
    """A worked bar of four unlike plates: restacked 4 + 4, folded one meets itself; on edge or on end none lie on others."""
    assert measure(bar_of(steps, True)).distinct == layers
