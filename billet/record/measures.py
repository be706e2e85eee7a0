"""What can be measured at the bench: the names, their kinds and limits, and how a value is read from words."""

import difflib
import re

from billet.base.errors import InputError
from billet.base.units import UNITS, Kind, read, show
from billet.record.entry import Measure

SI_UNITS = {Kind.LENGTH: "m", Kind.MASS: "kg", Kind.TEMPERATURE: "K", Kind.TIME: "s", Kind.FORCE: "N",
            Kind.ANGLE: "rad", Kind.VOLUME: "m3"}  # fmt: skip
KINDS = {"length": Kind.LENGTH, "width": Kind.LENGTH, "thickness": Kind.LENGTH, "mass": Kind.MASS,
         "temperature": Kind.TEMPERATURE, "time": Kind.TIME}  # fmt: skip
"""The measures that are quantities; ``heats`` is a count, ``hardness`` a Rockwell C figure or a file test in words."""

NAMES = (*KINDS, "heats", "hardness")
ALIASES = {"long": "length", "wide": "width", "thick": "thickness", "weight": "mass", "heat": "temperature"}

# Slips of a unit rather than measurements lie beyond these: common practice, no source.
_LARGEST = {"length": 10.0, "width": 1.0, "thickness": 1.0, "mass": 500.0, "temperature": 1873.15, "time": 30 * 86400.0}
MOST_HEATS = 100
HARDEST_HRC = 70.0  # the C scale ends here in practice: common practice, no source


def named(word: str) -> str | None:
    """The measure a word means: its name, another trade word for it, or its first three letters or more; else None."""
    low = word.lower()
    if low in NAMES or low in ALIASES:
        return ALIASES.get(low, low)
    found = {name for name in NAMES if name.startswith(low)} if len(low) >= 3 else set()
    return found.pop() if len(found) == 1 else None


def read_measure(name: str, text: str) -> Measure:
    """Read what was measured. ``thickness.heel`` is read as a thickness; a name of the user's own takes any value.

    Raises ``InputError`` with one sentence when the value cannot be read, is not above zero or is beyond belief.
    """
    base, dot, where = name.strip().partition(".")
    known = named(base)
    if known is None:
        return _own(name.strip().lower(), text.strip())
    full = f"{known}{dot}{where.lower()}"
    if known == "heats":
        return Measure(full, "1", _heats(text), text)
    if known == "hardness":
        return _hardness(full, text)
    value = read(text, KINDS[known], full)
    if value <= 0:
        raise InputError(f'{full}: found "{text}", which is not above zero; measure it again.')
    if value > _LARGEST[known]:
        limit = show(_LARGEST[known], KINDS[known], "metric")
        raise InputError(f'{full}: found "{text}", which is more than {limit}; look at the unit.')
    return Measure(full, SI_UNITS[KINDS[known]], value, text)


def _heats(text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,3}", text.strip()) or not 1 <= int(text) <= MOST_HEATS:
        raise InputError(f'heats: found "{text}"; wanted how many heats, a whole number from 1 to {MOST_HEATS}.')
    return float(text)


def _hardness(name: str, text: str) -> Measure:
    """A Rockwell C figure (``59``, ``59.5 HRC``, ``HRC 59``) or the words of a file test, which have no value."""
    match = re.fullmatch(r"(?:hrc|rc)?\s*([+-]?[0-9]+\.?[0-9]*)\s*(?:hrc|rc)?", text.strip(), re.IGNORECASE)
    if match is None:
        if re.search(r"\d", text):
            raise InputError(f'{name}: found "{text}"; wanted a Rockwell C figure such as "59 HRC", or words only.')
        return Measure(name, "", None, text)
    if not 0 < float(match[1]) <= HARDEST_HRC:
        raise InputError(f'{name}: found "{text}"; a Rockwell C figure lies above 0 and up to {HARDEST_HRC:g}.')
    return Measure(name, "HRC", float(match[1]), text)


def _own(name: str, text: str) -> Measure:
    """A measure of the user's own: a bare number, a quantity whose unit says its kind, else words."""
    if not re.fullmatch(r"[^\W\d][\w .-]{0,39}", name):
        raise InputError(f'"{name[:40]}" cannot name a measure; use a word such as drift=3mm.')
    near = difflib.get_close_matches(name, NAMES, n=1, cutoff=0.8)
    if near:
        raise InputError(f'"{name}" is not a measure I know; did you mean {near[0]}? Write that, or another name.')
    if not text:
        raise InputError(f"{name}: nothing follows it; wanted a value, such as {name}=3mm.")
    if re.fullmatch(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)", text):
        return Measure(name, "1", float(text), text)
    match = re.fullmatch(r"[+-]?[\d./½¼¾ ]+\s*(\D+)", text)
    word = match[1].strip().lower() if match else ""
    kinds = {unit.kind for unit in UNITS if word in unit.words} - {Kind.DIFFERENCE}
    if len(kinds) > 1:
        both = " or ".join(sorted(kind.value for kind in kinds))
        raise InputError(f'{name}: found "{text}", where "{word}" may mean a {both}; write the unit out.')
    if not kinds:
        return Measure(name, "", None, text)
    kind = kinds.pop()
    return Measure(name, SI_UNITS[kind], read(text, kind, name, signed=True), text)


def shown(measure: Measure, units: str) -> str:
    """The measure for a person, in ``units`` ("metric" or "imperial"): ``thickness 12.10 mm``."""
    kind = next((kind for kind, unit in SI_UNITS.items() if unit == measure.unit), None)
    if measure.value is None:
        return f"{measure.name} {measure.written}"
    if kind is None:
        return f"{measure.name} {measure.value:g}" + ("" if measure.unit == "1" else f" {measure.unit}")
    fine = measure.name.startswith("thickness")
    return f"{measure.name} {show(measure.value, kind, units, fine=fine)}"
