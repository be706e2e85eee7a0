"""Heat: a forging heat, normalising or annealing; nothing is welded and nothing changes shape but for the scale."""

from __future__ import annotations

from typing import ClassVar, Literal

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.heating.heats import heats
from billet.steps.step import Hot


class Heat(Hot):
    """Heat the bar without welding or forging it: a heat that came to nothing, or one of its own."""

    do: Literal["heat"] = "heat"
    takes_round: ClassVar[bool] = True
    takes_unwelded: ClassVar[bool] = True
    follows_forging: ClassVar[bool] = True
    follows_draw_out: ClassVar[bool] = True
    refines_grain: ClassVar[bool] = True

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, lost = heats(bar, bench, self.temperature, self.soak, self.heats)
        return Outcome(bar, lost)
