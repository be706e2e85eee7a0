"""The outline of the bar in a photograph: its two sides that cross the layers' direction, and how far it reaches along
them.

The layered region gives the outline to within a layer or so. Brightness is then read along many rays across the layers,
and each side is the outermost straight step that most rays share, as strong as those between layers and stronger than
whatever lies on the bench.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, map_coordinates
from skimage.feature import peak_local_max

from billet.count.line import Line
from billet.count.region import Region

Array = NDArray[np.float64]
RAYS = 48
# Set by trial on synthetic photographs (no source).
RAY_PX = 16  # width a ray is averaged over
LEAST_STEP = 0.12  # of the strong steps between layers
ABOVE_BENCH = 1.15  # times the strongest straight step on the bench
MOST_SLOPE = 0.035  # of a side against the layers
SAME_PX = 3.0  # two straight steps nearer than this are one
STEP_PX = 0.5
INSIDE_CELLS, OUTSIDE_PX, BENCH_PX = 6.0, 40.0, 60.0  # searched on both sides of where the region ends
RIM_CELLS = 1.5  # nearer the picture's rim than this the region is taken to go on beyond it
BLUR_PX = 0.8
INSET_PX = 1.5  # half the lens's blur and the pixel's: there the bench no longer shines in
INNER = 0.8  # of the bar's reach along the layers; the ends may be round


@dataclass(frozen=True)
class Outline:
    """The bar in a picture: first and last, its sides [px] where the line across the layers starts and ends, each drawn
    the same way along the layers; whether that side lies inside the picture or is cut off by its rim.
    """

    first: Line
    last: Line
    first_seen: bool
    last_seen: bool

    @property
    def seen(self) -> bool:
        """Whether both sides lie inside the picture."""
        return self.first_seen and self.last_seen

    @property
    def any_seen(self) -> bool:
        """Whether at least one side lies inside the picture."""
        return self.first_seen or self.last_seen

    def crossing(self) -> Line:
        """The line across the bar's middle, from side to side and square to them, with a band as wide as the bar allows."""
        a, b = _middle(self.first), _middle(self.last)
        along = np.array(self.first.unit) + self.last.unit
        across = np.array([-along[1], along[0]]) / np.hypot(*along)
        centre = (a + b) / 2
        starts, ends = (_meet(centre, across, side) for side in (self.first, self.last))
        width = INNER * min(self.first.length, self.last.length)
        (x1, y1), (x2, y2) = centre + starts * across, centre + ends * across
        return Line(float(x1), float(y1), float(x2), float(y2), width)

    def clipped(self, line: Line) -> Line:
        """The part of the line that lies between the sides; the line itself where it runs along them."""
        start, heading = np.array([line.x1, line.y1]), np.array(line.unit)
        cuts = sorted(_meet(start, heading, side) for side in (self.first, self.last))
        low, high = max(cuts[0], 0.0), min(cuts[1], line.length)
        if not high - low > 1:
            return line
        (x1, y1), (x2, y2) = start + low * heading, start + high * heading
        return Line(float(x1), float(y1), float(x2), float(y2), line.width)

    def share_spanned(self, line: Line) -> float:
        """How much of the way from side to side the line goes, 0 to 1."""
        start, heading = np.array([line.x1, line.y1]), np.array(line.unit)
        cuts = sorted(_meet(start, heading, side) for side in (self.first, self.last))
        inside = min(cuts[1], line.length) - max(cuts[0], 0.0)
        return float(np.clip(inside / (cuts[1] - cuts[0]), 0, 1))


def _middle(line: Line) -> Array:
    return np.array([line.x1 + line.x2, line.y1 + line.y2]) / 2


def _meet(start: Array, heading: Array, side: Line) -> float:
    """Distance [px] from the start along the heading to the (endless) side."""
    ux, uy = side.unit
    normal = np.array([-uy, ux])
    toward = float(normal @ heading)
    return float(normal @ (np.array([side.x1, side.y1]) - start)) / (toward if abs(toward) > 1e-9 else 1e-9)


def outline_of(image: Array, region: Region) -> Outline | None:
    """The outline of the bar whose layered region is given in the grey picture (h, w); None when its sides cannot be
    told.
    """
    along = np.array([np.cos(region.angle), np.sin(region.angle)])
    across = np.array([-along[1], along[0]])
    points = region.points()
    centre = points.mean(axis=1)
    u, v = along @ (points - centre[:, None]), across @ (points - centre[:, None])
    left, right = np.percentile(u, [1, 99])
    places = np.linspace(left, right, RAYS + 2)[1:-1]
    sides = []
    for sense in (-1.0, 1.0):
        reached = _reached(u, sense * v, places, max(region.cell_px, (right - left) / RAYS))
        rays = [
            _Ray(image, centre + p * along, sense * across, along, r, region.cell_px)
            for p, r in zip(places, reached, strict=True)
            if np.isfinite(r)
        ]
        side = _side(rays, np.array([p for p, r in zip(places, reached, strict=True) if np.isfinite(r)]))
        if side is None:
            return None
        sides.append((sense, *side))
    lines = []
    for sense, slope, height, seen in sides:
        inward = height - (INSET_PX if seen else 0.0)
        ends = [centre + p * along + sense * (inward + slope * p) * across for p in (left, right)]
        lines.append((Line(*(float(c) for e in ends for c in e)), seen))
    return Outline(lines[0][0], lines[1][0], lines[0][1], lines[1][1])


