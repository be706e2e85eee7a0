"""The door for quantities: workshop text in, SI floats inside, workshop text out.

A strict grammar stands in front of the units: ``3/16 in``, ``1-1/2 in``, ``1½"``, ``140 thou``, ``2100 F``,
``1 h 30 min``. Everyday units come from an exact table of fractions; any other unit word is looked up in pint, which
never sees a number (left to itself it reads ``1 1/2 in`` as half an inch and drops a comma).
"""

import difflib
import math
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from billet.base.errors import InputError


class Kind(Enum):
    """What a quantity measures; the value is the word used in sentences to the user."""

    LENGTH = "length"
    TEMPERATURE = "temperature"
    DIFFERENCE = "temperature difference"
    TIME = "time"
    MASS = "mass"
    FORCE = "force"
    ANGLE = "angle"
    VOLUME = "volume"


@dataclass(frozen=True)
class Unit:
    """One everyday unit: SI value = (number + ``offset``) * ``factor``.

    ``words`` are the spellings read, in lower case; ``pint`` is the name under which the reference library knows it.
    """

    kind: Kind
    pint: str
    factor: Fraction
    words: tuple[str, ...]
    offset: Fraction = Fraction(0)


INCH = Fraction("0.0254")
POUND = Fraction("0.45359237")
GRAVITY = Fraction("9.80665")
FAHRENHEIT = Fraction(5, 9)
CELSIUS_WORDS = ("c", "°c", "deg c", "degc", "degree c", "degrees c", "celsius", "℃")
FAHRENHEIT_WORDS = ("f", "°f", "deg f", "degf", "degree f", "degrees f", "fahrenheit", "℉")
KELVIN_WORDS = ("k", "kelvin")

UNITS: tuple[Unit, ...] = (
    Unit(Kind.LENGTH, "nanometer", Fraction(1, 10**9), ("nm",)),
    Unit(Kind.LENGTH, "micrometer", Fraction(1, 10**6), ("um", "µm", "micron", "microns")),
    Unit(Kind.LENGTH, "millimeter", Fraction(1, 1000), ("mm", "millimetre", "millimetres", "millimeter")),
    Unit(Kind.LENGTH, "centimeter", Fraction(1, 100), ("cm", "centimetre", "centimetres", "centimeter")),
    Unit(Kind.LENGTH, "meter", Fraction(1), ("m", "metre", "metres", "meter", "meters")),
    Unit(Kind.LENGTH, "thou", INCH / 1000, ("thou", "thousandth", "thousandths")),
    Unit(Kind.LENGTH, "inch", INCH, ("in", "inch", "inches", '"', "''")),
    Unit(Kind.LENGTH, "foot", INCH * 12, ("ft", "foot", "feet", "'")),
    Unit(Kind.TEMPERATURE, "degC", Fraction(1), CELSIUS_WORDS, Fraction("273.15")),
    Unit(Kind.TEMPERATURE, "degF", FAHRENHEIT, FAHRENHEIT_WORDS, Fraction("459.67")),
    Unit(Kind.TEMPERATURE, "kelvin", Fraction(1), KELVIN_WORDS),
    Unit(Kind.DIFFERENCE, "delta_degC", Fraction(1), CELSIUS_WORDS),
    Unit(Kind.DIFFERENCE, "delta_degF", FAHRENHEIT, FAHRENHEIT_WORDS),
    Unit(Kind.DIFFERENCE, "kelvin", Fraction(1), KELVIN_WORDS),
    Unit(Kind.TIME, "second", Fraction(1), ("s", "sec", "secs", "second", "seconds")),
    Unit(Kind.TIME, "minute", Fraction(60), ("min", "mins", "minute", "minutes", "m")),
    Unit(Kind.TIME, "hour", Fraction(3600), ("h", "hr", "hrs", "hour", "hours")),
    Unit(Kind.MASS, "gram", Fraction(1, 1000), ("g", "gram", "grams")),
    Unit(Kind.MASS, "kilogram", Fraction(1), ("kg", "kilo", "kilos", "kilogram", "kilograms")),
    Unit(Kind.MASS, "metric_ton", Fraction(1000), ("t", "tonne", "tonnes")),
    Unit(Kind.MASS, "ounce", POUND / 16, ("oz", "ounce", "ounces")),
    Unit(Kind.MASS, "pound", POUND, ("lb", "lbs", "pound", "pounds")),
    Unit(Kind.FORCE, "newton", Fraction(1), ("n", "newton", "newtons")),
    Unit(Kind.FORCE, "kilonewton", Fraction(1000), ("kn", "kilonewton", "kilonewtons")),
    Unit(Kind.FORCE, "metric_ton * standard_gravity", 1000 * GRAVITY, ("t", "tf", "tonne", "tonnes")),
    Unit(Kind.FORCE, "force_ton", 2000 * POUND * GRAVITY, ("tonf", "ton", "tons")),
    Unit(Kind.ANGLE, "degree", Fraction(math.pi) / 180, ("deg", "°", "degree", "degrees")),
    Unit(Kind.ANGLE, "radian", Fraction(1), ("rad", "radian", "radians")),
    Unit(Kind.VOLUME, "milliliter", Fraction(1, 10**6), ("ml", "millilitre", "millilitres", "cm3", "cc")),
    Unit(Kind.VOLUME, "liter", Fraction(1, 1000), ("l", "litre", "litres", "liter", "liters")),
    Unit(Kind.VOLUME, "inch ** 3", INCH**3, ("in3", "cu in")),
    Unit(Kind.VOLUME, "gallon", 231 * INCH**3, ("gal", "gallon", "gallons")),
)
_BY_WORD = {(unit.kind, word): unit for unit in UNITS for word in unit.words}

