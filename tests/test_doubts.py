"""What a smith would doubt in a ledger or a warning, and what is right instead."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from billet.ledger.run import run
from billet.recipe.read import build, load
from billet.steps.bulge import Barrelled
from tests.making import WELD, alternating, ledger_of, recipe_data


def words(*, stack: list[str], steps: list[dict[str, Any]]) -> str:
    """All that is said of a recipe."""
    book = ledger_of(stack, steps)
    return " ".join(n.say("metric") for b in book.bars for r in b.rows for n in r.notes)


def test_only_a_pile_can_tip() -> None:
    """A split block is laid together side by side; a restacked one lies loose on its joints."""
    split = {"do": "split", "drag": "4 mm", "reach": "12 mm"}
    assert "will tip" not in words(
        stack=alternating(25),
        steps=[{"do": "draw", "thickness": "48 mm", "width": "40 mm", "heat": "1100 C", "time": "3 min"}, split],
    )
    assert "will tip" in words(stack=alternating(15), steps=[{"do": "restack", "pieces": 2}])


def test_faces_ground_to_less_than_a_layer_make_no_bold_line() -> None:
    """Two 2 mm faces of one steel make 4 mm; with 1.2 mm ground off each, 1.6 mm, less than one plate."""
    steps = [{"do": "restack", "pieces": 2}]
    assert "one bold layer" in words(stack=alternating(9), steps=steps)
    data = recipe_data(alternating(9), steps)
    data["shop"] = {**data["shop"], "face_cleanup": "1.2 mm"}
    assert "one bold layer" not in " ".join(
        n.say("metric") for r in run(build(data), diffuse=False).bars[0].rows for n in r.notes
    )


@pytest.mark.parametrize(
    ("spacer", "bold"),
    [("1084 2 mm", True), ("15N20 2 mm", False), ("1084 0.2 mm", False)],
    ids=["its own steel", "the other steel", "too thin to stand out"],
)
def test_a_spacer_of_the_faces_own_steel_makes_a_bold_layer(spacer: str, bold: bool) -> None:
    """Faces of 1084 on both sides: with a plate of 1084 between them three layers of one steel become one. Ground by
    0.9 mm, 2 mm plates leave 1.1 mm each: 2.4 mm with a 0.2 mm plate is no more than 1.3 times 2 mm."""
    data = recipe_data(alternating(9), [{"do": "restack", "pieces": 2, "spacer": spacer}])
    data["shop"] = {**data["shop"], "face_cleanup": "0.9 mm"}
    said = " ".join(n.say("metric") for r in run(build(data), diffuse=False).bars[0].rows for n in r.notes)
    assert ("one bold layer" in said) == bold


def test_a_reliefs_picture_is_looked_for_beside_its_recipe(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Image.fromarray(np.tile(np.linspace(0, 255, 16).astype("uint8"), (16, 1))).save(tmp_path / "slope.png")
    bar = 'name = "b"\nwidth = "40 mm"\nlength = "60 mm"\nstack = ["1084 8 mm"]'
    step = 'do = "relief"\nimage = "slope.png"\ndepth = "1 mm"\nfaces = "top"'
    (tmp_path / "knife.toml").write_text(f"[[bar]]\n{bar}\n[[bar.step]]\n{step}\n", encoding="utf-8")
    monkeypatch.chdir("/")
    assert run(load(tmp_path / "knife.toml")).last.thickness == pytest.approx(7e-3, rel=0.02)


def test_bars_side_by_side_have_no_count_of_layers_through_the_middle() -> None:
    """Once bars lie beside one another no one line through the thickness stands for all."""
    one = {"width": "20 mm", "length": "90 mm", "stack": alternating(7), "step": [WELD]}
    data = {
        "bar": [
            {"name": "a", **one},
            {"name": "b", **one},
            {"name": "c", "join": ["a", "b"], "as": "side by side", "step": [WELD]},
        ]
    }
    assert run(build(data), diffuse=False).bars[-1].rows[-1].measures.distinct is None


def test_a_forged_blade_has_no_more_layers_than_its_bar() -> None:
    """Forging to shape loses none and gains none."""
    blade = {"length": "90 mm", "heel_height": "30 mm", "tang": {"kind": "none"}}
    book = ledger_of(
        alternating(9, "1084 0.5 mm", "15N20 0.5 mm"),
        [{"do": "shape", "share": 1}],
        length="150 mm",
        width="40 mm",
        blade=blade,
    )
    assert [r.measures.distinct for r in book.bars[0].rows] == [9, 9, 9]


def test_layers_stood_on_end_are_not_stacked() -> None:
    """Tiles laid end to end multiply no layers; the trade counts plates times pieces on one another."""
    book = ledger_of(alternating(9), [{"do": "end_grain", "by": "tiles", "segment": "20 mm"}])
    assert book.last.layers_counted == 9


def test_points_past_a_bulged_section_stay_finite() -> None:
    """A picture's border asks past the metal; what comes back is masked, but must be a number."""
    by = Barrelled(0.03, 0.03, 0.7)
    far = np.array([0.0, 0.02, -0.3])
    back = by.pull(far, far, far)
    assert np.isfinite([back.y, back.z]).all()
    assert replace(by, amount=2.5).pull(far, far, far).y == pytest.approx([0.0, 0.015, -0.015], abs=1e-3)


@pytest.mark.parametrize(("heat", "doubted"), [("900 C", True), ("1000 C", True), ("1150 C", False), ("1100 C", False)])
def test_a_cool_weld_is_doubted(heat: str, doubted: bool) -> None:
    """Makers' pages weld plain steel at 2100 to 2300 F, 1150 to 1260 C; 900 C is an orange at which nothing joins."""
    said = words(stack=alternating(9), steps=[{"do": "weld", "heat": heat, "time": "10 min"}])
    assert ("cool for a forge weld" in said) == doubted


def test_a_cool_draw_is_no_weld() -> None:
    """Drawing out at 900 C is everyday work."""
    draw = {"do": "draw", "thickness": "10 mm", "width": "40 mm", "heat": "900 C", "time": "3 min"}
    assert "forge weld" not in words(
        stack=alternating(9), steps=[{"do": "weld", "heat": "1150 C", "time": "10 min"}, draw]
    )
