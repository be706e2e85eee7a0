"""Anneal: soften the bar under the critical range, or cool it slowly from above."""

from __future__ import annotations

from typing import ClassVar, Literal

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.heating.heats import heats
from billet.steps.step import Hot


class Anneal(Hot):
    """Soften the bar for sawing and filing: held under the critical range, or cooled slowly from above it."""

    do: Literal["anneal"] = "anneal"
    takes_round: ClassVar[bool] = True
    follows_forging: ClassVar[bool] = True
    follows_draw_out: ClassVar[bool] = True

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, lost = heats(bar, bench, self.temperature, self.soak, self.heats)
        return Outcome(bar, lost)
