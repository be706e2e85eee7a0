"""The sentences of the recipe's fields for a smith who thinks in inches, thou and Fahrenheit."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from billet.base.furnace import given
from billet.base.units import Kind, read, show

_NUMBER = r"\d+(?:\.\d+)?"
_METRIC = re.compile(rf"(?<![\w./])((?:{_NUMBER}(?:, | and | to | or ))*{_NUMBER}) (mm|m|C|l|kN)(?![\w/])")
_FINE = 3e-3  # thinner than this is told in thou [m]
_WHOLE = 8e-5  # from here on in whole thou [m]
_NEAR = 0.02  # a fraction of an inch that is so near is told instead of the figure
_EXAMPLE = re.compile(r"\bexample\b")


def inch_words(sentence: str) -> str:
    """A sentence with its metric lengths and temperatures in a workshop's inches and Fahrenheit.

    What stands before the word example is a fact or a default and keeps its value, rounded as a rule or a dial shows it;
    an example is moved to a size one would ask for. Nothing else of the sentence changes.
    """
    found = _EXAMPLE.search(sentence)
    cut = found.start() if found else len(sentence)
    return inch_default(sentence[:cut]) + inch_example(sentence[cut:])


def inch_example(words: str) -> str:
    """Words of an example alone."""
    return _METRIC.sub(lambda found: _each(found, _as_asked_for), words)


def inch_default(words: str) -> str:
    """Words of a default alone, its value kept."""
    return _METRIC.sub(lambda found: _each(found, _as_it_is), words)


def _each(found: re.Match[str], written: Callable[[str], str]) -> str:
    """Every number of a list that shares one unit, with a unit of its own."""
    return re.sub(_NUMBER, lambda number: written(f"{number[0]} {found[2]}"), found[1])


def _as_it_is(text: str) -> str:
    if text.endswith("C"):
        return given(read(text, Kind.TEMPERATURE), "imperial")
    if not text.endswith("m"):
        return _as_asked_for(text)
    metres = read(text, Kind.LENGTH)
    if metres < _FINE:
        return f"{metres / 25.4e-6:.0f} thou" if metres >= _WHOLE else show(metres, Kind.LENGTH, "imperial", fine=True)
    inches = metres / 0.0254
    size = round(inches * 32) / Fraction(32) if inches < 1 else round(inches * 16) / Fraction(16)
    near = abs(float(size) - inches) <= _NEAR * inches
    return _fraction(size) if near else show(metres, Kind.LENGTH, "imperial")


def _as_asked_for(text: str) -> str:
    if text.endswith("C"):
        degrees = 1.8 * (read(text, Kind.TEMPERATURE) - 273.15) + 32
        step = 25 if degrees > 600 else 5
        return f"{step * round(degrees / step)} F"
    if text.endswith("l"):
        return f"{max(1, round(read(text, Kind.VOLUME) / 3.785e-3))} gal"
    if text.endswith("N"):
        return f"{5 * max(1, round(read(text, Kind.FORCE) / 8896 / 5))} tons"
    inches = read(text, Kind.LENGTH) / 0.0254
    grain = Fraction(1, 16) if inches < 1 else Fraction(1, 4) if inches < 8 else Fraction(1)
    size = round(inches / grain) * grain
    if inches < 1 / 8 and abs(size - inches) > 0.06 * inches:  # no fraction near: told in thou
        return f"{5 * round(200 * inches) if inches >= 15e-3 else round(1000 * inches)} thou"
    return _fraction(size)


def _fraction(inches: Fraction) -> str:
    whole, part = divmod(Fraction(inches), 1)
    return " ".join(str(one) for one in (whole, part) if one) + " in" if inches else "0 in"
