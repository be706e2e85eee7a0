"""Normalise: above the critical range and cooled in still air, for fine and even grain."""

from __future__ import annotations

from typing import ClassVar, Literal

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.messages import Note, hot, note
from billet.heating.heats import heats
from billet.steps.step import Hot

COLD = 1033.15  # [K], 760 C: under it no plain steel of a blade is austenite throughout (common practice, no source)


class Normalise(Hot):
    """Heat above the critical range and cool in still air: grain that grew at the welds is made fine again."""

    do: Literal["normalise"] = "normalise"
    takes_round: ClassVar[bool] = True
    follows_forging: ClassVar[bool] = True
    follows_draw_out: ClassVar[bool] = True
    refines_grain: ClassVar[bool] = True

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, lost = heats(bar, bench, self.temperature, self.soak, self.heats)
        return Outcome(bar, lost, notes=self._too_cold())

    def _too_cold(self) -> tuple[Note, ...]:
        if self.temperature >= COLD:
            return ()
        return (note("{heat} is too cold to make new grains; look at the figure again", heat=hot(self.temperature)),)
