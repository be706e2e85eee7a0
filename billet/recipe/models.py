"""The tables of a recipe file as models: what may stand in it, and its JSON Schema."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, reduce
from operator import or_
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, create_model, model_validator

from billet.base.fields import Count, Length, Seed, Share
from billet.base.shop import Shop
from billet.blade.design import BladeDesign
from billet.recipe.tables import Etch, Hardening, Item, JoinItem, Rack, Target
from billet.steps import step_types

VERSION = 2


class BarTable(BaseModel):
    """A bar: a stack of plates, or earlier bars joined, and the steps done to it."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
    name: str = Field(min_length=1, max_length=80)
    width: Length | None = None
    length: Length | None = None
    stack: tuple[str, ...] | None = Field(
        None, description='Plates bottom to top, such as ["1084 3.2 mm", "15N20 1.6 mm"].'
    )
    repeat: Count = Field(1, le=100_000)
    base: str | None = Field(
        None,
        description="A first plate, under all others; with a cap it keeps the faces of one steel through the scale.",
    )
    cap: str | None = Field(None, description="A last plate on top.")
    uneven: Share = Field(0.0, description="How unequal the plates are, as a standard deviation over their thickness.")
    seed: Seed = 1
    join: tuple[Item, ...] | None = Field(None, description="Earlier bars joined into this one.")
    as_: Literal["layers", "side by side"] | None = Field(None, alias="as")
    step: tuple[Any, ...] = ()

    @model_validator(mode="after")
    def _stack_or_join(self) -> BarTable:
        if (self.stack is None) == (self.join is None):
            raise ValueError(
                f'bar "{self.name}": give either a stack of plates or a join of earlier bars, and not both'
            )
        if self.join is not None and self.as_ is None:
            raise ValueError(f'bar "{self.name}": a join says how: as = "layers" or as = "side by side"')
        if self.stack is not None and (self.width is None or self.length is None):
            raise ValueError(
                f'bar "{self.name}": a stack needs width and length, such as width = "40 mm", length = "150 mm"'
            )
        if self.join is not None and not self.join:
            raise ValueError(
                f'bar "{self.name}": join is empty; name at least one earlier bar, such as join = ["cladding", "core", "cladding"]'
            )
        if self.stack is not None and not self.stack:
            raise ValueError(f'bar "{self.name}": stack is empty; name at least one plate, such as "1084 3.2 mm"')
        return self

    @property
    def items(self) -> tuple[JoinItem, ...]:
        """The joined bars."""
        return self.join or ()


@cache
def models() -> tuple[type[BarTable], type[RecipeTables]]:
    """The models with the steps filled in, once every step is known."""
    kinds: Any = reduce(or_, step_types().values())
    union: Any = Annotated[kinds, Field(discriminator="do")]
    bar = create_model("BarTable", __base__=BarTable, __doc__=BarTable.__doc__, step=(tuple[union, ...], ()))
    tables = create_model("Recipe", __base__=RecipeTables, __doc__=RecipeTables.__doc__, bar=(tuple[bar, ...], ()))
    return bar, tables


class RecipeTables(BaseModel):
    """One knife, from the stack to the finished blade."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    version: int = Field(VERSION, strict=True, description="Version of this file's grammar.")
    title: str = Field("untitled", max_length=200)
    units: Literal["metric", "imperial"] = Field("metric", description="How results are printed.")
    shop: Shop = Shop()
    steels: dict[str, dict[str, Any]] = Field(default_factory=dict, description="Bars with a mill certificate.")
    bar: tuple[Any, ...] = ()
    blade: BladeDesign | None = None
    target: Target | None = None
    hardening: Hardening = Hardening()
    etch: Etch = Etch()
    rack: Rack = Rack()


def schema() -> Mapping[str, Any]:
    """The JSON Schema of a recipe, for editors."""
    made = models()[1].model_json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "billet recipe",
        **{k: v for k, v in made.items() if k != "title"},
    }
