"""Trim: crop the ends."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import pare
from billet.base.fields import Length
from billet.steps.step import Step


class Trim(Step):
    """Crop this much off both ends."""

    do: Literal["trim"] = "trim"
    takes_round: ClassVar[bool] = True
    follows_forging: ClassVar[bool] = True
    follows_draw_out: ClassVar[bool] = True
    each_end: Length = Field(description='Cropped off either end; example "10 mm".')

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, taken = pare(bar, left=self.each_end, right=self.each_end)
        return Outcome(bar, Lost(trim=taken))
