"""Field types of the recipe's models: quantities read at the door, and sentences for what is wrong.

A recipe file is validated with ``context={"door": True}``: every quantity must then be a text with a unit. Python
callers leave the context out and may pass SI floats.
"""

import difflib
import math
import re
from collections.abc import Callable, Collection, Mapping
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, WithJsonSchema

from billet.base.errors import InputError
from billet.base.units import EXAMPLES, Kind, read

_MOST = {  # past any workshop, so a slip of the pen: SI value and how it is said
    Kind.LENGTH: (1e4, "10 km"),
    Kind.TEMPERATURE: (2273.15, "2000 C"),
    Kind.TIME: (3.6e6, "1000 h"),
}


def _reader(kind: Kind, signed: bool) -> Callable[[object, ValidationInfo], float]:
    """A validator that reads texts, and lets a plain SI number pass unless the value comes through the door."""

    def validate(value: object, info: ValidationInfo) -> float:
        field = info.field_name or kind.value
        at_the_door = bool(isinstance(info.context, Mapping) and info.context.get("door"))
        if at_the_door or isinstance(value, bool) or not isinstance(value, int | float):
            try:
                return _likely(read(value, kind, field, signed=signed), value, kind, field)
            except InputError as error:
                raise ValueError(str(error)) from None
        if not math.isfinite(value) or (value < 0 and not signed):
            raise ValueError(f"{field}: found {value}, wanted a finite {kind.value} in SI units that is not negative.")
        return float(value)

    return validate


def _likely(number: float, written: object, kind: Kind, field: str) -> float:
    """The number, unless it is past anything a workshop holds."""
    most, words = _MOST.get(kind, (math.inf, ""))
    if abs(number) > most:
        first, second = EXAMPLES[kind]
        raise InputError(
            f"{field}: found {_quoted(written)}, which is past anything in a workshop; "
            f'wanted a {kind.value} of at most {words}, for example "{first}" or "{second}".'
        )
    return number


def _schema(kind: Kind) -> WithJsonSchema:
    description = f"A {kind.value} as text with its unit."
    return WithJsonSchema({"type": "string", "description": description, "examples": list(EXAMPLES[kind])})


Length = Annotated[float, BeforeValidator(_reader(Kind.LENGTH, False)), _schema(Kind.LENGTH)]
SignedLength = Annotated[float, BeforeValidator(_reader(Kind.LENGTH, True)), _schema(Kind.LENGTH)]
Temperature = Annotated[float, BeforeValidator(_reader(Kind.TEMPERATURE, False)), _schema(Kind.TEMPERATURE)]
Duration = Annotated[float, BeforeValidator(_reader(Kind.TIME, False)), _schema(Kind.TIME)]
Mass = Annotated[float, BeforeValidator(_reader(Kind.MASS, False)), _schema(Kind.MASS)]
Force = Annotated[float, BeforeValidator(_reader(Kind.FORCE, False)), _schema(Kind.FORCE)]
Angle = Annotated[float, BeforeValidator(_reader(Kind.ANGLE, True)), _schema(Kind.ANGLE)]
Volume = Annotated[float, BeforeValidator(_reader(Kind.VOLUME, False)), _schema(Kind.VOLUME)]


def _held(seconds: float) -> float:
    """A soak of nothing, or of a second and more: less is a slip of the pen for minutes."""
    if 0.0 < seconds < 1.0:
        raise ValueError(f'found {seconds:.3g} s, wanted "0 s" for no soak, or a second or more, such as "5 min".')
    return seconds


Soak = Annotated[float, BeforeValidator(_reader(Kind.TIME, False)), AfterValidator(_held), _schema(Kind.TIME)]


def _number(value: object) -> object:
    """Refuse what only looks like a number: true and false, text, arrays."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"found {value!r}, wanted a bare number.")
    return value


Count = Annotated[int, Field(strict=True, ge=1, description="A whole number, 1 or more.")]
Heats = Annotated[int, Field(strict=True, ge=1, le=1000, description="How many heats, 1 or more.")]
Repeats = Annotated[int, Field(strict=True, ge=1, le=50, description="How often, 1 or more.")]
Seed = Annotated[int, Field(strict=True, ge=0, lt=2**63, description="Any whole number; another one, another chance.")]
Share = Annotated[float, BeforeValidator(_number), Field(ge=0.0, le=1.0, description="A share from 0 to 1.")]


def sentence(error: Mapping[str, Any], known: Collection[str] = ()) -> str:
    """One plain sentence for one error dict of pydantic's ``ValidationError.errors()``.

    ``known`` are the keys that would have been accepted in the place of an unknown one; the nearest is offered. The
    caller adds file and line; the sentence names the field itself.
    """
    key, kind, found = _place(error.get("loc") or ("value",)), str(error.get("type")), error.get("input")
    if kind == "extra_forbidden":
        return f'I do not know the key "{key[:_LONG]}" here{_offer(key, known)}'
    if kind == "missing":
        return f'The key "{key}" is missing here.'
    text = str(error.get("msg", "")).removeprefix("Value error, ")
    if kind == "value_error" and not error.get("loc"):
        return text
    if kind == "value_error":
        return text if text.startswith(f"{key}:") else f"{key}: {re.sub(r'^[a-z_]+: (?=found )', '', text)}"
    bounds = {name: f"{v:g}" if isinstance(v, float) else v for name, v in error.get("ctx", {}).items()}
    wanted = _WANTED.get(kind, "{message}").format(message=_lower_first(text), **bounds)
    return f"{key}: found {_quoted(found)}, wanted {wanted}."


_LONG = 60  # letters of what was found that are repeated
_WANTED = {
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "float_type": "a bare number",
    "float_parsing": "a bare number",
    "finite_number": "a finite number",
    "string_type": "a text in quotes",
    "bool_type": "true or false",
    "list_type": "a list",
    "tuple_type": "a list",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "literal_error": "{expected}",
    "enum": "{expected}",
    "greater_than_equal": "{ge} or more",
    "greater_than": "more than {gt}",
    "less_than_equal": "{le} or less",
    "less_than": "less than {lt}",
    "string_too_short": "at least {min_length} letter",
    "string_too_long": "at most {max_length} letters",
    "too_short": "at least {min_length} of them",
    "too_long": "at most {max_length} of them",
}


_TRIED = re.compile(r"[\[(]|^[A-Z]")  # "function-before[...]", "EndTrim": a union's kinds, no keys


def _place(location: tuple[int | str, ...]) -> str:
    """The last key of a location; an item of a list is counted from one, and which of several kinds was tried is left out."""
    told = tuple(part for part in location if isinstance(part, int) or not _TRIED.search(part))
    location = told or location
    if isinstance(location[-1], str) or len(location) == 1:
        return str(location[-1])
    return f"{location[-2]} number {location[-1] + 1}"


def _offer(key: str, known: Collection[str]) -> str:
    near = difflib.get_close_matches(key, list(known), n=1, cutoff=0.5)
    if near:
        return f'; did you mean "{near[0]}"?'
    return f"; known are {', '.join(sorted(known))}." if known else "."


def _quoted(value: object) -> str:
    return f'"{value[:60]}"' if isinstance(value, str) else repr(value)[:60]


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]
