"""One spot on the finished knife: its plate, the weld nearest to it, and what more grinding brings up there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.trace import seams
from billet.base.errors import InputError
from billet.base.units import Kind, show
from billet.blade import Blade, Placement, Side
from billet.blade.handle import Whole
from billet.blade.lying import lying
from billet.ledger.rows import Ledger
from billet.recipe.blade import blade_of
from billet.where.follow import Plate, Stop, followed, framed, plates_at, way_back

Array = NDArray[np.float64]

_DEPTHS = 2001  # looked at from the face to the middle of the blade
_SKIN = 1e-7  # the face is looked at this deep, so that rounding never looks past the metal [m]
_STEP = 1e-8  # of the difference that gives a weld's direction [m]
_WALK = 8
_ASIDE = np.array(
    [1.3e-6, 2.1e-6, 1.7e-6]
)  # half way between two planes there is no nearer one; then from beside it [m]
_REACHED = 1e-7  # from a weld within which it is reached [m]
_BESIDE = 3e-6  # a weld's two plates are read this far either side of it [m]


@dataclass(frozen=True)
class Weld:
    """The weld nearest a spot: the number of its step, how far away it lies in the knife [m], the plates it joins, the
    depth under this spot at which more grinding brings it up [m] (None: not before the middle of the blade), and how far
    its line moves along the face for every metre ground away (x, y) [1]."""

    mark: int
    distance: float
    between: tuple[Plate, Plate]
    comes_up: float | None
    drift: tuple[float, float]


@dataclass(frozen=True)
class Spot:
    """What lies at a spot of the finished knife [m]: the plate, how far down it goes, what lies under it, the welds."""

    side: Side
    x: float
    y: float
    thickness: float
    plate: Plate
    stays: float | None
    under: Plate | None
    weld: Weld | None
    way: tuple[Stop, ...]


def look(ledger: Ledger, side: Side, x: float, y: float) -> Spot:
    """Look at the spot of a face x from the heel and y from the edge line [m]. Raises InputError beside the knife."""
    blade = blade_of(ledger.recipe)
    bar = followed(ledger.recipe).last
    at = lying(blade, bar)
    whole = Whole(blade)
    half = float(whole.half(x, y, side))
    if not np.isfinite(half):
        raise InputError(_beside(whole, x, y, ledger.recipe.tables.units))
    thick = float(whole.half(x, y, "left") + whole.half(x, y, "right"))
    depth = np.linspace(_SKIN, max(half, 0.5 * thick), _DEPTHS)
    points = _under(at, side, x, y, half, depth)
    if not bool(bar.contains(points[:, :1])[0]):
        raise InputError("where: at this spot the bar has no metal; `billet check` says by how much it falls short.")
    plates = plates_at(bar, points)
    change = next((k for k, p in enumerate(plates) if p != plates[0]), None)
    way = tuple(way_back(framed(ledger.recipe).last.material, points[:, 0]))
    stays = None if change is None else float(depth[change])
    under = None if change is None else plates[change]
    return Spot(
        side, x, y, thick, plates[0], stays, under, _nearest(bar, points, depth, _face_slope(blade, side, x, y)), way
    )


def _beside(whole: Whole, x: float, y: float, units: str) -> str:
    """Why a spot is refused: where the knife runs instead, in the recipe's units."""

    def long(v: float, below: str) -> str:
        return show(abs(v), Kind.LENGTH, units) + (f" {below}" if v < 0 else "")

    low, high = (float(f(np.clip(x, -whole.behind, whole.blade.length))) for f in (whole.edge_y, whole.spine_y))
    return (
        f"where: {long(x, 'behind the heel')}, {long(y, 'below the edge line')} is not on the knife; it runs from "
        f"{long(-whole.behind, 'behind the heel')} to {long(whole.blade.length, '')} before it, and there from "
        f"{long(low, 'below')} to {long(high, 'below')} above the edge line."
    )


