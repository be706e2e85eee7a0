"""The forms of the page, made of the recipe's models: every field with its sentence, its default, its kind."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from billet.blade.bevels import KINDS, NEEDED
from billet.manual.described import Described, fields_of, recipe_tables
from billet.steel.library import library
from billet.steps import step_types
from render.page.field_words import CHOICES, hint, label, page_sentence
from render.page.inch_words import inch_default, inch_example, inch_words
from render.page.usual import heat_kind, usual_heat

_SEEN = ("false", "true", '""')  # defaults that a box shows, or an empty field
_DIMENSION = re.compile(r"A (length|temperature|time|mass|force|angle|volume) as text with its unit")


@cache
def forms(units: str = "metric") -> dict[str, Any]:
    """Steps, tables and steels as the page offers them, sizes in their sentences in `units`."""
    return {
        "steps": [
            {"do": verb, **_form(model, units, verb), "usual": usual_heat(verb, units), "heat": heat_kind(verb)}
            for verb, model in step_types().items()
        ],
        "tables": {path: _form(model, units, path) for path, model in recipe_tables()},
        "grinds": _grinds(units),
        "steels": [{"name": s.name, "aka": list(s.nicknames), "words": s.designation} for s in library().values()],
    }


def _grinds(units: str) -> list[dict[str, Any]]:
    """The kinds of grind: the numbers each may carry, and an example of the one it cannot do without."""
    out: list[dict[str, Any]] = []
    for kind, takes in KINDS.items():
        name, _, example = NEEDED.get(kind, ("", ""))[1].partition(" = ")
        given = {name: inch_example(example.strip('"')) if units == "imperial" else example.strip('"')} if name else {}
        out.append({"kind": kind, "takes": list(takes), "needs": given})
    out = [one for one in out if one["kind"] != "unground"]
    return [*out, {"kind": "chisel", "takes": ["height", "wheel"], "needs": {"flat": "left"}}]


def _form(model: type[BaseModel], units: str, owner: str) -> dict[str, Any]:
    sentence = " ".join((model.__doc__ or "").split("\n\n")[0].split())
    fields = [_field(one, units, owner) for one in fields_of(model)]
    sentence = sentence.replace("`", "")
    return {"sentence": inch_words(sentence) if units == "imperial" else sentence, "fields": fields}


def _field(one: Described, units: str, owner: str) -> dict[str, Any]:
    inches = units == "imperial"
    sentence = inch_words(one.sentence) if inches else one.sentence
    default = inch_default(one.default) if inches and one.default else one.default
    example = inch_example(one.example) if inches and one.example else one.example
    placed = hint(default, example)
    inner = list(dict.fromkeys(_held(one.info.annotation)))
    dimension = _DIMENSION.search(
        f"{one.info.annotation} {[vars(m) if hasattr(m, '__dict__') else m for m in one.info.metadata]}"
    )
    return {
        "name": one.key,
        "label": label(owner, one.key),
        "sentence": page_sentence(sentence, bool(placed) or len(one.choices) > 1 or default in _SEEN),
        "required": one.info.is_required(),
        "default": default,
        "example": example,
        "hint": placed,
        "choices": list(one.choices),
        "choice_words": [CHOICES.get(word, word) for word in one.choices],
        "dimension": dimension[1] if dimension else None,
        "kind": "quantity" if dimension else _kind(one, inner),
        "fields": [_field(part, units, f"{owner}.{one.key}".lstrip(".")) for part in fields_of(inner[0])]
        if len(inner) == 1
        else [],
    }


def _held(annotation: Any) -> Iterator[type[BaseModel]]:
    """The models an annotation holds, steps too."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _held(part)


def _kind(one: Described, inner: list[type[BaseModel]]) -> str:
    """choice, table, yes or no, list, number or text, as the annotation has it."""
    words = str(one.info.annotation)
    if len(one.choices) > 1:
        return "choice"
    if inner:
        return "table"
    if "tuple" in words or "dict" in words:
        return "list"
    if "bool" in words:
        return "yes or no"
    return "number" if "int" in words or "float" in words else "text"
