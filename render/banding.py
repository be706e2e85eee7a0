"""Alloy banding: rows in which a rich steel froze with more and with less of its alloy, rolled out with the plate.

The acid shows them as faint streaks along the blade. They are told of W2, 52100 and 26C3 and not of plain or of nickel
steel, 30 to 100 micrometres apart in the plate as bought (one forging class's discussion and memory, no measurement); a
plate is taken to have been 3 mm thick, and its rows thin with it. How strongly they show is judged by eye, under an
eighth of the contrast of 1084 beside 15N20.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from billet.bar.laminate import Laminate
from billet.steel.library import library

Array = NDArray[np.float64]

BANDED = ("W2", "52100", "26C3")
"""Steels of the library that show their rows, and all bought as one of them."""

DEEPEST = 0.12
"""Most that a row is brighter or darker than its steel, as a share."""

_ROWS = 50  # of a plate: 3 mm as bought, 60 micrometres apart
_USUAL = 0.05  # deviation of a row, as a share


def streaks(leaf: Laminate, heights: Array) -> Array | None:
    """Return by what share the rows are brighter at heights [m] in a laminate, 0 on the mean of a plate; None where no
    steel of it has any.
    """
    known = {library()[name].designation for name in BANDED}
    rich = np.array([steel.designation in known for steel in leaf.steels])
    if not rich.any():
        return None
    layer = np.clip(np.searchsorted(leaf.edges[leaf.starts], heights, side="right") - 1, 0, len(leaf.starts) - 1)
    at = (heights - leaf.edges[leaf.starts][layer]) / leaf.layer_thickness[layer] * _ROWS
    rows = _rows()
    place = (at + 37.0 * layer) % len(rows)
    found = np.interp(place, np.arange(len(rows) + 1), np.append(rows, rows[0]))
    return np.where(rich[leaf.steel[leaf.starts]][layer], found, 0.0)


@cache
def _rows() -> Array:
    """How the rows differ, one after the other: irregular, a few plainer than most."""
    rows = np.random.default_rng(23).standard_normal(64 * _ROWS) * _USUAL
    rows = np.clip(rows, -DEEPEST, DEEPEST)
    return np.asarray(rows - rows.mean())
