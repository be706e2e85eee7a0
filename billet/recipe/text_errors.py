"""Sentences for what is wrong in a recipe, each with its place in the file."""

from __future__ import annotations

import difflib
import itertools
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from billet.base.fields import sentence
from billet.recipe.models import models
from billet.recipe.recipe import Recipe
from billet.steps import step_types


def sentences(error: ValidationError, shell: Recipe) -> Iterator[str]:
    """Our own sentences for pydantic's errors, each with its place."""
    for one in error.errors():
        path, model = _follow(one["loc"])
        known = sorted(f.alias or n for n, f in model.model_fields.items()) if model else []
        words = sentence(dict(one), known)
        if one["type"] in ("union_tag_invalid", "union_tag_not_found"):
            found = one["input"].get("do") if isinstance(one["input"], dict) else one["input"]
            verbs = ", ".join(step_types())
            near = difflib.get_close_matches(str(found), list(step_types()), n=1)
            hint = f'; did you mean "{near[0]}"?' if near else f"; the steps are {verbs}"
            words = f"do: found {found!r}, wanted the name of a step{hint}"
            path = (*path, "do")
        elif one["type"] == "value_error" and isinstance(path[-1] if path else 0, int):
            words = str(one["msg"]).removeprefix("Value error, ")
        yield f"{shell.place(path)}{_within(path)}{words}"


def _within(path: tuple[str | int, ...]) -> str:
    """Words for a place inside the file: "bar 1, step 3: "."""
    words = [
        f"{a} {b + 1}"
        for a, b in itertools.pairwise(path)
        if isinstance(a, str) and isinstance(b, int) and a in ("bar", "step")
    ]
    return ", ".join(words) + ": " if words else ""


def _follow(location: tuple[str | int, ...]) -> tuple[tuple[str | int, ...], type[BaseModel] | None]:
    """The path in the file of a pydantic location (which also holds the verbs of steps), and the model around its last key."""
    model: type[BaseModel] | None = models()[1]
    path: list[str | int] = []
    verbs = step_types()
    for place, part in enumerate(location):
        tagged = place >= 2 and location[place - 2] == "step" and isinstance(location[place - 1], int)
        if tagged and part in verbs:
            model = verbs[str(part)]
            continue
        last = place == len(location) - 1
        if isinstance(part, str) and not last and model is not None:
            field = next((f for n, f in model.model_fields.items() if part in (n, f.alias)), None)
            model = _model_in(field.annotation) if field else None
        path.append(part)
    return tuple(path), model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The first model inside a type."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        if found := _model_in(inner):
            return found
    return None
