"""Recipes that the tests and benchmarks of the pictures share; every stack carries one off-centre plate of a third
steel.
"""

from __future__ import annotations

from typing import Any

from billet.bar.bar import Bar
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import build

WELD = {"do": "weld", "heat": "1150 C", "time": "8 min"}
SHOP = {"scale_per_heat": "0 mm", "face_cleanup": "0.2 mm", "end_trim": "4 mm", "kerf": "2 mm"}
BLADE = {
    "length": "210 mm",
    "heel_height": "48 mm",
    "spine": {"heel": "2.5 mm", "middle": "2.0 mm", "tip": "0.9 mm"},
    "edge": {"hardening": "0.7 mm", "finished": "0.3 mm"},
    "tang": {"kind": "stick", "length": "60 mm"},
}


def draw(thickness: str, width: str) -> dict[str, Any]:
    """A draw, as a table."""
    return {"do": "draw", "thickness": thickness, "width": width, "heat": "1100 C", "time": "3 min"}


def stack(pairs: int, **more: Any) -> dict[str, Any]:
    """A bar of so many pairs of plates; 30 % up, one bright plate is of A203E."""
    plates = ["1084 2.4 mm", "15N20 1.2 mm"] * pairs
    plates[2 * (3 * pairs // 10) + 1] = "A203E 1.2 mm"
    return {
        "name": "billet",
        "width": "50 mm",
        "length": "55 mm",
        "stack": plates,
        "cap": "1084 2.4 mm",
        "uneven": 0.08,
        **more,
    }


def restack(pieces: int, thickness: str, width: str) -> dict[str, Any]:
    """A restack with its weld and draw."""
    return {
        "do": "restack",
        "pieces": pieces,
        "weld": {k: v for k, v in WELD.items() if k != "do"},
        "draw": {k: v for k, v in draw(thickness, width).items() if k != "do"},
    }


LADDER_STEP = {"do": "ladder", "pitch": "12 mm", "groove": "6 mm", "depth": "2 mm"}
RAINDROP_STEP = {"do": "raindrop", "across": "8 mm", "depth": "1.6 mm", "spacing": "12 mm", "seed": 4}
HAMMER_STEP = {"do": "hammer", "mark": "22 mm", "depth": "0.25 mm", "seed": 2}


def _recipe(title: str, *bars: dict[str, Any], blade: dict[str, Any] = BLADE) -> dict[str, Any]:
    return {"title": title, "shop": SHOP, "bar": list(bars), "blade": blade}


def ladder() -> dict[str, Any]:
    """About a hundred layers, laddered."""
    return _recipe(
        "Ladder",
        stack(
            9, step=[WELD, draw("15 mm", "50 mm"), restack(5, "8 mm", "50 mm"), LADDER_STEP, draw("3.2 mm", "54 mm")]
        ),
    )


def twist() -> dict[str, Any]:
    """Three twisted bars side by side, hands alternating."""
    one = {
        "width": "30 mm",
        "length": "60 mm",
        "stack": ["1084 2.4 mm", "15N20 1.2 mm", "A203E 1.2 mm"],
        "repeat": 3,
        "cap": "1084 2.4 mm",
        "uneven": 0.08,
    }
    hands = {"a": "right", "b": "left", "c": "right"}
    bars = [
        {
            "name": n,
            **one,
            "step": [WELD, draw("14 mm", "14 mm"), {"do": "twist", "turns": 8.0, "hand": h}, draw("12 mm", "12 mm")],
        }
        for n, h in hands.items()
    ]
    joined = {"name": "billet", "join": list(hands), "as": "side by side", "step": [WELD, draw("4 mm", "54 mm")]}
    return _recipe("Three twisted bars", *bars, joined)


def raindrop() -> dict[str, Any]:
    """Raindrop over a hammered bar."""
    return _recipe(
        "Raindrop",
        stack(
            9,
            step=[
                WELD,
                draw("15 mm", "50 mm"),
                restack(4, "7 mm", "50 mm"),
                HAMMER_STEP,
                RAINDROP_STEP,
                draw("3.2 mm", "54 mm"),
            ],
        ),
    )


def seamed() -> dict[str, Any]:
    """Laddered first, restacked afterwards: the welds cut the pattern."""
    first = [
        WELD,
        draw("12 mm", "50 mm"),
        LADDER_STEP,
        {"do": "restack", "pieces": 3, "turn": "alternate"},
        WELD,
        draw("3.2 mm", "54 mm"),
    ]
    return _recipe("Ladder, restacked", stack(9, length="70 mm", step=first))


def laminate(layers: int = 41) -> dict[str, Any]:
    """Plain equal layers, drawn to 3.2 mm."""
    plates = ["1084 1 mm", "15N20 1 mm"]
    times = 5 if layers % 10 == 0 else 1
    bar = {
        "name": "billet",
        "width": "54 mm",
        "length": "150 mm",
        "stack": plates * times,
        "repeat": layers // 2 // times,
        "step": [WELD, draw("3.2 mm", "54 mm")],
    }
    return _recipe(f"{layers} layers", {**bar, **({"cap": plates[0]} if layers % 2 else {})})


RECIPES = {"ladder": ladder, "twist": twist, "raindrop": raindrop, "seamed": seamed}


def ledger_of(data: dict[str, Any]) -> Ledger:
    """A recipe's data run forwards without diffusion, so that layers keep their sharp borders."""
    return run(build(data), diffuse=False)


def bar_of(data: dict[str, Any]) -> Bar:
    """The last bar of a recipe's data."""
    return ledger_of(data).last
