"""Plain data of a recipe written out: every quantity as a text with its unit."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

from billet.base.shop import EndTrim, Prices, Shop

INCH = 0.0254


def length(metres: float, units: str = "metric") -> str:
    """A length as a recipe writes it, good to a tenth of a micrometre: inches as fractions where they are any, thin
    sizes in thou.
    """
    if units == "metric":
        return f"{metres * 1e3:.4f}".rstrip("0").rstrip(".") + " mm"
    inches = metres / INCH
    if abs(inches * 64 - round(inches * 64)) < 1e-5:
        return fraction(round(inches * 64))
    if inches < 1 and abs(inches * 1e4 - round(inches * 1e4)) < 1e-4:
        return f"{inches * 1e3:.1f}".removesuffix(".0") + " thou"
    return f"{inches:.6f}".rstrip("0").rstrip(".") + " in"


def fraction(sixty_fourths: int) -> str:
    """Inches as a rule shows them."""
    whole, rest = divmod(sixty_fourths, 64)
    if not rest:
        return f"{whole} in"
    part = Fraction(rest, 64)
    return f"{whole} {part} in" if whole else f"{part} in"


def furnace(kelvin: float, units: str, *, least: bool = False) -> float:
    """The round setting [K] a smith would dial: 10 C or 25 F steps, downwards; upwards where it is a least one."""
    whole = math.ceil if least else math.floor
    if units == "metric":
        return whole((kelvin - 273.15) / 10 + (-1e-6 if least else 1e-6)) * 10 + 273.15
    return (whole((kelvin * 1.8 - 459.67) / 25 + (-1e-6 if least else 1e-6)) * 25 + 459.67) / 1.8


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


_BARE = ("spread", "stack_ratio", "hand_strength")  # numbers of a shop that are no length


def shop_table(shop: Shop) -> dict[str, Any]:
    """The [shop] table as a recipe writes it: what was set, and no defaults."""
    out: dict[str, Any] = {}
    for key in sorted(shop.model_fields_set):
        value = getattr(shop, key)
        if value is None:
            continue
        if isinstance(value, EndTrim):
            out[key] = {"free": length(value.free), "handle": length(value.handle)}
        elif isinstance(value, Prices):
            out[key] = value.model_dump(exclude_unset=True, exclude_none=True)
        elif key in _BARE or isinstance(value, str | bool | int):
            out[key] = value
        else:
            out[key] = f"{value!r} N" if key == "press_force" else length(value)
    return out
