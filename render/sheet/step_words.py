"""One step of a bar in a sentence for the forge: what is done and to which sizes."""

from __future__ import annotations

from typing import Any

from billet.base.furnace import given
from billet.base.units import Kind, show
from billet.ledger.rows import Row
from billet.plan.steps_text import size, told
from billet.steps.step import Hot

_HEAT = ("do", "temperature", "soak", "heats")
_NOT_SAID = ("weld", "draw", "times", "level", "hot")  # rows of their own, or of no use at the anvil
_PLAIN = ("end", "along", "hand", "section", "order", "method", "faces", "flip", "image", "spacer")
_LENGTHS = frozenset((
    "thickness", "width", "length", "keep", "transition", "segment", "leg", "thickness_after", "mark", "depth", "pitch",
    "groove", "across", "spacing", "drag", "reach", "top", "bottom", "edges", "kerf", "each_end",
))  # fmt: skip


def sentence(row: Row, units: str) -> str:
    """What is done in a step, without its heats."""
    if row.step is None:
        return row.do.capitalize()
    said = told((row, row), units)
    text = said[0].partition(" (")[0] + said[0].partition(")")[2] if said else ""
    if not text or text.rstrip(".").lower() in (row.do, row.do.replace("_", " ")):
        return _from_fields(row, units)
    return text


def heats(row: Row, units: str) -> str:
    """Temperature, soak and number of heats of a step done hot; empty for one done cold."""
    step = row.step
    heat, soak, count = (getattr(step, name, None) for name in ("temperature", "soak", "heats"))
    if heat is None:
        return ""
    many = f", {count} heats" if isinstance(step, Hot) and count and count > 1 else ""
    held = f", soak {show(soak, Kind.TIME, units)} once the core is up" if soak else ""
    return f"{given(heat, units)}{held}{many}"


def _from_fields(row: Row, units: str) -> str:
    """The verb and every field the recipe gives."""
    step: Any = row.step
    said = []
    for name in type(step).model_fields:
        value = getattr(step, name)
        if name in (*_HEAT, *_NOT_SAID) or value in (None, "", 0, 0.0, False):
            continue
        word = name.replace("_", " ")
        if name in _LENGTHS and isinstance(value, float):
            said.append(f"{word} {size(value, units)}")
        elif name == "angle":
            said.append(f"{word} {show(value, Kind.ANGLE, units)}")
        elif name in _PLAIN or isinstance(value, int | float | str):
            said.append(f"{word} {value:g}" if isinstance(value, float) else f"{word} {value}")
    verb = row.do.replace("_", " ").capitalize()
    return f"{verb}: {', '.join(said)}" if said else verb
