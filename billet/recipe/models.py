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
from billet.recipe.tables import Etch, Hardening, Item, JoinItem, Rack, Stages, Target
from billet.steps import Step, some_steps, step_types

VERSION = 2


class BarTable(BaseModel):
    """A bar: a stack of plates, or earlier bars joined, and the steps done to it."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, populate_by_name=True)
    name: str = Field(
        min_length=1, max_length=80, description='What the bar is called by joins and commands; example "billet".'
    )
    width: Length | None = Field(
        None,
        description='Width of the plates; needed for a stack. Left out for a join, the bars\' own; example "40 mm".',
    )
    length: Length | None = Field(
        None,
        description='Length of the plates; needed for a stack. Left out for a join, the bars\' own; example "150 mm".',
    )
    stack: tuple[str, ...] | None = Field(
        None,
        description='The plates bottom to top, each a steel and a thickness. Left out, give join; example ["1084 3.2 mm", "15N20 1.6 mm"].',
    )
    repeat: Count = Field(1, le=100_000, description="How often the stack is laid on itself. Default 1; example 7.")
    base: str | None = Field(
        None,
        description='One more plate under all others; with a cap it keeps the faces of one steel through the scale. Left out, there is none; example "1084 5 mm".',
    )
    cap: str | None = Field(
        None, description='One more plate on top of all others. Left out, there is none; example "1084 3.2 mm".'
    )
    uneven: Share = Field(
        0.0,
        description="How uneven the plates are: the scatter of their thickness as a share of it, 0 to 1. Default 0.0; example 0.05.",
    )
    seed: Seed = Field(1, description="Any whole number; the same one gives the same uneven bar. Default 1; example 3.")
    join: tuple[Item, ...] | None = Field(
        None,
        description='Earlier bars laid together into this one, bottom to top or edge side first. Left out, give stack; example ["jacket", "core", "jacket"].',
    )
    as_: Literal["layers", "side by side"] | None = Field(
        None,
        alias="as",
        description='How joined bars lie; needed for a join. Left out for a stack, nothing; example "side by side".',
    )
    step: tuple[Any, ...] = Field(
        (),
        description='The steps done to the bar, one table each, in the order of the work. Left out, nothing is done; example [{ do = "weld", temperature = "1150 C", soak = "10 min" }].',
    )

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
    return _with_steps(step_types())


@cache
def tables_with(verbs: frozenset[str]) -> type[RecipeTables]:
    """The model of a recipe that holds no steps but these: what takes these steps is taken by `models` too, and made
    sooner. Its refusals are not for smiths, who want to hear of every step there is.
    """
    kinds = some_steps(verbs)
    return _with_steps(kinds)[1] if len(kinds) > 1 else models()[1]


def _with_steps(kinds: Mapping[str, type[Step]]) -> tuple[type[BarTable], type[RecipeTables]]:
    union: Any = Annotated[reduce(or_, kinds.values()), Field(discriminator="do")]
    bar = create_model(
        "BarTable", __base__=BarTable, __doc__=BarTable.__doc__, step=(tuple[union, ...], BarTable.model_fields["step"])
    )
    tables = create_model(
        "Recipe",
        __base__=RecipeTables,
        __doc__=RecipeTables.__doc__,
        bar=(tuple[bar, ...], RecipeTables.model_fields["bar"]),
    )
    return bar, tables


class RecipeTables(BaseModel):
    """One knife, from the stack to the finished blade."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    version: int = Field(VERSION, strict=True, description="Version of this file's grammar. Default 2; example 2.")
    title: str = Field(
        "untitled",
        max_length=200,
        description='What the knife is called on sheets and pictures. Default "untitled"; example "Smokehouse slicer".',
    )
    units: Literal["metric", "imperial"] = Field(
        "metric",
        description='How results are printed: mm and Celsius, or inches and Fahrenheit; the recipe itself may mix them. Default "metric"; example "imperial".',
    )
    shop: Shop = Field(
        Shop(),
        description='Your shop\'s habits and limits; a file shop.toml beside the recipes may hold them for all. Left out, usual ones; example { kerf = "2 mm" }.',
    )
    steels: dict[str, dict[str, Any]] = Field(
        default_factory=dict,
        description='Steels of your own, such as a bar with a mill certificate, like a known one but for what you say. Left out, the library alone; example { tool = { like = "1084", C = 0.86 } }.',
    )
    bar: tuple[Any, ...] = Field(
        (),
        description='The bars, one table each, in the order they are made; the blade is forged or ground from the last. Left out, the file holds tables for other recipes; example [{ name = "billet", width = "40 mm", length = "150 mm", stack = ["1084 3.2 mm"] }].',
    )
    blade: BladeDesign | None = Field(
        None,
        description='The finished knife. Left out, nothing is said about what the bar holds; example { length = "240 mm", heel_height = "52 mm" }.',
    )
    target: Target | None = Field(
        None,
        description="What `billet plan` aims at. Left out, options of the command say it; example { layers = 200 }.",
    )
    hardening: Hardening = Field(
        Hardening(),
        description="How the blade is to be hardened, for `billet harden`. Left out, it advises; example { hardness = 61 }.",
    )
    etch: Etch = Field(
        Etch(),
        description='How the picture is etched and lit. Left out, etched and rubbed back; example { finish = "deep etch" }.',
    )
    rack: Rack = Field(
        Rack(),
        description='The bars in hand, for `billet plan`. Left out, any plate can be had; example { bars = ["2 of 1084 1/8 x 1 1/2 x 48 in"] }.',
    )
    stages: Stages = Field(
        Stages(),
        description='What this knife does otherwise than usual after the forge. Left out, the usual stages; example { skip = ["anneal"] }.',
    )


def schema() -> Mapping[str, Any]:
    """The JSON Schema of a recipe, for editors."""
    made = models()[1].model_json_schema()
    one = made["properties"]["blade"]
    made["properties"]["blade"] = {**one, "anyOf": [*one["anyOf"], {"type": "array", "items": one["anyOf"][0]}]}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "billet recipe",
        **{k: v for k, v in made.items() if k != "title"},
    }
