"""The least that must come off each face: scale, the scratches that are there, and soft skin where the smith knows it.

Only a file test or the smith's own figure constrains the plan by the skin; the ledger's figure is a band that warns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from billet.base.errors import InputError

# Mean grain size of coated abrasives by P number [m]; FEPA 43 and ISO 6344, from memory.
GRAIN = {
    24: 764e-6,
    36: 538e-6,
    40: 425e-6,
    50: 336e-6,
    60: 269e-6,
    80: 201e-6,
    100: 162e-6,
    120: 125e-6,
    150: 100e-6,
    180: 82e-6,
    220: 68e-6,
    240: 58.5e-6,
    320: 46.2e-6,
    400: 35.0e-6,
    600: 25.8e-6,
    800: 21.8e-6,
    1000: 18.3e-6,
    1200: 15.3e-6,
    2000: 10.3e-6,
    2500: 8.4e-6,
}
SCRATCH_SHARE = 0.4  # of the grain; from memory that going from 120 grit to polish takes about 0.05 mm a face
BLACK_SCALE = 0.05e-3  # scale still on a face not ground yet [m]; common practice, no source
FRESH_SKIN = (0.10e-3, 0.25e-3)  # to grind off each face after hardening [m]; common practice, from memory


def scratch_depth(grit: float) -> float:
    """Return how deep the scratches of a grit go [m], for P 24 to P 2500; a judgement, see SCRATCH_SHARE."""
    low, high = min(GRAIN), max(GRAIN)
    if not low <= grit <= high:
        raise InputError(f"--grit: found {grit:g}, wanted a number of coated abrasives from {low} to {high}.")
    return SCRATCH_SHARE * float(np.exp(np.interp(np.log(grit), np.log(list(GRAIN)), np.log(list(GRAIN.values())))))


@dataclass(frozen=True)
class Least:
    """The least to take off each face [m].

    ``skin`` is the smith's own figure, None where there is none; then ``scale`` counts. ``grit`` is the belt that was
    last on the blade, None where its faces are still black: its scratches count in any case.
    """

    skin: float | None = None
    grit: float | None = None
    scale: float | None = None

    def __post_init__(self) -> None:
        for name, size in (("--least", self.skin), ("--scale", self.scale)):
            if size is not None and not 0 <= size < 0.05:
                raise InputError(f"{name}: found {size * 1e3:g} mm, wanted what comes off each face, such as 0.1 mm.")
        _ = self.scratch

    @property
    def scratch(self) -> float:
        """Return how deep the scratches on the face go [m]."""
        return 0.0 if self.grit is None else scratch_depth(self.grit)

    @property
    def black(self) -> float:
        """Return the scale on the face [m]: as told, else a usual figure while no belt has been over it."""
        if self.scale is not None:
            return self.scale
        return BLACK_SCALE if self.grit is None else 0.0

    @property
    def face(self) -> float:
        """Return the least to take off each face [m]."""
        return max(self.scratch, self.black if self.skin is None else self.skin)


@dataclass(frozen=True)
class SkinBand:
    """Carbon-poor skin a face may still carry [m]: from a rich or coated fire to one that scales freely.

    ``bar`` is the thickness of the bar it was reckoned for [m], from which what has been ground off since is told; None
    for a skin that is there whatever was ground before.
    """

    low: float
    high: float
    source: str
    bar: float | None = None

    def left(self, thickness: float) -> tuple[float, float]:
        """Return what is left of it where the blade now measures a thickness [m]."""
        gone = 0.0 if self.bar is None else max(0.0, (self.bar - thickness) / 2)
        return max(0.0, self.low - gone), max(0.0, self.high - gone)


FRESH = SkinBand(*FRESH_SKIN, "common practice for what hardening burns, no source")
