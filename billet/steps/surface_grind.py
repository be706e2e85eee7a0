"""Surface: grind metal off the faces or the sides."""

from __future__ import annotations

from typing import ClassVar, Literal

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import pare
from billet.base.fields import Length
from billet.steps.step import Step


class SurfaceGrind(Step):
    """Grind metal off: so much from the top face, the bottom face and each of the two sides."""

    do: Literal["surface_grind"] = "surface_grind"
    eats_faces: ClassVar[bool] = True
    follows_forging: ClassVar[bool] = True
    follows_draw_out: ClassVar[bool] = True
    top: Length = 0.0
    bottom: Length = 0.0
    edges: Length = 0.0

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, taken = pare(bar, bottom=self.bottom, top=self.top, sides=self.edges)
        return Outcome(bar, Lost(grinding=taken))
