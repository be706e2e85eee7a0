"""Surface: grind metal off the faces or the sides."""

from __future__ import annotations

from typing import Literal

from billet.bar.bar import Bar
from billet.base.fields import Length
from billet.steps.step import Bench, Lost, Outcome, Step, pare


class Surface(Step):
    """Grind metal off: so much from the top face, the bottom face and each of the two sides."""

    do: Literal["surface"] = "surface"
    top: Length = 0.0
    bottom: Length = 0.0
    edges: Length = 0.0

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, taken = pare(bar, bottom=self.bottom, top=self.top, sides=self.edges)
        return Outcome(bar, Lost(grinding=taken))