EXAMPLES: dict[Kind, tuple[str, str]] = {
    Kind.LENGTH: ("3/16 in", "3.2 mm"),
    Kind.TEMPERATURE: ("1150 C", "2100 F"),
    Kind.DIFFERENCE: ("28 C", "50 F"),
    Kind.TIME: ("10 min", "2 h"),
    Kind.MASS: ("1.4 kg", "3 lb 4 oz"),
    Kind.FORCE: ("20 t", "200 kN"),
    Kind.ANGLE: ("45 deg", "0.5 rad"),
    Kind.VOLUME: ("20 l", "5 gal"),
}
BASE_UNITS = {
    Kind.LENGTH: "m",
    Kind.TEMPERATURE: "K",
    Kind.DIFFERENCE: "K",
    Kind.TIME: "s",
    Kind.MASS: "kg",
    Kind.FORCE: "N",
    Kind.ANGLE: "rad",
    Kind.VOLUME: "m**3",
}
_COMPOUND = (Kind.LENGTH, Kind.TIME, Kind.MASS)
_LONGEST = 60

_NUMBER = r"(?:(?:[0-9]+(?:\s+|\s*-\s*))?[0-9]+\s*/\s*[0-9]+|(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
_WORD = r"[^\W\d_]|[\"'°℃℉]"
_PART = re.compile(rf"\s*({_NUMBER})\s*((?:{_WORD})(?:{_WORD}|\s+(?={_WORD}))*)\.?\s*")
_CUBIC_PART = re.compile(rf"\s*({_NUMBER})\s*((?:{_WORD})(?:{_WORD}|\s+(?={_WORD}))*(?:\^?3)?)\.?\s*")
_SAME_GLYPH = str.maketrans("″“”′’‘μº˚−–³⁄\u00a0", "\"\"\"'''µ°°--3/ ")


class _UnreadableError(ValueError):
    """Why a text is no quantity: the middle of the sentence that ``read`` writes."""


def read(text: object, kind: Kind, field: str = "value", *, signed: bool = False) -> float:
    """Read one quantity as a workshop writes it, in SI units [m, K, s, kg, N, rad, m3].

    ``signed`` allows a negative number (offsets); temperatures may be negative as long as they are above absolute zero.
    A difference of 50 F is 27.8 K, a temperature of 50 F is 283.2 K. Raises ``InputError`` with one sentence that names
    ``field``, what was found, what is wanted and two examples.
    """
    try:
        value = _value(_tidy(text), kind)
        if not math.isfinite(value):
            raise _UnreadableError("which is not a finite number")
        if value < 0 and kind is Kind.TEMPERATURE:
            raise _UnreadableError("which is below absolute zero")
        if value < 0 and not signed and kind is not Kind.TEMPERATURE:
            raise _UnreadableError("which is negative")
    except _UnreadableError as why:
        found = f'"{text[:_LONGEST]}"' if isinstance(text, str) else repr(text)[:_LONGEST]
        first, second = EXAMPLES[kind]
        raise InputError(
            f'{field}: found {found}, {why}; wanted {_a(kind)}, for example "{first}" or "{second}".'
        ) from None
    return value


def _a(kind: Kind) -> str:
    return f"an {kind.value}" if kind is Kind.ANGLE else f"a {kind.value}"