def _under(at: Placement, side: Side, x: float, y: float, half: float, depth: Array) -> Array:
    """Points (3, n) in the bar's frame at depths under a spot of a face."""
    sign = 1.0 if side == "right" else -1.0
    ones = np.ones_like(depth)
    return np.stack([(x + at.heel_x) * ones, (y + at.edge_y) * ones, at.offset + sign * (half - depth)])


def _nearest(bar: Bar, points: Array, depth: Array, face: tuple[float, float, float]) -> Weld | None:
    """The weld nearest the first of some points that lie under one another."""
    here = points[:, 0]
    best: tuple[float, int, Array, Array] | None = None
    for seam in seams(bar.material, here[:, None]):
        found = _walk(bar, here, seam.step) or _walk(bar, here + _ASIDE, seam.step)
        if found is not None and (best is None or found[0] < best[0]):
            best = (found[0], seam.step, found[1], found[2])
    if best is None:
        return None
    distance, step, there, normal = best
    joined = plates_at(bar, np.stack([there - _BESIDE * normal, there + _BESIDE * normal], axis=1))
    along = _distance(bar, points, step)
    steps = np.abs(np.diff(along))
    jumps = steps > 4.0 * float(np.median(steps)) + 1e-12  # there another plane of the same step becomes the nearest
    cross = np.flatnonzero((along[1:] * along[:-1] <= 0) & (np.cumsum(jumps) == 0))
    comes_up = float(depth[cross[0]]) if len(cross) else None
    return Weld(step, distance, (joined[0], joined[1]), comes_up, _drift(normal, *face))


def _face_slope(blade: Blade, side: Side, x: float, y: float) -> tuple[float, float, float]:
    """How fast a face grows away from the mid-plane along x and y [1], and the sign of its side."""
    h = 2e-5
    here = Whole(blade).half([x - h, x + h, x, x], [y, y, y - h, y + h], side)
    if not np.isfinite(here).all():
        here = np.zeros(4)
    along, up = (here[1] - here[0]) / (2 * h), (here[3] - here[2]) / (2 * h)
    return float(along), float(up), 1.0 if side == "right" else -1.0


def _drift(normal: Array, along: float, up: float, sign: float) -> tuple[float, float]:
    """How far a weld's line moves along a face for every metre ground off it [1].

    The plane n . p = c cuts the face z = s (half(x, y) - t) where F = n . p; F stays as it is along the line, so the
    line moves by s nz grad F / |grad F|^2 with grad F = (nx + s nz half_x, ny + s nz half_y).
    """
    grad = np.array([normal[0] + sign * normal[2] * along, normal[1] + sign * normal[2] * up])
    steep = float(grad @ grad)
    if steep < 1e-8:
        return 0.0, 0.0
    dx, dy = sign * normal[2] * grad / steep
    return float(dx), float(dy)


def _distance(bar: Bar, points: Array, step: int) -> Array:
    """Signed distance of points to the planes a step welded, in the frame of that weld [m]."""
    for seam in seams(bar.material, points):
        if seam.step == step:
            return np.asarray(seam.distance, dtype=np.float64)
    return np.full(points.shape[1], np.inf)


def _walk(bar: Bar, here: Array, step: int) -> tuple[float, Array, Array] | None:
    """The way from a point straight to a weld by Newton's steps: distance [m], the place, the weld's direction there."""
    p = here.copy()
    normal = np.array([0.0, 0.0, 1.0])
    for _ in range(_WALK):
        around = p[:, None] + np.hstack([np.zeros((3, 1)), _STEP * np.eye(3), -_STEP * np.eye(3)])
        d = _distance(bar, around, step)
        if not np.isfinite(d).all():
            return None
        slope = (d[1:4] - d[4:7]) / (2 * _STEP)
        size = float(np.linalg.norm(slope))
        if size < 1e-12:
            return None
        normal = slope / size
        move = -d[0] / size * normal
        p = p + move
        if float(np.abs(move).max()) < 1e-10:
            break
    if abs(float(_distance(bar, p[:, None], step)[0])) > _REACHED:
        return None
    return float(np.linalg.norm(p - here)), p, normal
