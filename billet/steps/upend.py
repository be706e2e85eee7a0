"""Stand: set the bar on its end, so that what was its height becomes its length."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from billet.bar.bar import Bar, worked
from billet.bar.maps import affine
from billet.bar.outcome import Bench, Outcome
from billet.steps.step import Step

_UPRIGHT = affine(np.array([[0, 0, -1], [0, 1, 0], [1, 0, 0]], float))


class Upend(Step):
    """Stand the bar on end: the new length is the old thickness, the new thickness the old length.

    New x = old z, new z = -old x.
    """

    do: Literal["upend"] = "upend"

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        material = worked(bar.material, _UPRIGHT, bench.number)
        return Outcome(
            replace(bar, length=bar.thickness, thickness=bar.length, material=material, skins=bar.skins.stood())
        )
