"""What grinding more on one side does to the pattern, in words. Sums by hand: a face that leans (2.5 - 0.3) / 2 over 48 mm
moves its lines by the shift over that; a core bears half of itself less half the edge of 0.3 less the shift.
"""

from __future__ import annotations

from typing import Any

import pytest

from billet.base.errors import InputError
from billet.grinding import Least, make_plan, on_blade, read_typed
from billet.grinding.grinding_text import as_json, bow_words, pattern_words, sum_of
from billet.grinding.least import scratch_depth
from billet.grinding.tolerance import core_thickness
from billet.ledger.run import run
from billet.recipe.read import build
from tests.making import NO_LOSSES, WELD
from tests.test_grinding import KNIVES

TAN = (2.5 - 0.3) / 2 / 48


def words(bow: float, side: str, core: float | None = None, units: str = "metric") -> list[str]:
    """Of a blade with the one reading, 3.2 mm thick at the heel and so much [mm] bowed."""
    knife = KNIVES["flat"]
    typed = read_typed(f"heel spine 3.2 mm bow {bow} mm {side}")
    return pattern_words(make_plan(on_blade([typed], knife), knife, Least(skin=0.0)), units, core)


@pytest.mark.parametrize(("bow", "told"), [(0.02, 0), (0.03, 1)])
def test_what_is_printed_as_nothing_is_not_told(bow: float, told: int) -> None:
    """Steps of 0.05 mm: under half a step the blade is as good as in the middle."""
    assert len(words(bow, "left")) == told


@pytest.mark.parametrize(("bow", "told"), [(0.4 * 0.0254, 0), (0.6 * 0.0254, 1)])
def test_nor_under_half_a_thou(bow: float, told: int) -> None:
    assert len(words(bow, "left", units="imperial")) == told


@pytest.mark.parametrize(
    ("side", "other", "left", "right"), [("left", "right", "up", "down"), ("right", "left", "down", "up")]
)
def test_a_bow_ground_straight_moves_the_lines_of_the_faces_apart(side: str, other: str, left: str, right: str) -> None:
    """More comes off the side it is bowed to, so the blade lies further over in the steel: 0.2 mm."""
    (said,) = words(0.2, side)
    far = f"{0.2 / TAN:.1f} mm"
    assert f"moves 0.20 mm {other} in the steel at heel spine" in said
    assert f"{far} {left} on the left, {far} {right} on the right" in said


@pytest.mark.parametrize(
    ("core", "says"),
    [(1.0, "bears 0.15 mm more to one side"), (0.5, "lies 0.10 mm too far aside, and the edge leaves it")],
)
def test_what_a_core_still_bears_is_told(core: float, says: str) -> None:
    """Half of 1.0 less 0.15 less 0.2 are 0.15; half of 0.5 is 0.10 short."""
    assert words(0.2, "left", core * 1e-3)[-1] == f"The core, {core:.2f} mm thick, {says}."


@pytest.mark.parametrize(
    ("metres", "units", "said"),
    [(0.02e-3, "metric", "straight"), (-0.1e-3, "metric", "0.10 mm left"), (2.54e-4, "imperial", "10 thou right")],
)
def test_a_bow_is_told_with_its_side(metres: float, units: str, said: str) -> None:
    """To the right is more than nothing."""
    assert bow_words(metres, units) == said


@pytest.mark.parametrize(("side", "left", "right"), [("right", 2, 3), ("left", 3, 2)])
def test_the_odd_step_comes_off_the_side_it_is_bowed_to(side: str, left: int, right: int) -> None:
    """2.75 mm where 2.5 is wanted: five steps of 0.05; a bow of 0.01 mm is too little to tell the sides apart."""
    knife = KNIVES["flat"]
    plan = make_plan(on_blade([read_typed(f"heel spine 2.75 mm bow 0.01 mm {side}")], knife), knife, Least(skin=0.0))
    found = sum_of(plan.stations[0], "metric")
    assert (found.left, found.right, found.even) == (left, right, True)


