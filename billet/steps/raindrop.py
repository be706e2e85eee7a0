"""Raindrop: dimples all over the faces, drilled or pressed, then made flat."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Length, Seed
from billet.forming.relief_shapes import Dimples, Faces
from billet.steps.flatten import Made, Relieved


class Raindrop(Relieved):
    """Dimples over the bar, cut and forged flat, or pressed and ground flat; laid out in sixes, a little unequal and out of true."""

    do: Literal["raindrop"] = "raindrop"
    method: Made = Field(
        "cut",
        description='How the dimples are made: cut out, then forged flat; or pressed in, then ground flat. Default "cut"; example "pressed".',
    )
    across: Length = Field(description='How wide a dimple is at the surface; example "8 mm".')
    depth: Length = Field(description='How deep the deepest dimple is; example "1.2 mm".')
    spacing: Length = Field(description='From the middle of one dimple to the next; example "12 mm".')
    faces: Faces = Field(
        "staggered",
        description='Where the dimples lie: on both faces between one another, on both over one another, or on the top alone. Default "staggered"; example "opposed".',
    )
    seed: Seed = Field(
        1, description="Any whole number; the same one drills the same dimples again. Default 1; example 7."
    )

    @model_validator(mode="after")
    def _sizes(self) -> Raindrop:
        for name in ("across", "depth", "spacing"):
            if getattr(self, name) <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "6 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        dimples = Dimples(self.across, self.depth, self.spacing, self.faces, self.seed)
        return self.carve(bar, bench, dimples, self.method, one_sided=self.faces == "top")
