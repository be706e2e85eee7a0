"""Ladder: grooves across the bar, cut and forged flat, or pressed and ground flat."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Length
from billet.forming.relief_shapes import Faces, Grooves
from billet.steps.flatten import Made, Relieved


class Ladder(Relieved):
    """Grooves across the bar, cut and forged flat, or pressed and ground flat."""

    do: Literal["ladder"] = "ladder"
    method: Made = Field(
        "cut",
        description='How the grooves are made: cut out, then forged flat; or pressed in, then ground flat. Default "cut"; example "pressed".',
    )
    pitch: Length = Field(
        description='From the middle of one groove to the middle of the next on the same face; example "12 mm".'
    )
    groove: Length = Field(description='How wide a groove is at the surface; example "6 mm".')
    depth: Length = Field(description='How deep a groove is; example "1.5 mm".')
    faces: Faces = Field(
        "staggered",
        description='Where the grooves lie: on both faces half a pitch apart, on both over one another, or on the top alone. Default "staggered"; example "opposed".',
    )

    @model_validator(mode="after")
    def _sizes(self) -> Ladder:
        for name in ("pitch", "groove", "depth"):
            if getattr(self, name) <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "3 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        grooves = Grooves(self.pitch, self.groove, self.depth, self.faces)
        return self.carve(bar, bench, grooves, self.method, one_sided=self.faces == "top")
