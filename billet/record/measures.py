"""What can be measured at the bench: the names, their kinds and limits, and how a value is read from words."""

import difflib
import math
import re
from dataclasses import dataclass

from billet.base.errors import InputError
from billet.base.units import UNITS, Kind, read, show
from billet.record.entry import Measure

SI_UNITS = {Kind.LENGTH: "m", Kind.MASS: "kg", Kind.TEMPERATURE: "K", Kind.TIME: "s", Kind.FORCE: "N",
            Kind.ANGLE: "rad", Kind.VOLUME: "m3"}  # fmt: skip


@dataclass(frozen=True)
class Known:
    """A measure with a name of its own: the kinds of quantity it may be, its largest believable size in each, and the
    other words for it. ``signed``: it has a side, to the right above zero. Without kinds it is a count up to ``most``.
    """

    name: str
    kinds: tuple[tuple[Kind, float], ...] = ()
    words: tuple[str, ...] = ()
    signed: bool = False
    most: int = 0

    def most_of(self, unit: str) -> float | None:
        """The largest believable value in an SI unit, None where the measure is never in that unit."""
        if self.most:
            return float(self.most) if unit == "1" else None
        return next((most for kind, most in self.kinds if SI_UNITS[kind] == unit), None)


_DAYS = 86400.0
_LENGTH, _MASS, _HEAT, _TIME, _ANGLE = Kind.LENGTH, Kind.MASS, Kind.TEMPERATURE, Kind.TIME, Kind.ANGLE
# Slips of a unit rather than measurements lie beyond these sizes: common practice, no source.
TABLE = (
    Known("length", ((_LENGTH, 10.0),), ("long",)),
    Known("width", ((_LENGTH, 1.0),), ("wide",)),
    Known("thickness", ((_LENGTH, 1.0),), ("thick",)),
    Known("mass", ((_MASS, 500.0),), ("weight", "weighs", "weighed")),
    Known("temperature", ((_HEAT, 1873.15),), ("heat", "temp")),
    Known("time", ((_TIME, 30 * _DAYS),)),
    Known("heats", most=100),
    Known("hardness"),
    Known("spine", ((_LENGTH, 0.1),)),
    Known("edge", ((_LENGTH, 0.05), (_ANGLE, math.pi / 2))),
    Known("height", ((_LENGTH, 0.5),), ("high", "tall")),
    Known("bow", ((_LENGTH, 0.3),), ("warp", "bend", "bowed", "warped", "bent"), signed=True),
    Known("twist", ((_LENGTH, 0.1), (_ANGLE, 2 * math.pi)), ("twisted", "wind"), signed=True),
    Known("oven", ((_HEAT, 1873.15),), ("thermometer", "thermocouple", "furnace", "kiln")),
    Known("dial", ((_HEAT, 1873.15),), ("set", "asked", "controller")),
    Known("oil", ((_HEAT, 573.15),)),
    Known("soak", ((_TIME, 10 * _DAYS),), ("soaked", "held")),
    Known("took", ((_TIME, 30 * _DAYS),), ("spent", "worked")),
    Known("belts", words=("belt",), most=200),
    Known("grit", most=20000),
    Known("passes", words=("pass",), most=1000),
)
BY_NAME = {known.name: known for known in TABLE}
NAMES = tuple(BY_NAME)
FIRST_NAMES = NAMES[:8]  # known since the first version; the later ones may stand in old records as somebody's own
ALIASES = {word: known.name for known in TABLE for word in known.words}
HARDEST_HRC = 70.0  # the C scale ends here in practice: common practice, no source
OWN_NAME = re.compile(r"[^\W\d][\w .-]{0,39}")


def named(word: str) -> str | None:
    """The measure a word means: its name, another trade word for it, or its first three letters or more; else None."""
    low = word.lower()
    if low in BY_NAME or low in ALIASES:
        return ALIASES.get(low, low)
    found = {name for name in NAMES if name.startswith(low)} if len(low) >= 3 else set()
    return found.pop() if len(found) == 1 else None


def read_measure(name: str, text: str) -> Measure:
    """Read what was measured. ``thickness.heel`` is read as a thickness; a name of the user's own takes any value.

    Raises ``InputError`` with one sentence when the value cannot be read, is not above zero or is beyond belief.
    """
    base, dot, where = name.strip().partition(".")
    known = BY_NAME.get(named(base) or "")
    if known is None:
        return _own(name.strip().lower(), text.strip())
    full = f"{known.name}{dot}{where.lower()}"
    if known.most:
        return Measure(full, "1", _count(known, text), text)
    if known.name == "hardness":
        return _hardness(full, text)
    try:
        measure = _quantity(known, full, text)
    except InputError:
        if known.name in FIRST_NAMES:
            raise
        return _own(full, text.strip())  # a later name may be somebody's own: oil=20 l
    why = doubt(measure)
    if why:
        raise InputError(f'{full}: found "{text}", {why}; measure it again, or look at the unit.')
    return measure


