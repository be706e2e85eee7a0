"""The skin of a whole knife in triangles: two faces, spine and edge between them, a cap at either end.

Sections stand across the knife, each with as many points from its lower to its upper side. Patches share their borders point by
point, so that merged by place they are one closed surface; each keeps points of its own, so that its picture ends at its border.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.blade import Side
from billet.blade.handle import Whole

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

STEP = 1e-3  # from section to section [m]
HEIGHTS = 41  # points of a section from its lower to its upper side
_BREAK = 1e-6  # a section stands so far on either side of a place where the knife changes at once [m]
_NEAR_POINT = np.array([8e-4, 6e-4, 4e-4, 2.5e-4, 1.5e-4, 8e-5, 4e-5])  # sections before the point [m]


@dataclass(frozen=True, eq=False)
class Patch:
    """A part of the skin: points (n, 3) along, up and to the right [m], triangles (m, 3) seen from outside counterclockwise,
    the face whose picture it carries, and where in it each point lies: along and up (n, 2) [m]."""

    name: str
    points: Array
    triangles: Ints
    side: Side
    seen_at: Array


def sections(whole: Whole) -> Array:
    """Return where sections stand along the knife [m], rising, from the end of the tang to just before the point."""
    end, point = -whole.behind, whole.blade.length
    even = np.arange(end + _BREAK, point - _NEAR_POINT[0], STEP)
    breaks = np.array([p + s for p in (0.0, *whole.places[:2]) for s in (-_BREAK, _BREAK)])
    found = np.unique(np.concatenate([even, breaks, point - _NEAR_POINT]))
    found = found[(found > end) & (found < point)]
    return found[np.concatenate([[True], np.diff(found) > 0.5 * _BREAK])]


def patches(whole: Whole, seen: tuple[float, float], inset: float) -> tuple[Patch, ...]:
    """Return the patches of a knife. `seen` is from where to where along it its pictures show metal [m], and a picture is not
    read nearer than `inset` [m] to the knife's own outline."""
    x = sections(whole)
    share = np.linspace(0.0, 1.0, HEIGHTS) ** 1.5  # closer together near the edge
    low, high = whole.edge_y(x), whole.spine_y(x)
    y = low[:, None] + share * (high - low)[:, None]
    halves = {side: _half(whole, x, y, side) for side in ("right", "left")}
    at = {side: _seen_at(whole, x, share, seen, inset) for side in ("right", "left")}
    along = np.broadcast_to(x[:, None], y.shape)
    right, left = (np.stack([along, y, s * halves[k]], axis=-1) for s, k in ((1.0, "right"), (-1.0, "left")))
    return (
        _sheet("right", right, "right", at["right"], False),
        _sheet("left", left, "left", at["left"], True),
        _sheet("spine", np.stack([right[:, -1], left[:, -1]], axis=1), "right", at["right"][:, [-1, -1]], False),
        _sheet("edge", np.stack([right[:, 0], left[:, 0]], axis=1), "right", at["right"][:, [0, 0]], True),
        _sheet("point", np.stack([right[-1], left[-1]], axis=0), "right", at["right"][[-1, -1]], False),
        _sheet("tang", np.stack([right[0], left[0]], axis=0), "right", at["right"][[0, 0]], True),
    )


def _half(whole: Whole, x: Array, y: Array, side: Side) -> Array:
    """Half thickness at every point, that of the nearest height where the outline itself is looked at."""
    height = y[:, -1:] - y[:, :1]
    inside = np.clip(y, y[:, :1] + 1e-6 * height, y[:, -1:] - 1e-6 * height)
    found = whole.half(np.broadcast_to(x[:, None], y.shape), inside, side)
    return np.maximum(np.nan_to_num(found, nan=0.0), 1e-6)


def _seen_at(whole: Whole, x: Array, share: Array, seen: tuple[float, float], inset: float) -> Array:
    """Where each point finds its colour: beside the border of the picture nearest to it, never beyond."""
    at = np.clip(x, seen[0] + inset, seen[1] - inset)
    low, high = whole.edge_y(at)[:, None], whole.spine_y(at)[:, None]
    room = np.minimum(inset, 0.45 * (high - low))
    up = np.clip(low + share * (high - low), low + room, high - room)
    return np.stack([np.broadcast_to(at[:, None], up.shape), up], axis=-1)


def _sheet(name: str, grid: Array, side: Side, at: Array, turned: bool) -> Patch:
    """A grid (rows, columns, 3) as two triangles a mesh."""
    rows, columns = grid.shape[:2]
    k = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = k[:-1, :-1].ravel(), k[1:, :-1].ravel(), k[1:, 1:].ravel(), k[:-1, 1:].ravel()
    triangles = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    return Patch(name, grid.reshape(-1, 3), triangles[:, ::-1] if turned else triangles, side, at.reshape(-1, 2))
