"""Raindrop: dimples all over the faces, drilled or pressed, then made flat."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Length, Seed
from billet.forming.relief_shapes import Dimples, Faces
from billet.steps.flatten import Made, Relieved


class Raindrop(Relieved):
    """Dimples `across` wide and at most `depth` deep, `spacing` apart on a six-sided layout, a little unequal and out
    of true as the seed has it.
    """

    do: Literal["raindrop"] = "raindrop"
    method: Made = "cut"
    across: Length
    depth: Length
    spacing: Length
    faces: Faces = "staggered"
    seed: Seed = 1

    @model_validator(mode="after")
    def _sizes(self) -> Raindrop:
        for name in ("across", "depth", "spacing"):
            if getattr(self, name) <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "6 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        dimples = Dimples(self.across, self.depth, self.spacing, self.faces, self.seed)
        return self.carve(bar, bench, dimples, self.method, one_sided=self.faces == "top")
