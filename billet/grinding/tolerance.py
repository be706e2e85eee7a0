"""What grinding more on one side does to the pattern and to a core, and how much of it a blade bears."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from billet.blade import Blade, Side
from billet.blade.exposure import line_shift
from billet.ledger.rows import Ledger

SHARPENED_AWAY = 0.5  # of the finished edge on either side must be core, so that the cutting line is


@dataclass(frozen=True)
class Tolerance:
    """How far lines move on each face for each metre of offset [-], and the offset the core still bears [m].

    ``left`` and ``right`` are 1/tan(theta) at the station ``x`` [m], half way up the face, infinite on a face that runs
    along the layers. ``core`` is its thickness and ``more`` what may still be ground to one side, None without a core;
    negative ``more`` means that the edge leaves the core.
    """

    x: float
    left: float
    right: float
    core: float | None = None
    more: float | None = None

    def moves(self, offset: float, side: Side) -> float:
        """Return how far lines move up the face on a side for an offset of the mid-plane [m], positive to the right.

        Where the mid-plane moves to the right, the right face stands further from the core and its line comes down.
        """
        each = self.right if side == "right" else self.left
        return float(offset * (-each if side == "right" else each)) if offset else 0.0


def tolerance(
    blade: Blade,
    x: float | None = None,
    *,
    already: float = 0.0,
    core: float | None = None,
    margin: float | None = None,
) -> Tolerance:
    """Return what one-sided grinding does at a station [m], the middle of the blade when left out.

    delta/tan(theta) in side view; a core bears half its thickness less a ``margin`` (half the finished edge when left
    out) less the offset there is already: the design's and ``already`` [m].
    """
    x = blade.length / 2 if x is None else x
    y = float(0.5 * (blade.edge_y(x) + blade.spine_y(x)))
    with np.errstate(divide="ignore"):
        left, right = (float(line_shift(1.0, np.arctan(abs(blade.slope(x, y, side)[1])))) for side in _SIDES)
    if core is None:
        return Tolerance(x, left, right)
    aside = SHARPENED_AWAY * blade.design.edge.finished if margin is None else margin
    return Tolerance(x, left, right, core, core / 2 - aside - abs(blade.design.offset + already))


_SIDES: tuple[Side, Side] = ("left", "right")


def core_thickness(ledger: Ledger) -> float | None:
    """Return the thickness of the core of a clad bar [m]; None for a bar that is not clad.

    Clad is a bar of three or five plates, or one that joins an odd number of earlier bars as layers; there the core
    keeps its share of the join through every later step, which leaves out what scale takes off the cladding.
    """
    table, last = ledger.recipe.tables.bar[-1], ledger.last
    if table.join is not None and table.as_ == "layers" and len(table.join) % 2 and len(table.join) > 1:
        thick = {run.name: run.last.thickness for run in ledger.bars}
        parts = [thick[item.bar] for item in table.items]
        return last.thickness * parts[len(parts) // 2] / sum(parts)
    laminate = last.laminate
    if laminate is not None and laminate.distinct in (3, 5):
        return float(laminate.layer_thickness[laminate.distinct // 2])
    return None
