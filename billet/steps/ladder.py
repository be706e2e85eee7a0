"""Ladder: grooves across the bar, cut and forged flat, or pressed and ground flat."""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Length
from billet.forming.relief_shapes import Faces, Grooves
from billet.steps.flatten import Made, Relieved


class Ladder(Relieved):
    """Grooves every `pitch`, `groove` wide and `depth` deep, on both faces half a pitch apart (staggered), over one
    another (opposed) or on the top alone.
    """

    do: Literal["ladder"] = "ladder"
    method: Made = "cut"
    pitch: Length
    groove: Length
    depth: Length
    faces: Faces = "staggered"

    @model_validator(mode="after")
    def _sizes(self) -> Ladder:
        for name in ("pitch", "groove", "depth"):
            if getattr(self, name) <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "3 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        grooves = Grooves(self.pitch, self.groove, self.depth, self.faces)
        return self.carve(bar, bench, grooves, self.method, one_sided=self.faces == "top")
