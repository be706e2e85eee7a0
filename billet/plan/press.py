"""What the press must push to set a weld and to draw, and what it can move.

Plane strain under flat dies with sticking friction, the slab method (textbook, from memory): mean pressure 2k (1 +
b/4h), 2k = 1.155 flow stress, b the bite along the bar, h the thickness. Of the two published flow stresses the higher
counts.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from billet.metal.flow_stress import flow_stress_misaka_1967, flow_stress_shida_1969

FLAT_DIE = 40e-3  # [m] bite when a weld is set; common practice, no source
DRAWING_DIE = 12e-3  # [m] bite of a narrow drawing die; common practice, no source
_STRAIN, _RATE = 0.2, 1.0  # one squeeze of a workshop press, strain [1] and rate [1/s]; judgement
_PLANE_STRAIN = 2 / np.sqrt(3)
HAND_HIGH = 45e-3  # [m] highest stack set by hand: one of 1 3/4 in is the tallest met; common practice, no source


def resistance(carbon: Any, temperature: float) -> Any:
    """Flow stress [Pa] to reckon with at a carbon [wt%] and temperature [K]: the higher of Shida's and Misaka's."""
    return np.maximum(
        flow_stress_shida_1969(carbon, _STRAIN, _RATE, temperature),
        flow_stress_misaka_1967(carbon, _STRAIN, _RATE, temperature),
    )


def push(stress: Any, width: Any, bite: Any, thickness: Any) -> Any:
    """Force [N] under a flat die: flow stress [Pa], width, bite and thickness [m], all broadcasting."""
    return _PLANE_STRAIN * stress * (1 + bite / (4 * thickness)) * width * bite


def bite(stress: float, width: float, thickness: float, force: float) -> float:
    """Longest bite [m] a press of `force` [N] moves: the root of b (1 + b/4h) = F/(2k w)."""
    a = force / (_PLANE_STRAIN * stress * width)
    return float(2 * thickness * (np.sqrt(1 + a / thickness) - 1))


def thinnest(stress: float, width: float, die: float, force: float) -> float | None:
    """Least thickness [m] to which a die's bite still moves the bar; None when it is too wide at any thickness."""
    spare = force / (_PLANE_STRAIN * stress * width * die) - 1
    return None if spare <= 0 else float(die / (4 * spare))
