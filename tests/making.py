"""Recipes made from short words, for the tests."""

from __future__ import annotations

from typing import Any

from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import build

NO_LOSSES: dict[str, Any] = {
    "scale_per_heat": "0 mm",
    "kerf": "0 mm",
    "face_cleanup": "0 mm",
    "end_trim": "0 mm",
    "press_opening": "2 m",
    "fire_length": "1 km",
}
WELD = {"do": "weld", "heat": "1150 C", "time": "5 min"}


def steps_of(*words: dict[str, Any]) -> list[dict[str, Any]]:
    """Steps as plain tables."""
    return list(words)


def recipe_data(stack: list[str], steps: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    """The plain data of a recipe with one bar, welded first."""
    bar = {"name": "billet", "width": "50 mm", "length": "400 mm", "stack": stack, "step": [WELD, *steps]}
    for key in ("repeat", "cap", "uneven", "seed", "width", "length"):
        if key in more:
            bar[key] = more.pop(key)
    return {"title": "test", "shop": NO_LOSSES, "bar": [bar], **more}


def ledger_of(stack: list[str], steps: list[dict[str, Any]], *, diffuse: bool = False, **more: Any) -> Ledger:
    """Run a recipe with one bar."""
    return run(build(recipe_data(stack, steps, **more)), diffuse=diffuse)


def alternating(plates: int, dark: str = "1084 2 mm", bright: str = "15N20 2 mm") -> list[str]:
    """Plates of two steels in turn, the dark one lowest."""
    return [dark if k % 2 == 0 else bright for k in range(plates)]
