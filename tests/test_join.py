"""Bars joined into one. Source: what the words say (bottom to top, side by side from the edge side, over, end for end),
and hand counts of what is cut and ground away."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from billet.bar.bar import Bar, Joined
from billet.bar.trace import seams, steel_at, trace
from billet.base.errors import InputError
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import build
from tests.making import NO_LOSSES, WELD, alternating

MARKED = ["1084 4 mm", "52100 2 mm", "15N20 6 mm"]  # 12 mm; the mark 4 to 6 mm up
SQUARE = {"width": "12 mm", "length": "200 mm"}
HOT = {"heat": "1100 C", "time": "1 min"}


def bar(name: str, stack: list[str], *steps: dict[str, Any], **size: str) -> dict[str, Any]:
    return {"name": name, "stack": stack, "step": [WELD, *steps], **{**SQUARE, **size}}


def joined(
    *bars: dict[str, Any], join: list[Any], how: str, steps: tuple[dict[str, Any], ...] = (WELD,), **shop: str
) -> Ledger:
    last = {"name": "blade bar", "join": join, "as": how, "step": list(steps)}
    return run(build({"shop": {**NO_LOSSES, **shop}, "bar": [*bars, last]}), diffuse=False)


def steels(bar: Bar, axis: str, at: float = 0.0) -> list[str]:
    """Steels met along the height or the width of a bar, neighbours of one steel once."""
    s = np.linspace(-0.4999, 0.4999, 5001)
    across = {"z": [0 * s, 0 * s + at, s * bar.thickness], "y": [0 * s, s * bar.width, 0 * s + at]}[axis]
    names = steel_at(bar, np.stack(across))
    return [str(n) for n in names[np.r_[True, names[1:] != names[:-1]]]]


def test_layers_are_listed_bottom_to_top() -> None:
    bars = [bar("low", ["1084 5 mm"]), bar("core", ["O1 3 mm"]), bar("high", ["15N20 5 mm"])]
    last = joined(*bars, join=["low", "core", "high"], how="layers").last
    assert steels(last, "z") == ["1084", "O1", "15N20"]
    assert last.thickness == pytest.approx(0.013)
    assert last.laminate is not None and last.laminate.distinct == 3


def test_side_by_side_is_listed_from_the_edge_side() -> None:
    bars = [
        bar("edge", ["1084 12 mm"]),
        bar("middle", ["O1 12 mm"], width="8 mm"),
        bar("back", ["15N20 12 mm"], width="10 mm"),
    ]
    last = joined(*bars, join=["edge", "middle", "back"], how="side by side").last
    assert steels(last, "y") == ["1084", "O1", "15N20"]
    assert (last.width, last.thickness, last.length) == pytest.approx((0.030, 0.012, 0.2))
    np.testing.assert_allclose(last.material.faces, [-0.015, -0.003, 0.005, 0.015], atol=1e-15)


def test_seams_lie_between_the_bars() -> None:
    last = joined(bar("a", MARKED), bar("b", MARKED, width="8 mm"), join=["a", "b"], how="side by side").last
    points = np.array([[0, 0], [0.002, 0.003], [0, 0]])
    by_step = {s.step: s.distance for s in seams(last.material, points)}
    np.testing.assert_allclose(by_step[200_001], [0.0, 0.001], atol=1e-15)  # third bar, step 1: the weld after the join


@pytest.mark.parametrize(
    ("turn", "names"),
    [
        (None, ["1084", "52100", "15N20"]),
        ("over", ["15N20", "52100", "1084"]),
        ("end for end", ["1084", "52100", "15N20"]),
    ],
)
@pytest.mark.parametrize("how", ["layers", "side by side"])
def test_over_turns_a_bar_upside_down_and_end_for_end_does_not(turn: str | None, names: list[str], how: str) -> None:
    item = {"bar": "b", "turn": turn} if turn else "b"
    last = joined(bar("a", ["O1 12 mm"]), bar("b", MARKED), join=["a", item], how=how).last
    met = steels(last, "z", 0.006) if how == "side by side" else steels(last, "z")[1:]
    assert met == names


def sloping(turn: str | None, how: str) -> Bar:
    """A twisted bar, the same in none of its views, joined to a plain one."""
    item = {"bar": "b", "turn": turn} if turn else "b"
    twisted = bar(
        "b",
        MARKED,
        {"do": "twist", "turns": 0.7, "corners": 0.2},
        {"do": "draw", "thickness": "11 mm", "width": "11 mm", **HOT},
    )
    return joined(twisted, bar("a", ["O1 11 mm"], width="11 mm", length="218 mm"), join=["a", item], how=how).last


@pytest.mark.parametrize(("turn", "signs"), [("over", (1, -1, -1)), ("end for end", (-1, -1, 1))])
@pytest.mark.parametrize("how", ["layers", "side by side"])
def test_turned_bars_are_rolled_about_their_axes_and_never_reflected(
    turn: str, signs: tuple[int, int, int], how: str
) -> None:
    plain, turned = sloping(None, how), sloping(turn, how)
    assert np.prod(signs) == 1
    x, y, z = np.random.default_rng(4).uniform(-0.49, 0.49, (3, 2000)) * np.array([[plain.length], [0.011], [0.011]])
    assert isinstance(plain.material, Joined) and isinstance(turned.material, Joined)
    here = trace(turned.material.parts[1], x, y, z).z
    there = trace(plain.material.parts[1], signs[0] * x, signs[1] * y, signs[2] * z).z
    np.testing.assert_allclose(here, there, atol=1e-12)


def test_opposite_hands_side_by_side_mirror_one_another_in_the_joint() -> None:
    """Bars of opposite hand, else alike: a chevron. Each line meets its mirror image in the joint's plane when the
    stack is even to both sides."""
    stack = ["1084 2 mm", "15N20 4 mm", "1084 2 mm"]
    square = {"do": "draw", "thickness": "7 mm", "width": "7 mm", **HOT}
    a = bar("a", stack, {"do": "twist", "turns": 3, "hand": "right"}, square, width="8 mm")
    b = {"name": "b", "like": "a", "step": [WELD, {"do": "twist", "turns": 3, "hand": "left"}, square]}
    last = joined(a, b, join=["a", "b"], how="side by side").last
    x, y, z = np.random.default_rng(6).uniform(0, 1, (3, 3000))
    points = np.stack([(x - 0.5) * last.length, 0.499 * y * last.width, (z - 0.5) * last.thickness])
    mirrored = points * np.array([[1], [-1], [1]])
    assert (steel_at(last, points) == steel_at(last, mirrored)).mean() > 0.999
    assert len(set(steel_at(last, points))) == 2


def test_a_bar_named_several_times_is_cut_into_equal_lengths() -> None:
    """200 mm in three with two cuts of 2.5 mm: 65 mm each, from the -x end on."""
    last = joined(bar("a", MARKED), join=["a", "a", "a"], how="side by side", kerf="2.5 mm").last
    assert (last.length, last.width) == (pytest.approx(0.065), pytest.approx(0.036))
    assert steels(last, "z", 0.001) == ["1084", "52100", "15N20"]


def test_the_pieces_of_a_bar_come_from_one_end_to_the_other() -> None:
    last = joined(
        bar("a", MARKED, {"do": "turn", "quarters": 1}), join=["a", "a", "a"], how="side by side", kerf="2.5 mm"
    ).last
    assert isinstance(last.material, Joined)
    places = [part.map.pull(*np.zeros((3, 1))).x[0] for part in last.material.parts]
    np.testing.assert_allclose(places, [-0.0675, 0.0, 0.0675], atol=1e-15)


def test_clad_both_sides_from_one_bar() -> None:
    last = joined(
        bar("jacket", ["15N20 4 mm"], length="402 mm"),
        bar("core", ["O1 4 mm"]),
        join=["jacket", "core", "jacket"],
        how="layers",
        kerf="2 mm",
    ).last
    assert steels(last, "z") == ["15N20", "O1", "15N20"]
    assert last.length == pytest.approx(0.2)


@pytest.mark.parametrize("how", ["layers", "side by side"])
def test_lengths_and_mating_sizes_are_cut_to_the_smallest(how: str) -> None:
    stack = ["1084 11 mm"] if how == "side by side" else MARKED
    small = bar("b", stack, width="11 mm", length="190 mm")
    last = joined(bar("a", MARKED), small, join=["a", "b"], how=how).last
    across = last.thickness if how == "side by side" else last.width
    assert (last.length, across) == (pytest.approx(0.19), pytest.approx(0.011))


@pytest.mark.parametrize(
    ("size", "how", "what"),
    [
        ({"length": "159 mm"}, "layers", "length"),
        ({"length": "159 mm"}, "side by side", "length"),
        ({"width": "9.5 mm"}, "layers", "width"),
    ],
)
def test_bars_more_than_a_fifth_unequal_are_refused(size: dict[str, str], how: str, what: str) -> None:
    with pytest.raises(InputError, match=f"differ too much in {what}"):
        joined(bar("a", MARKED), bar("b", MARKED, **size), join=["a", "b"], how=how)


def test_side_by_side_bars_of_very_unequal_thickness_are_refused() -> None:
    with pytest.raises(InputError, match="differ too much in thickness"):
        joined(bar("a", MARKED), bar("b", ["1084 9.5 mm"]), join=["a", "b"], how="side by side")


def test_bars_less_than_a_fifth_unequal_are_joined() -> None:
    assert joined(
        bar("a", MARKED), bar("b", MARKED, length="161 mm"), join=["a", "b"], how="layers"
    ).last.length == pytest.approx(0.161)


@pytest.mark.parametrize("how", ["layers", "side by side"])
@pytest.mark.parametrize("turn", [None, "over", "end for end"])
def test_mass_closes(how: str, turn: str | None) -> None:
    item = {"bar": "b", "turn": turn} if turn else "b"
    shop = {"kerf": "2 mm", "face_cleanup": "0.4 mm"}
    unequal = bar("b", alternating(5, "1084 2.2 mm", "15N20 2.2 mm"), width="11 mm", length="180 mm")
    ledger = joined(
        bar("a", MARKED, length="380 mm"), unequal, join=["a", item, "a"], how=how, steps=(WELD, {"do": "turn"}), **shop
    )
    put_in = sum(r.last.mass for r in ledger.bars[:2])
    row = ledger.bars[2].rows[0]
    assert row.bar.mass + row.lost.total == pytest.approx(put_in, rel=1e-12)
    assert row.lost.kerf > 0 and row.lost.cleanup > 0 and row.lost.trim > 0
    shares = ledger.bars[2].rows[-1].measures.shares
    assert shares["52100"] == pytest.approx(row.measures.shares["52100"], abs=0.012)


def test_mating_faces_are_ground_and_outer_faces_left() -> None:
    """Three bars 12 mm wide with 0.4 mm off each mating face: 11.6, 11.2 and 11.6."""
    last = joined(
        bar("a", MARKED),
        bar("b", MARKED),
        bar("c", MARKED),
        join=["a", "b", "c"],
        how="side by side",
        face_cleanup="0.4 mm",
    ).last
    np.testing.assert_allclose(np.diff(last.material.faces), [0.0116, 0.0112, 0.0116], atol=1e-12)


def test_layers_counted_are_those_of_all_bars() -> None:
    ledger = joined(
        bar("a", MARKED), bar("b", alternating(7, "1084 2 mm", "15N20 1.5 mm")), join=["a", "b"], how="layers"
    )
    assert ledger.last.layers_counted == 10


def test_a_join_is_open_until_it_is_welded() -> None:
    with pytest.raises(InputError, match="stacked but not welded"):
        joined(bar("a", MARKED), bar("b", MARKED), join=["a", "b"], how="side by side", steps=({"do": "turn"},))


def test_a_bar_that_is_not_welded_cannot_be_joined() -> None:
    loose = {"name": "a", "stack": MARKED, "step": [], **SQUARE}
    with pytest.raises(InputError, match='bar "a" is stacked but not welded'):
        joined(loose, bar("b", MARKED), join=["a", "b"], how="layers")


def test_a_single_plate_needs_no_weld() -> None:
    core = {"name": "core", "stack": ["O1 4 mm"], "step": [], **SQUARE}
    assert steels(joined(bar("a", ["1084 4 mm"]), core, join=["a", "core"], how="layers").last, "z") == ["1084", "O1"]


@pytest.mark.parametrize(
    ("join", "words"),
    [
        (["a", "blade bar"], "names itself"),
        (["a", "nobody"], 'there is no bar "nobody"'),
        ([{"bar": "a", "turn": "sideways"}], "flip"),
    ],
)
def test_joins_that_name_the_wrong_bar_are_refused(join: list[Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        joined(bar("a", MARKED), join=join, how="layers")
