"""Surface: grind metal off the faces or the sides."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import pare
from billet.base.fields import Length
from billet.steps.step import Step


class SurfaceGrind(Step):
    """Grind metal off the top face, the bottom face and the two edges."""

    do: Literal["surface_grind"] = "surface_grind"
    eats_faces: ClassVar[bool] = True
    follows_forging: ClassVar[bool] = True
    follows_draw_out: ClassVar[bool] = True
    top: Length = Field(0.0, description='Ground off the top face. Default "0 mm"; example "0.3 mm".')
    bottom: Length = Field(0.0, description='Ground off the bottom face. Default "0 mm"; example "0.3 mm".')
    edges: Length = Field(0.0, description='Ground off each of the two edges. Default "0 mm"; example "1 mm".')

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, taken = pare(bar, bottom=self.bottom, top=self.top, sides=self.edges)
        return Outcome(bar, Lost(grinding=taken))