@pytest.mark.parametrize(("place", "missing"), [("spine", "edge"), ("edge", "spine")])
def test_a_line_nobody_measured_is_told_of(place: str, missing: str) -> None:
    knife = KNIVES["flat"]
    plan = make_plan(on_blade([read_typed(f"heel {place} 3.2 mm straight")], knife), knife)
    said = " ".join(n.say("metric") for n in plan.notes)
    assert f"nothing was measured along the {missing}" in said
    assert f"nothing was measured along the {place}" not in said


@pytest.mark.parametrize(("grit", "taken"), [(23, False), (24, True), (2500, True), (2501, False)])
def test_grits_are_those_of_coated_abrasives(grit: int, taken: bool) -> None:
    """P 24 to P 2500 of the FEPA series (from memory: it runs from P 12 to P 5000; a blade sees these)."""
    if taken:
        assert 0 < scratch_depth(grit) < 0.4e-3
        return
    with pytest.raises(InputError, match="from 24 to 2500"):
        scratch_depth(grit)


@pytest.mark.parametrize(
    ("least", "face"),
    [
        (Least(), 0.05e-3),
        (Least(grit=2500), 0.4 * 8.4e-6),
        (Least(skin=0.2e-3), 0.2e-3),
        (Least(scale=0.1e-3, grit=120), 0.1e-3),
        (Least(skin=0.0, grit=120), 0.05e-3),
    ],
)
def test_what_comes_off_each_face_at_least(least: Least, face: float) -> None:
    """Black faces lose their scale, 0.05 mm; ground ones their scratches, 0.4 of a grain (P 2500: 8.4, P 120: 125
    micrometres, from memory); a figure of one's own or told scale counts where it is more.
    """
    assert least.face == pytest.approx(face, rel=1e-6)


def test_other_tools_are_told_the_same_sums() -> None:
    """By hand: 3.2 mm at the heel, 2.5 wanted, bowed 0.2 to the left: 0.15 off the right, 0.55 off the left; lines move
    1 / tan for every millimetre, up on the left as they go down on the right; a core of 1 mm bears 0.15 more.
    """
    knife = KNIVES["flat"]
    plan = make_plan(
        on_blade([read_typed("heel spine 3.2 mm bow 0.2 mm left")], knife), knife, Least(skin=0.0, scale=0.0)
    )
    told = as_json(plan, "metric", 1e-3)
    (row,) = told["stations"]
    assert (row["remove_left_m"], row["remove_right_m"]) == pytest.approx((0.55e-3, 0.15e-3), abs=1e-9)
    assert (row["measured_m"], row["target_m"], row["final_m"]) == pytest.approx((3.2e-3, 2.5e-3, 2.5e-3), abs=1e-9)
    assert told["line_shift"] == pytest.approx({"left": 1 / TAN, "right": -1 / TAN}, rel=1e-3)
    assert (told["core_m"], told["core_bears_m"]) == pytest.approx((1e-3, 0.15e-3), abs=1e-9)
    assert (told["shortfall_m"], told["cost_m"], told["decided_by"]) == (0, 0, [])


@pytest.mark.parametrize(("joined", "share"), [(["side", "core", "side"], 2 / 8), (["side", "core"], None)])
def test_a_core_keeps_its_share_of_the_join(joined: list[str], share: float | None) -> None:
    """Two between three and three millimetres, drawn to half: a quarter of what is left; two bars have no middle."""
    size = {"width": "40 mm", "length": "400 mm", "step": []}
    bars: list[dict[str, Any]] = [
        {"name": "side", **size, "stack": ["1084 3 mm"]},
        {"name": "core", **size, "stack": ["W2 2 mm"]},
    ]
    bars[1]["length"] = "200 mm" if share else "400 mm"  # a bar named twice is cut in two
    draw = {"do": "draw", "heat": "1050 C", "time": "1 min", "thickness": "4 mm" if share else "2.5 mm"}
    bars.append({"name": "j", "join": joined, "as": "layers", "step": [WELD, draw]})
    found = core_thickness(run(build({"shop": NO_LOSSES, "bar": bars}), diffuse=False))
    assert found == (pytest.approx(share * 4e-3) if share else None)
