"""Temperatures as a furnace is set: round figures in the scale of its dial, never a decimal that no dial has."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor

from billet.base.units import Kind, show

_STEPS = {"imperial": (25.0, 5.0, 1.0), "metric": (5.0, 1.0)}  # marks of a dial, coarse to fine [F] or [C]


def setting(kelvin: float, units: str, way: Callable[[float], int] = round) -> str:
    """A temperature [K] at the nearest coarse mark of the dial; `way` is round, math.floor or math.ceil."""
    return _at(kelvin, units, _STEPS[units][0], way)


def at_most(kelvin: float, units: str) -> str:
    """A limit [K] at the nearest coarse mark below it."""
    return setting(kelvin, units, floor)


def given(kelvin: float, units: str) -> str:
    """A temperature [K] somebody chose: as typed to 5 F or 1 C, so that 195 C is 385 F and no dial is asked for 383."""
    return _at(kelvin, units, 5.0 if units == "imperial" else 1.0, round)


def window(low: float, high: float, units: str) -> tuple[str, str]:
    """The ends of a window [K], each rounded into it; finer marks where the coarse ones would leave nothing between."""
    for step in _STEPS[units]:
        if ceil(_dial(low, units) / step - 1e-9) < floor(_dial(high, units) / step + 1e-9):
            return _at(low, units, step, ceil), _at(high, units, step, floor)
    return show(low, Kind.TEMPERATURE, units), show(high, Kind.TEMPERATURE, units)


def _dial(kelvin: float, units: str) -> float:
    return kelvin * 1.8 - 459.67 if units == "imperial" else kelvin - 273.15


def _at(kelvin: float, units: str, step: float, way: Callable[[float], int]) -> str:
    small = 1e-9 if way is floor else -1e-9 if way is ceil else 0.0
    return f"{step * way(_dial(kelvin, units) / step + small):.0f} {'F' if units == 'imperial' else 'C'}"