def _tidy(text: object) -> str:
    """One spelling for look-alike glyphs and fractions; refuses what is no text, empty, or beyond reading."""
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise _UnreadableError("which is not a text with a number and a unit")
    if not isinstance(text, str):
        raise _UnreadableError("a number without a unit")
    if len(text) > _LONGEST:
        raise _UnreadableError(f"which is longer than {_LONGEST} characters")
    plain = "".join(_spelled_out(glyph) for glyph in text).translate(_SAME_GLYPH).strip()
    if not plain:
        raise _UnreadableError("which is empty")
    if "," in plain:
        raise _UnreadableError("and a comma can mean two things, so write the decimal point as a dot")
    if re.fullmatch(r"[+-]?\s*(nan|inf|infinity)\b.*", plain, re.IGNORECASE):
        raise _UnreadableError("which is not a finite number")
    return plain


def _spelled_out(glyph: str) -> str:
    """A vulgar fraction such as ½ as `` 1/2``; every other glyph unchanged."""
    if unicodedata.category(glyph) != "No" or "FRACTION" not in unicodedata.name(glyph, ""):
        return glyph
    return f" {Fraction(unicodedata.numeric(glyph)).limit_denominator(100)}"


def _value(plain: str, kind: Kind) -> float:
    """SI value of the tidied text: a sign, then one part, or several of falling unit (1 h 30 min)."""
    sign = -1 if plain.startswith("-") else 1
    parts = list(_parts(plain[1:] if plain[0] in "+-" else plain, kind))
    if len(parts) == 1:
        number, word = parts[0]
        return _in_si(sign * number, word, kind)
    sizes = [_in_si(Fraction(1), word, kind) for _, word in parts]
    smaller = all(_in_si(number, word, kind) < size for size, (number, word) in zip(sizes, parts[1:], strict=False))
    if kind not in _COMPOUND or not smaller:
        raise _UnreadableError("which has parts that do not make one quantity")
    return sign * math.fsum(_in_si(number, word, kind) for number, word in parts)


def _parts(plain: str, kind: Kind) -> Iterator[tuple[Fraction, str]]:
    """The (number, unit word) pairs of the text; raises when anything is left over."""
    pattern, at = (_CUBIC_PART if kind is Kind.VOLUME else _PART), 0
    while at < len(plain):
        match = pattern.match(plain, at)
        if match is None:
            raise _UnreadableError(_why_no_part(plain))
        yield _number(match[1]), match[2]
        at = match.end()


def _why_no_part(plain: str) -> str:
    if re.fullmatch(rf"[+-]?\s*{_NUMBER}", plain):
        return "a number without a unit"
    if re.fullmatch(rf"(?:{_WORD}|[\s.])+", plain):
        return "a unit without a number"
    return "which is not one number and its unit"


def _number(text: str) -> Fraction:
    """``1.5``, ``3/16``, ``1 1/2`` or ``1-1/2`` exactly; the fraction beside a whole number must be proper."""
    if "/" not in text:
        if len(text.lower().partition("e")[2]) > 4:
            raise _UnreadableError("which is not a finite number")
        return Fraction(text)
    *whole, top, bottom = (int(digits) for digits in re.findall(r"\d+", text))
    if bottom == 0:
        raise _UnreadableError("which divides by zero")
    if whole and top >= bottom:
        raise _UnreadableError(f"where {top}/{bottom} beside a whole number is not less than one")
    return sum(whole) + Fraction(top, bottom)


def _in_si(number: Fraction, word: str, kind: Kind) -> float:
    """``number`` of the unit ``word`` in SI; the table first, then pint."""
    plain = re.sub(r"\s+", " ", word).lower().replace("° ", "°").replace("^", "")
    unit = _BY_WORD.get((kind, plain))
    try:
        return float((number + unit.offset) * unit.factor) if unit else _by_pint(float(number), word, plain, kind)
    except OverflowError:
        raise _UnreadableError("which is not a finite number") from None


def _by_pint(number: float, word: str, plain: str, kind: Kind) -> float:
    """Look up an unusual unit word; pint is loaded only here, and only for the unit."""
    if plain in ("mil", "mils"):
        raise _UnreadableError("and mil is ambiguous, so write thou for thousandths of an inch or mm for millimetres")
    other = next((unit.kind for unit in UNITS if plain in unit.words), None)
    if other is not None:
        raise _UnreadableError(f"which is {_a(other)}")
    import pint

    registry = pint.get_application_registry()
    try:
        units = registry.parse_units(word)
    except Exception:  # pint raises a different exception for each way a word can be no unit
        raise _UnreadableError(f'and I do not know the unit "{word}"{_nearest(plain, kind)}') from None
    if units.dimensionality != registry.parse_units(BASE_UNITS[kind]).dimensionality or units.dimensionless != (
        kind is Kind.ANGLE
    ):
        raise _UnreadableError(f'and "{word}" is not a unit of {kind.value}{_nearest(plain, kind)}')
    return float(registry.Quantity(number, units).to(BASE_UNITS[kind]).magnitude)


