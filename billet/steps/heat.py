"""Heat: a forging heat, normalising or annealing; nothing is welded and nothing changes shape but for the scale."""

from __future__ import annotations

from typing import ClassVar, Literal

from billet.bar.bar import Bar
from billet.heating.heat import heats
from billet.steps.step import Bench, Hot, Outcome


class Heat(Hot):
    """Heat the bar without welding or forging it: normalise, anneal, harden, or a heat that came to nothing."""

    do: Literal["heat"] = "heat"
    takes_round: ClassVar[bool] = True

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, lost = heats(bar, bench, self.heat, self.time, self.heats)
        return Outcome(bar, lost)
