"""Where a knife lies in the bar it is made from, and whether a bar drawn out in part holds it at every place."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.blade.geometry import Blade, Placement, extent, handle_length
from billet.blade.handle import Whole
from billet.blade.need import Fit, Fits, fits, need

Array = NDArray[np.float64]

_STATIONS, _HEIGHTS = 801, 25


def lying(blade: Blade, bar: Bar) -> Placement:
    """Return where a knife lies in a bar: as its design says, else centred; beside a block, the bolster's front at the
    front of the block and the blade in the middle of the part drawn out towards the point."""
    at = blade.placement(bar.length, bar.width)
    if bar.profile is None:
        return at
    design = blade.design
    _, end = bar.profile.block
    heel_x = at.heel_x if design.heel_at is not None else end + design.heel.choil
    low, high = extent(blade)
    _, _, middle = bar.profile.at(np.array([bar.profile.x[-1]]))
    edge_y = at.edge_y if design.edge_at is not None else float(middle[0]) - (low + high) / 2
    return replace(at, heel_x=heel_x, edge_y=edge_y)


def held(blade: Blade, bar: Bar) -> Fits:
    """Return whether a bar holds a knife, for length, heel height and thickness apart [m], and which part decides."""
    design = blade.design
    if bar.profile is None:
        return fits(need(blade), bar.length, bar.width, bar.thickness, design.offset, design.heel_at, design.edge_at)
    hard = blade.in_state("hardening")
    whole, at = Whole(hard), lying(hard, bar)
    x = np.linspace(-whole.behind, hard.length, _STATIONS)
    ends = bar.profile.x[0], bar.profile.x[-1]
    spare = min(at.heel_x - handle_length(design) - ends[0], ends[1] - at.heel_x - hard.length)
    total = hard.length + whole.behind
    x = x[(x + at.heel_x >= ends[0]) & (x + at.heel_x <= ends[1])]
    width, thickness, middle = bar.profile.at(x + at.heel_x)
    low, high = whole.edge_y(x), whole.spine_y(x)
    over = middle + 0.5 * width - (high + at.edge_y)
    under = low + at.edge_y - (middle - 0.5 * width)
    wide = np.minimum(over, under)
    y = low + np.linspace(0.001, 0.999, _HEIGHTS)[:, None] * (high - low)
    sides = [np.nan_to_num(whole.half(np.broadcast_to(x, y.shape), y, side)).max(axis=0) for side in ("left", "right")]
    thick = sides[0] + sides[1] + 2 * design.allow.face
    room = thickness - 2 * abs(design.offset) - thick
    a, b = int(np.argmin(wide)), int(np.argmin(room))
    return Fits(
        length=Fit(total, total + spare, "bolster and tang" if design.bolster else ""),
        heel_height=Fit(float(high[a] - low[a]), float(high[a] - low[a] + wide[a]), part_at(hard, float(x[a]))),
        thickness=Fit(float(thick[b]), float(thick[b] + room[b]), part_at(hard, float(x[b]))),
    )


def part_at(blade: Blade, x: float) -> str:
    """Return the part of a knife at a place along it."""
    neck, bolster, _ = Whole(blade).places
    if x < bolster:
        return "tang"
    if x < neck:
        return "bolster"
    reach = max((e for e in blade.transition_ends if e > 0), default=0.0)
    return "bolster's transition" if blade.design.bolster and x < reach else "blade"
