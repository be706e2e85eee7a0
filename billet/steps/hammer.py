"""Hammer: the marks of uneven blows, ground flat. Real hammering is less regular; this is an adjustable likeness."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Length, Seed
from billet.forming.relief_shapes import Blows
from billet.steps.flatten import Relieved


class Hammer(Relieved):
    """Random hammer marks, this wide and up to this deep, then ground flat."""

    do: Literal["hammer"] = "hammer"
    mark: Length = Field(description='How wide one hammer mark is; example "12 mm".')
    depth: Length = Field(description='How deep the deepest mark is; example "1 mm".')
    seed: Seed = Field(
        1, description="Any whole number; the same one strikes the same marks again. Default 1; example 7."
    )

    @model_validator(mode="after")
    def _sizes(self) -> Hammer:
        for name in ("mark", "depth"):
            if getattr(self, name) <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "20 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        return self.carve(bar, bench, Blows(self.mark, self.depth, self.seed), "pressed", one_sided=False)
