"""Plain data of a recipe written out: every quantity as a text with its unit."""

from __future__ import annotations

import math
from typing import Any

from billet.base.shop import EndTrim, Shop

INCH = 0.0254


def length(metres: float, units: str = "metric") -> str:
    """A length as a recipe writes it, good to a tenth of a micrometre."""
    value, word, places = (metres * 1e3, "mm", 4) if units == "metric" else (metres / INCH, "in", 6)
    return f"{value:.{places}f}".rstrip("0").rstrip(".") + f" {word}"


def heat(kelvin: float, units: str = "metric") -> str:
    """A temperature in whole degrees."""
    return f"{kelvin - 273.15:.0f} C" if units == "metric" else f"{kelvin * 1.8 - 459.67:.0f} F"


def minutes(seconds: float) -> str:
    """A time."""
    return f"{seconds / 60:g} min"


def plate(steel: str, metres: float, units: str = "metric") -> str:
    """A plate of a stack."""
    return f"{steel} {length(metres, units)}"


def up(metres: float, units: str, step: tuple[float, float] = (1e-3, INCH / 16)) -> float:
    """A size rounded up to the next whole step, metric or imperial."""
    s = step[units == "imperial"]
    return math.ceil(metres / s - 1e-6) * s


def step_of(units: str) -> float:
    """Stacks are cut to whole millimetres or sixteenths of an inch [m]."""
    return 1e-3 if units == "metric" else INCH / 16


def hot(kind: tuple[float, float, int], units: str) -> dict[str, Any]:
    """Heat, time and heats of a step."""
    return {"heat": heat(kind[0], units), "time": minutes(kind[1]), "heats": int(kind[2])}


_BARE = ("spread", "most_pieces", "most_welds", "by", "fitted", "atmosphere")


def shop_table(shop: Shop) -> dict[str, Any]:
    """The [shop] table as a recipe writes it: what was set, and no defaults."""
    out: dict[str, Any] = {}
    for key in sorted(shop.model_fields_set):
        value = getattr(shop, key)
        if value is None:
            continue
        if isinstance(value, EndTrim):
            out[key] = {"free": length(value.free), "handle": length(value.handle)}
        elif key in _BARE:
            out[key] = value
        else:
            out[key] = f"{value!r} N" if key == "press_force" else length(value)
    return out
