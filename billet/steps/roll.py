"""Turn: roll the bar about its length."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field

from billet.bar.bar import Bar, Laminar, worked
from billet.bar.hand import seen
from billet.bar.maps import affine
from billet.bar.outcome import Bench, Outcome
from billet.steps.step import Step


class Roll(Step):
    """Roll the bar about its length: one quarter stands it on edge, two turn it over."""

    do: Literal["roll"] = "roll"
    takes_round: ClassVar[bool] = True
    quarters: int = Field(
        1,
        ge=-3,
        le=3,
        strict=True,
        description="Quarter turns, -3 to 3: 1 stands the bar on edge, 2 turn it over. Default 1; example 2.",
    )

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        quarters = self.quarters % 4
        odd = quarters % 2 == 1
        width, thickness = (bar.thickness, bar.width) if odd else (bar.width, bar.thickness)
        if bar.laminate is not None and not odd:
            if quarters == 0:
                return Outcome(bar)
            over = Laminar(bar.laminate.turned_over(), seen(bar.waves, (1, -1, -1)))
            return Outcome(replace(bar, material=over))
        c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters]
        rolled = affine(np.array([[1, 0, 0], [0, c, s], [0, -s, c]], float))
        material, skins = worked(bar.material, rolled, bench.number), bar.skins.turned(quarters)
        return Outcome(replace(bar, width=width, thickness=thickness, material=material, skins=skins))
