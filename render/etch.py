"""From composition to etched brightness: how dark a steel turns in the acid, as a rank and never as a promise.

Nickel and chromium resist; manganese and the carbon of the martensite darken. The constants below are our own fit to
the order the trade agrees on (dark to bright): O1, 1084/1080/1075 | 1095, W1/W2, 80CrV2, 52100, 5160 | 8670, L6 | 15N20
| A203E, nickel, stainless. The order is common practice without a source; the distances between the ranks are ours and
unverified.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.laminate import Laminate
from billet.steel.library import ELEMENTS, Steel

Array = NDArray[np.float64]

_C, _MN, _CR, _NI, _W = (ELEMENTS.index(e) for e in ("C", "Mn", "Cr", "Ni", "W"))
_COUNTING = [_C, _MN, _CR, _NI, _W]
_SATURATED = 0.75  # carbon beyond about the eutectoid stays in carbides and darkens no further [wt%]
_CARBON = 1.4  # exponent of carbon below that
_MANGANESE, _CHROMIUM, _NICKEL, _TUNGSTEN = 0.30, 0.10, 1.0, 0.05  # log darkening per weight percent
_PASSIVE = 8.0  # chromium where the steel begins to stay untouched [wt%]
_ATTACK = 2.95  # log reflectance lost at full strength and unit darkening
_LEAST_CARBON = 1e-3

BRIGHTEST = 0.62
"""Linear reflectance of steel the acid leaves alone, hand-rubbed."""

MIXED_BELOW = 3e-6
"""Layers thinner than this in the blade have been mixed by the welding heats and are drawn as even grey [m]; from
memory.
"""


@dataclass(frozen=True)
class Finish:
    """How a face was finished after the etch: what the etch did and how the light takes it.

    strength: of the etch, 0 to 1. depth: of the relief [m]. gloss: how far the bright and the dark steel follow the
    highlight, 0 matte, 1 as the light falls. scratched: how plainly the rubbing shows on the bright and on the dark
    steel. film: speckle of the dark film. round: width of a flank over its height, wider where the abrasive rounded it.
    """

    strength: float
    depth: float
    gloss: tuple[float, float]
    scratched: tuple[float, float]
    film: float
    round: float


FINISHES = {
    "light etch": Finish(0.52, 3e-6, (0.90, 0.75), (0.075, 0.065), 0.012, 3.0),
    "deep etch": Finish(0.95, 22e-6, (0.85, 0.45), (0.040, 0.010), 0.050, 2.0),
    "rubbed back": Finish(0.82, 15e-6, (1.15, 0.70), (0.070, 0.030), 0.035, 3.5),
}
"""The finishes by the trade's names. Depths: a few micrometres after minutes, 10 to 25 after 40 minutes with scrubbing;
the scratches of the last grit show through relief shallower than about 5 micrometres (judgement, no source)."""


@dataclass(frozen=True)
class Look:
    """How the blade is etched and lit.

    strength: of the etch, 0 to 1. seams: how plainly carbon-poor metal shows, 0 not at all, 0.5 as its carbon says, 1
    twice that. depth: of the etched relief [m]. light: turned from the blade's length [rad]. two_tone: plain black and
    white, for working prints. finish: one of FINISHES.
    """

    strength: float = 0.7
    seams: float = 0.5
    depth: float = 15e-6
    light: float = 2.0
    two_tone: bool = False
    finish: str = "rubbed back"

    @property
    def how(self) -> Finish:
        """The finish's own figures."""
        return FINISHES[self.finish]


def darkening(composition: Array) -> NDArray[np.float32]:
    """Return how strongly the acid darkens a composition (..., elements) [wt%]: about 1 for carbon steel, 0 for nickel."""
    elements = np.ascontiguousarray(np.moveaxis(composition[..., _COUNTING], -1, 0), dtype=np.float32)
    carbon, manganese, chromium, nickel, tungsten = elements
    log = _CARBON * np.log(np.clip(carbon, _LEAST_CARBON, _SATURATED) * (1 / _SATURATED))
    log += _MANGANESE * manganese - _CHROMIUM * chromium - _NICKEL * nickel - _TUNGSTEN * tungsten
    passive = np.square(chromium / _PASSIVE)
    log -= passive * passive
    return np.exp(log)


def reflectance(composition: Array, strength: float = 0.7) -> Array:
    """Return the linear reflectance of etched steel of a composition (..., elements) [wt%], between 0 and 1."""
    return np.asarray(BRIGHTEST * np.exp(darkening(composition) * (-_ATTACK * strength)), dtype=np.float64)


def steel_tone(steel: Steel, look: Look) -> float:
    """Return the reflectance of a steel as bought, for the swatch beside its name."""
    return float(reflectance(steel.composition, look.strength))


def cell_reflectance(laminate: Laminate, look: Look) -> Array:
    """Return the reflectance of every cell of a laminate (n,).

    Carbon a cell has lost against the leaner of its own plate and the laminate's mean makes it pale; `seams` scales
    that loss.
    """
    composition = laminate.composition
    if look.seams != 0.5:
        plates = np.array([s.composition for s in laminate.steels], float)
        had = np.minimum(plates[laminate.steel, _C], laminate.thickness @ composition[:, _C] / laminate.total)
        loss = np.maximum(had - composition[:, _C], 0.0)
        composition = composition.copy()
        composition[:, _C] += loss * (1 - 2 * look.seams)
    return reflectance(composition, look.strength)
