"""What a face shows in figures: lines, their width, and where the core comes out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.crossed import crossed
from billet.bar.trace import trace
from billet.blade import Blade, Placement, Side
from render.views import Shift

Array = NDArray[np.float64]

STATION = 0.05
"""Where lines are counted: this share of the length ahead of the heel, from edge to spine."""

FINE_LINE = 0.2e-3
"""Narrower lines are read as grey at arm's length [m]; common practice, no source."""

_SAMPLES = 40_001
_GRID = (60, 160)


@dataclass(frozen=True)
class FaceFigures:
    """Figures of one face: layer borders crossed from edge to spine at the station, their median width in side view
    [m], the share of the face
    whose lines are too fine to see, and the height above the edge where the core's layer ends [m] (None without a
    core)."""

    lines: int
    median_line: float | None
    grey_share: float
    core_line: float | None


def figures(
    bar: Bar, blade: Blade, at: Placement, side: Side, station: float = STATION, shift: Shift | None = None
) -> FaceFigures:
    """Measure a face of a blade in a bar; shift is how far its mid-plane lies off its placement at (x, y) [m]."""

    def on_face(x: Array, y: Array) -> Array:
        points = blade.face_points(x, y, side, at)
        if shift is not None:
            points[2] += shift(x, y)
        return points

    x = station * blade.length
    edge, height = float(blade.edge_y(x)), float(blade.height(x))
    y = edge + height * np.linspace(1e-6, 1 - 1e-6, _SAMPLES)
    points = on_face(np.full_like(y, x), y)
    met = crossed(bar, points)
    change = met.changes
    bounds = y[change] + 0.5 * (y[1] - y[0])
    widths = np.diff(bounds)
    core = float(bounds[0] - edge) if len(bounds) and met.core[0] else None
    return FaceFigures(len(change), float(np.median(widths)) if len(widths) else None, _grey(bar, blade, on_face), core)


def _grey(bar: Bar, blade: Blade, on_face: Callable[[Array, Array], Array]) -> float:
    """Share of the face whose lines are narrower than FINE_LINE: layer thickness over the slope of its height along the
    face.
    """
    u, v = ((np.arange(n) + 0.5) / n for n in _GRID)
    x, w = (a.ravel() for a in np.meshgrid(v * blade.length, u))
    low, height = blade.edge_y(x), blade.height(x)
    y = low + w * height
    step = 0.02e-3
    points = [on_face(x + i * step, y + j * step) for i, j in ((0, 0), (1, 0), (0, 1))]
    on = np.all([np.isfinite(p[2]) for p in points], axis=0)
    here, ahead, above = (trace(bar.material, *p[:, on]) for p in points)
    height, n = height[on], int(on.sum())
    slope = np.hypot(*(np.broadcast_to(other.z - here.z, n) / step for other in (ahead, above)))
    same = np.broadcast_to((np.asarray(ahead.key) == here.key) & (np.asarray(above.key) == here.key), n)
    layer = np.array([leaf.total / leaf.distinct for leaf in bar.leaves])[np.broadcast_to(here.leaf, n)]
    fine = layer < FINE_LINE * slope
    weight = height * same
    return float(weight @ fine / weight.sum()) if n and weight.sum() > 0 else 0.0
