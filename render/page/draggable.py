"""What can be dragged: the numbers of a knife that change its picture, each with its range, in the recipe's units."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from typing import Any

from billet.blade.bevels import KINDS
from billet.blade.design import BladeDesign
from billet.recipe.recipe import Recipe

_UNIT = {  # the unit a number is dragged in, its size [SI], the step of a drag
    ("metric", "fine"): ("mm", 1e-3, 0.05),
    ("metric", "long"): ("mm", 1e-3, 0.5),
    ("imperial", "fine"): ("thou", 25.4e-6, 1.0),
    ("imperial", "long"): ("in", 25.4e-3, 0.02),
    ("metric", "plain"): ("", 1.0, 0.25),
    ("imperial", "plain"): ("", 1.0, 0.25),
    ("metric", "angle"): ("deg", math.pi / 180, 3.0),
    ("imperial", "angle"): ("deg", math.pi / 180, 3.0),
}
_STEPS = {  # numbers of the steps that move the pattern: name, words, kind, greatest in times what it is
    "twist": (("turns", "turns of the twist", "plain", 3.0),),
    "ladder": (("depth", "depth of the grooves", "fine", 2.5), ("pitch", "groove to groove", "long", 2.5), ("groove", "width of a groove", "long", 2.5)),
    "raindrop": (("depth", "depth of the drops", "fine", 2.5), ("across", "width of a drop", "long", 2.5), ("spacing", "drop to drop", "long", 2.5)),
    "hammer": (("depth", "depth of the marks", "fine", 2.5), ("mark", "size of a mark", "long", 2.5)),
    "relief": (("depth", "depth of the relief", "fine", 2.5),),
    "split": (("drag", "drag of the wedge", "long", 2.5), ("reach", "reach of the drag", "long", 2.5)),
    "bulge": (("amount", "barrelling", "plain", 2.0),),
}  # fmt: skip


def shapes(recipe: Recipe, blade: str | None) -> list[dict[str, Any]]:
    """Every number that can be dragged, blade first."""
    units, data = recipe.tables.units, tomllib.loads(recipe.text)
    light = recipe.tables.etch.light
    turned = _one("light", "light from", ["etch", "light"], light, 0.0, 2 * math.pi, units, "angle")
    return [*_of_blade(recipe, data, blade, units), *_of_steps(recipe, data, units), turned]


def _of_blade(recipe: Recipe, data: dict[str, Any], name: str | None, units: str) -> Iterator[dict[str, Any]]:
    designs = recipe.blades or ((recipe.tables.blade,) if recipe.tables.blade else ())
    at = next((k for k, d in enumerate(designs) if name and d.name == name), 0)
    if not designs:
        return
    design = designs[at]
    several = isinstance(data.get("blade"), list)
    base: list[str | int] = ["blade", at] if several else ["blade"]
    plain = data["blade"][at] if several else data["blade"]
    half = max(design.spine.finished.heel, 1e-3)
    yield _one("offset", "off the middle of the bar", [*base, "offset"], design.offset, -half, half, units, "fine")
    less = 0.5 * (design.spine.at("hardening").heel - design.spine.finished.heel)  # as it goes into the quench
    yield _one("grind", "ground deeper", None, 0.0, -max(less, 0.1e-3), 0.6 * half, units, "fine")
    yield from _spine(design, plain, base, units)
    yield from _bevel(design, plain, base, units)
    for key, words in (("length", "length"), ("heel_height", "height at the heel")):
        value = getattr(design, key)
        yield _one(key, words, [*base, key], value, 0.7 * value, 1.25 * value, units, "long")


def _spine(design: BladeDesign, plain: dict[str, Any], base: list[str | int], units: str) -> Iterator[dict[str, Any]]:
    """The spine at heel, middle and tip, and the edge; missing ones come with their companions."""
    given = plain.get("spine", {})
    inner = [*base, "spine", "finished"] if isinstance(given, dict) and "finished" in given else [*base, "spine"]
    done = design.spine.finished
    for place in ("heel", "middle", "tip"):
        one = _one(
            f"spine {place}", f"spine, {place}", [*inner, place], getattr(done, place), 0.3e-3, 8e-3, units, "fine"
        )
        if not given:
            one["also"] = [
                {"op": "set", "path": [*inner, other], "value": _text(getattr(done, other), units, "fine")}
                for other in ("heel", "middle", "tip")
                if other != place
            ]
        yield one
    edge = design.edge.finished
    yield _one("edge", "edge before sharpening", [*base, "edge", "finished"], edge, 0.05e-3, 1.5e-3, units, "fine")


def _bevel(design: BladeDesign, plain: dict[str, Any], base: list[str | int], units: str) -> Iterator[dict[str, Any]]:
    """The numbers of the grind that both faces share, those left out as they usually are."""
    given = plain.get("bevel", "full flat")
    table = {"kind": given} if isinstance(given, str) else given
    if not isinstance(table, dict) or "kind" not in table or "left" in table or "right" in table:
        return
    face = design.bevel.right if design.bevel.right.kind != "unground" else design.bevel.left
    high = design.heel_height
    usual = {
        "height": (face.top(high) * high, "height of the grind", "long", high),
        "lower": (face.bottom(high) * high, "height of its lower part", "long", face.top(high) * high),
        "wheel": (face.wheel, "wheel", "long", None),
    }
    if face.kind == "convex" and face.radius is None:
        run = 0.5 * (design.spine.finished.heel - design.edge.finished)
        usual["amount"] = (face.bulge(run), "belly of the face", "fine", run)
    elif face.amount is not None:
        usual["amount"] = (face.amount, "belly of the face", "fine", None)
    for key in KINDS[face.kind]:
        value, words, kind, most = usual.get(key, (None, "", "", None))
        if not value or (key not in table and table["kind"] == "chisel"):
            continue
        top = 2.5 * value if most is None else min(2.5 * value, most)
        one = _one(f"bevel {key}", words, [*base, "bevel", key], value, 0.3 * value, top, units, kind)
        if isinstance(given, str):
            one["also"] = [{"op": "set", "path": [*base, "bevel"], "value": {"kind": given}}]
        yield one


def _of_steps(recipe: Recipe, data: dict[str, Any], units: str) -> Iterator[dict[str, Any]]:
    for k, bar in enumerate(recipe.tables.bar):
        own = data["bar"][k].get("step", [])  # none where a bar is like an earlier one: its numbers are that one's
        for at, (step, written) in enumerate(zip(bar.step, own, strict=False)):
            for key, words, kind, most in _STEPS.get(step.verb, ()):
                value, typed = getattr(step, key, None), written.get(key)
                if typed is None or isinstance(typed, list) or not isinstance(value, int | float):
                    continue
                said = f"{words} ({bar.name})" if len(recipe.tables.bar) > 1 else words
                yield _one(
                    f"{bar.name} {at} {key}",
                    said,
                    ["bar", k, "step", at, key],
                    value,
                    0.1 * value,
                    most * value,
                    units,
                    kind,
                )


def _one(
    name: str, words: str, path: Any, value: float, low: float, high: float, units: str, kind: str
) -> dict[str, Any]:
    unit, size, step = _UNIT[units, kind]
    return {
        "name": name, "words": words, "path": path, "unit": unit, "size": size, "step": step,
        "value": round(value / size, 0 if kind == "angle" else 4), "low": math.floor(low / size / step) * step,
        "high": math.ceil(high / size / step) * step, "also": [],
    }  # fmt: skip


def _text(value: float, units: str, kind: str) -> str:
    unit, size, _ = _UNIT[units, kind]
    return f"{round(value / size, 3):g} {unit}"