def _quantity(known: Known, full: str, text: str) -> Measure:
    """The value with its side: ``1.5 mm left`` is below zero. Read as each kind the measure may be, the first first."""
    side = re.search(r"\b(left|right)\b", text, re.IGNORECASE) if known.signed else None
    plain = re.sub(r"\b(?:to the |to )?(?:left|right)\b", "", text, flags=re.IGNORECASE).strip() if side else text
    refusals = []
    for kind, _ in known.kinds:
        try:
            value = read(plain, kind, full, signed=known.signed)
        except InputError as error:
            refusals.append(error)
        else:
            return Measure(full, SI_UNITS[kind], -value if side and side[1].lower() == "left" else value, text)
    raise refusals[0]


def doubt(measure: Measure) -> str:
    """Why a measure cannot be meant, in words that follow the value; empty when it can."""
    if measure.value is None:
        return "" if measure.unit == "" else "has a unit and no value"
    if measure.unit not in ("1", "HRC", *SI_UNITS.values()):
        return f"is in a unit unknown here ({measure.unit[:20]!a})"
    known = BY_NAME.get(measure.name.partition(".")[0])
    if known is None:
        return "" if OWN_NAME.fullmatch(measure.name) else "has no name that can be read"
    if known.name == "hardness":
        return "" if measure.unit == "HRC" and 0 < measure.value <= HARDEST_HRC else "is no Rockwell C figure"
    return _beyond(known, measure)


def _beyond(known: Known, measure: Measure) -> str:
    most = known.most_of(measure.unit)
    assert measure.value is not None
    if most is None:
        return f"is no {known.name} in its unit" if known.name in FIRST_NAMES else ""
    if not known.signed and measure.value <= 0:
        return "which is not above zero"
    if abs(measure.value) <= most:
        return ""
    kind = next((kind for kind, unit in SI_UNITS.items() if unit == measure.unit), None)
    return f"which is more than {most:g}" if kind is None else f"which is more than {show(most, kind, 'metric')}"


def _count(known: Known, text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,5}", text.strip()) or not 1 <= int(text) <= known.most:
        raise InputError(
            f'{known.name}: found "{text}"; wanted how many {known.name}, a whole number from 1 to {known.most}.'
        )
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
    if not OWN_NAME.fullmatch(name):
        raise InputError(f'"{name[:40]}" cannot name a measure; use a word such as drift=3mm.')
    near = difflib.get_close_matches(name, NAMES, n=1, cutoff=0.8)
    if near and name.partition(".")[0] not in BY_NAME:
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
    """The measure for a person, in ``units`` ("metric" or "imperial"): ``thickness 12.10 mm``, ``spine at the heel``."""
    name, value = label(measure.name, units), measure.value
    kind = next((kind for kind, unit in SI_UNITS.items() if unit == measure.unit), None)
    if value is None:
        return f"{name} {measure.written}"
    if kind is None:
        return f"{name} {value:g}" + ("" if measure.unit == "1" else f" {measure.unit}")
    known = BY_NAME.get(measure.name.partition(".")[0])
    fine = known is not None and known.name in ("thickness", "spine", "edge", "bow", "twist")
    if known is not None and known.signed and kind is Kind.LENGTH:
        side = " left" if value < 0 else " right" if value > 0 else ""
        return f"{name} {show(abs(value), kind, units, fine=fine)}{side}"
    return f"{name} {show(value, kind, units, fine=fine)}"


def label(name: str, units: str) -> str:
    """A measure's name for a person: ``spine.heel`` is ``spine at the heel``, ``bow.50mm`` is ``bow at 50.0 mm``."""
    base, _, where = name.partition(".")
    word = "weight" if base == "mass" else base
    if not where or base not in BY_NAME:
        return name if base != "mass" else word
    return f"{word} {place_words(where, units)}"


def place_words(where: str, units: str) -> str:
    """A place on the piece for a person."""
    far = re.fullmatch(r"(edge\.)?(\d+(?:\.\d+)?)mm(?: from (\w+))?", where)
    if far is None:
        return f"at the {where}"
    distance = show(float(far[2]) * 1e-3, Kind.LENGTH, units)
    start = f" from the {far[3]}" if far[3] else ""
    return f"{'at the edge, ' if far[1] else 'at '}{distance}{start}"