def _nearest(word: str, kind: Kind) -> str:
    near = difflib.get_close_matches(word, [known for (of, known) in _BY_WORD if of is kind], n=1)
    return f" (did you mean {near[0]}?)" if near else ""


def show(value: float | None, kind: Kind, units: str, *, fine: bool = False) -> str:
    """Print an SI ``value`` in ``units`` ("metric" or "imperial"); nothing to print is ``-``.

    ``fine`` is for thicknesses: thou, or millimetres to 0.05 mm, to 0.01 mm under 1 mm and in micrometres under 0.1 mm.
    What is printed can be read again and gives the value within the rounding.
    """
    if units not in ("metric", "imperial"):
        raise ValueError(f'units must be "metric" or "imperial", not {units!r}')
    if value is None or not math.isfinite(value):
        return "-"
    if kind is Kind.TEMPERATURE:
        return f"{value - 273.15:.0f} C" if units == "metric" else f"{value * 1.8 - 459.67:.0f} F"
    writer = _WRITERS[kind, units]
    text = _thickness(abs(value), units) if fine and kind is Kind.LENGTH else writer(abs(value))
    return f"-{text}" if value < 0 and re.search("[1-9]", text) else text


def _two_digits(number: float) -> str:
    """Two significant digits, never in powers of ten; for small numbers of a unit."""
    if number == 0:
        return "0"
    decimals = max(0, 1 - math.floor(math.log10(number)))
    return f"{number:.{decimals}f}"


def _thickness(metres: float, units: str) -> str:
    if units == "imperial":
        thou = metres / 2.54e-5
        if thou >= 999.5:
            return f"{metres / 0.0254:.3f} in"
        return f"{thou:.0f} thou" if thou >= 10 else f"{thou:.1f} thou" if thou >= 0.1 else f"{_two_digits(thou)} thou"
    if metres >= 1e-4 or metres == 0:
        step = 0.05 if metres >= 1e-3 else 0.01
        return f"{round(metres * 1e3 / step) * step:.2f} mm"
    if metres >= 1e-7:
        return f"{_two_digits(metres * 1e6)} µm"
    return f"{_two_digits(metres * 1e9)} nm"


def _mass_metric(kilograms: float) -> str:
    grams = kilograms * 1e3
    return f"{kilograms:.2f} kg" if kilograms >= 1 else f"{grams:.0f} g" if grams >= 10 else f"{_two_digits(grams)} g"


def _mass_imperial(kilograms: float) -> str:
    pounds, tenths = divmod(round(kilograms / float(POUND) * 160), 160)
    return f"{pounds} lb {tenths / 10:.1f} oz" if pounds else f"{tenths / 10:.1f} oz"


def _time(seconds: float) -> str:
    if seconds < 120:
        return f"{seconds:.0f} s" if seconds >= 10 or seconds == 0 else f"{_two_digits(seconds)} s"
    if seconds >= 3600:
        hours, minutes = divmod(round(seconds / 60), 60)
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"


def _volume_metric(cubic_metres: float) -> str:
    return f"{cubic_metres * 1e3:.1f} l" if cubic_metres >= 1e-3 else f"{cubic_metres * 1e6:.1f} ml"


def _volume_imperial(cubic_metres: float) -> str:
    gallons = cubic_metres / float(231 * INCH**3)
    return f"{gallons:.1f} gal" if gallons >= 1 else f"{gallons * 231:.1f} in3"


def _angle(radians: float) -> str:
    return f"{math.degrees(radians):.1f}".removesuffix(".0") + " deg"


_WRITERS = {
    (Kind.LENGTH, "metric"): lambda m: f"{m * 1e3:.1f} mm",
    (Kind.LENGTH, "imperial"): lambda m: f"{m / 0.0254:.2f} in",
    (Kind.DIFFERENCE, "metric"): lambda k: f"{k:.0f} C",
    (Kind.DIFFERENCE, "imperial"): lambda k: f"{k * 1.8:.0f} F",
    (Kind.TIME, "metric"): _time,
    (Kind.TIME, "imperial"): _time,
    (Kind.MASS, "metric"): _mass_metric,
    (Kind.MASS, "imperial"): _mass_imperial,
    (Kind.FORCE, "metric"): lambda n: f"{n / 1e3:.0f} kN" if n >= 1e4 else f"{n / 1e3:.2f} kN",
    (Kind.FORCE, "imperial"): lambda n: f"{n / float(2000 * POUND * GRAVITY):.1f} tonf",
    (Kind.ANGLE, "metric"): _angle,
    (Kind.ANGLE, "imperial"): _angle,
    (Kind.VOLUME, "metric"): _volume_metric,
    (Kind.VOLUME, "imperial"): _volume_imperial,
}
