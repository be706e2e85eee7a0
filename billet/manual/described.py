"""Every field a recipe may hold, with its own sentence: what the reference and its tests read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from billet.recipe.models import models
from billet.steps import step_types


@dataclass(frozen=True)
class Described:
    """One field of a model as the reference tells it."""

    model: type[BaseModel]
    name: str
    info: FieldInfo

    @property
    def key(self) -> str:
        """The key in the recipe."""
        return self.info.alias or self.name

    @property
    def sentence(self) -> str:
        """What it is, its default and an example."""
        return self.info.description or ""

    @property
    def choices(self) -> tuple[str, ...]:
        """The words it may be, when it is one of a few."""
        return tuple(str(word) for word in _literals(self.info.annotation))

    @property
    def example(self) -> str | None:
        """The example of the sentence, as TOML."""
        found = re.search(r"[;,.] [Ee]xample (.+)\.$", self.sentence)
        return found[1] if found else None

    @property
    def default(self) -> str | None:
        """The default of the sentence, as TOML; None where leaving it out means something else."""
        found = re.search(r"\. Default (.+?); example ", self.sentence)
        return found[1] if found else None


def _literals(annotation: Any) -> tuple[Any, ...]:
    """The words of a Literal, also inside a union."""
    if get_origin(annotation) is Literal:
        return get_args(annotation)
    return tuple(word for part in get_args(annotation) for word in _literals(part))


def fields_of(model: type[BaseModel]) -> tuple[Described, ...]:
    """The fields of a model in order, without the verb of a step."""
    return tuple(Described(model, name, info) for name, info in model.model_fields.items() if name != "do")


def models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    """The models an annotation holds, also inside unions and lists; steps are left to `step_types`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        if "do" not in annotation.model_fields:
            yield annotation
        return
    for part in get_args(annotation):
        yield from models_in(part)


def tables_under(model: type[BaseModel], path: str) -> Iterator[tuple[str, type[BaseModel]]]:
    """A model and those inside it, each with its path in a recipe, such as `blade.spine.finished`."""
    yield path, model
    for field in fields_of(model):
        inner = f"{path}.{field.key}" if path else field.key
        for part in models_in(field.info.annotation):
            yield from tables_under(part, inner)


def recipe_tables() -> tuple[tuple[str, type[BaseModel]], ...]:
    """Every table of a recipe but the steps, by path; the first is the recipe itself, whose path is empty."""
    return tuple(tables_under(models()[1], ""))


def all_fields() -> tuple[Described, ...]:
    """Every field of every table and step, once."""
    kinds = [model for _, model in recipe_tables()] + list(step_types().values())
    return tuple(field for model in dict.fromkeys(kinds) for field in fields_of(model))