def _reached(u: Array, v: Array, places: Array, half: float) -> Array:
    """The greatest v of the region near each place along u; NaN where it has a gap."""
    found = np.full(len(places), np.nan)
    for i, place in enumerate(places):
        near = np.abs(u - place) <= half
        if near.any():
            found[i] = v[near].max()
    return found


@dataclass(frozen=True)
class _Ray:
    """A ray from a point outwards: where the region ends on it [px] and what it meets there."""

    image: Array
    start: Array
    heading: Array
    along: Array
    reached: float
    cell_px: float

    def room(self) -> float:
        """Distance [px] at which the ray leaves the picture."""
        h, w = self.image.shape
        out = np.inf
        for at, go, size in zip(self.start, self.heading, (w, h), strict=True):
            if abs(go) > 1e-9:
                out = min(out, ((size - 1 if go > 0 else 0) - at) / go)
        return float(out)

    def at_rim(self) -> bool:
        """Whether the region goes on to the picture's rim."""
        return self.room() - self.reached < RIM_CELLS * self.cell_px

    def steps(self, where: Array) -> Array:
        """How much brightness changes from pixel to pixel at distances (n,) [px] half a pixel apart, either way; NaN
        outside the picture.
        """
        aside = np.arange(RAY_PX) - (RAY_PX - 1) / 2
        x, y = (self.start + self.heading * where[:, None, None] + self.along * aside[None, :, None]).transpose(2, 0, 1)
        profile = map_coordinates(self.image, [y, x], order=1, mode="nearest").mean(axis=1)
        step = np.abs(np.gradient(gaussian_filter1d(profile, BLUR_PX / STEP_PX))) / STEP_PX
        return np.where((where >= 0) & (where <= self.room() - 1), step, np.nan)


def _side(rays: list[_Ray], places: Array) -> tuple[float, float, bool] | None:
    """Slope and height [px] of a side over the place along the layers, and whether it lies inside the picture; None
    when no straight step is found.
    """
    if len(rays) < RAYS / 3:
        return None
    at_rim = np.array([ray.at_rim() for ray in rays])
    if at_rim.mean() > 0.5:
        return 0.0, float(np.median([ray.room() for ray in rays])), False
    end, cell = float(np.median([ray.reached for ray in rays])), rays[0].cell_px
    beyond = end + cell + OUTSIDE_PX
    where = np.arange(end - INSIDE_CELLS * cell, beyond + BENCH_PX, STEP_PX)
    steps = np.stack([ray.steps(where) for ray in rays])
    usual = float(np.median(np.nan_to_num(steps[:, where < end - cell]).max(axis=1)))
    # a single strong scratch or thread must not outweigh the rays that see nothing
    steps = np.minimum(steps, usual)
    slopes = np.arange(-MOST_SLOPE, MOST_SLOPE + 1e-9, STEP_PX / (np.ptp(places) / 2))
    shared = np.stack([_shared(steps, where, slope * places) for slope in slopes])
    bench = where > beyond
    outside = np.where(np.isfinite(shared), shared, 0.0).max(axis=0)[bench & np.isfinite(shared).any(axis=0)]
    least = max(LEAST_STEP * usual, ABOVE_BENCH * float(outside.max()) if len(outside) else 0.0)
    peaks = peak_local_max(
        np.where(np.isfinite(shared) & ~bench, shared, 0.0),
        min_distance=round(SAME_PX / STEP_PX),
        threshold_abs=least,
        exclude_border=False,
    )
    if not len(peaks):
        return None
    i, j = max(peaks, key=lambda ij: ij[1])
    return float(slopes[i]), float(where[j]), True


def _shared(steps: Array, where: Array, shift: Array) -> Array:
    """Mean step (n,) over the rays (rays, n), each read so far further out [px]; NaN where most rays see nothing."""
    read = np.stack([np.interp(where + s, where, row, np.nan, np.nan) for s, row in zip(shift, steps, strict=True)])
    seen = np.isfinite(read)
    mean = np.where(seen, read, 0).sum(axis=0) / np.maximum(seen.sum(axis=0), 1)
    return np.where(seen.mean(axis=0) > 0.5, mean, np.nan)
