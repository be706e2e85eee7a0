"""Run backwards: from points in the finished bar to heights in the laminates it was made of."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Joined, Laminar, Material, Worked, leaves
from billet.bar.hand import lifted
from billet.bar.laminate import SAME_PLATE, Laminate
from billet.bar.maps import Pulled, to_nearest

Array = NDArray[Any]
Ints = NDArray[np.int64]


_LITTLE = 2.0  # times as many points as are asked for may be followed rather than picked out


class Sample(NamedTuple):
    """Where points come from: height z in the laminate [m], number of the leaf laminate, and a key that changes only where the way back jumps.

    leaf and key are plain integers where they are the same for all points.
    """

    z: Array
    leaf: Ints | int
    key: Ints | int


class Slope(NamedTuple):
    """A `Sample` together with the gradient of z over the bar's own coordinates, (3, n), taken on each point's side of every seam."""

    z: Array
    leaf: Ints
    key: Ints
    gradient: Array


class Seam(NamedTuple):
    """A weld plane as seen from points: the step that made it and the signed distance in the frame of that weld [m]."""

    step: int
    distance: Array


Met = dict[int, Pulled]
"""Where points were before each worked step on their way, by the step's place in the tree."""


def trace(material: Material, x: Array, y: Array, z: Array, met: Met | None = None) -> Sample:
    """Follow points back to the laminates.

    x, y, z are arrays that broadcast together [m]; nothing is checked against the bar's outside. met takes down the way,
    as far as all points go it together.
    """
    if isinstance(material, Laminar):
        return Sample(lifted(material.waves, x, y, z), 0, 0)
    if isinstance(material, Worked):
        p = material.map.pull(x, y, z)
        if met is not None:
            met[id(material)] = p
        inner = trace(material.parent, p.x, p.y, p.z, met)
        return inner if p.piece is None else inner._replace(key=_mix(inner.key, p.piece))
    return _trace_joined(material, x, y, z)


def _mix(key: Ints | int, piece: NDArray[np.int32] | Ints | int) -> Ints:
    """One number for a way back that already has a key and now a piece (collisions need 2^61 ways)."""
    return (np.asarray(key, np.int64) * 1_000_003 + piece + 1) & 0x1FFF_FFFF_FFFF_FFFF


def part_of(joined: Joined, at: Array) -> Ints:
    """Which part of a join each coordinate along its axis lies in."""
    return np.searchsorted(np.array(joined.faces[1:-1], at.dtype), at, side="right")


def _trace_joined(joined: Joined, x: Array, y: Array, z: Array) -> Sample:
    """Each part answers for its own points."""
    shape = np.broadcast_shapes(x.shape, y.shape, z.shape)
    if joined.axis == "y" and len(shape) == 2 and y.shape == (shape[0], 1):
        return _trace_rows(joined, x, y, z, shape)
    part = np.broadcast_to(part_of(joined, y if joined.axis == "y" else z), shape)
    flat = [np.broadcast_to(a, shape) for a in (x, y, z)]
    height = np.empty(shape, z.dtype)
    leaf, key = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    first = 0
    for k, child in enumerate(joined.parts):
        mine = part == k
        rows = _rows_of(mine)
        if rows is not None:  # looked at as a block, and laid in where it belongs
            inner = trace(child, *_in_part(joined, k, *(a[rows] for a in flat)))
            for whole, own in ((height, inner.z), (leaf, inner.leaf + first), (key, _mix(inner.key, k))):
                np.copyto(whole[rows], own, where=mine[rows])
        elif mine.any():
            inner = trace(child, *_in_part(joined, k, *(a[mine] for a in flat)))
            height[mine], leaf[mine], key[mine] = inner.z, inner.leaf + first, _mix(inner.key, k)
        first += _count(child)
    return Sample(height, leaf, key)


def _rows_of(mine: NDArray[np.bool_]) -> slice | None:
    """The rows of a picture that hold some points, where they hold little else."""
    if mine.ndim != 2:
        return None
    held = np.flatnonzero(mine.any(axis=1))
    if not len(held):
        return None
    rows = slice(int(held[0]), int(held[-1]) + 1)
    return rows if np.count_nonzero(mine) * _LITTLE > mine[rows].size else None


def _trace_rows(joined: Joined, x: Array, y: Array, z: Array, shape: tuple[int, ...]) -> Sample:
    """A picture whose rows each lie in one part of a side-by-side join: whole blocks of rows, no point looked at twice."""
    part = part_of(joined, y[:, 0])
    height, leaf, key = np.empty(shape, z.dtype), np.empty(shape, np.int64), np.empty(shape, np.int64)
    firsts = np.cumsum([0, *(_count(child) for child in joined.parts)])
    borders = np.flatnonzero(np.diff(part)) + 1
    for start, stop in zip([0, *borders], [*borders, len(part)], strict=True):
        k, rows = int(part[start]), slice(start, stop)
        inner = trace(joined.parts[k], *_in_part(joined, k, *(a[rows] if a.shape[0] > 1 else a for a in (x, y, z))))
        height[rows], leaf[rows], key[rows] = inner.z, inner.leaf + firsts[k], _mix(inner.key, k)
    return Sample(height, leaf, key)


def _count(material: Material) -> int:
    """How many leaves a material has."""
    return sum(1 for _ in leaves(material))


def _in_part(joined: Joined, k: int, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
    """Coordinates in the frame of part k."""
    middle = z.dtype.type(0.5 * (joined.faces[k] + joined.faces[k + 1]))
    return (x, y - middle, z) if joined.axis == "y" else (x, y, z - middle)


def slope(material: Material, points: Array) -> Slope:
    """Follow points (3, n) back and carry the gradient of the height along, by the chain rule and never across a jump."""
    n = points.shape[1]
    if isinstance(material, Laminar):
        gradient = np.zeros((3, n))
        gradient[2] = 1.0
        return Slope(lifted(material.waves, *points), np.zeros(n, np.int64), np.zeros(n, np.int64), gradient)
    if isinstance(material, Worked):
        back = material.map.backward(points)
        inner = slope(material.parent, back.points)
        gradient = np.einsum("jin,jn->in", material.map.slope(points), inner.gradient)
        key = inner.key if back.piece is None else _mix(inner.key, back.piece)
        return Slope(inner.z, inner.leaf, key, gradient)
    out = Slope(np.empty(n), np.zeros(n, np.int64), np.zeros(n, np.int64), np.empty((3, n)))
    part = part_of(material, points[1 if material.axis == "y" else 2])
    first = 0
    for k, child in enumerate(material.parts):
        mine = np.flatnonzero(part == k)
        if len(mine):
            inner = slope(child, np.stack(_in_part(material, k, *points[:, mine])))
            out.z[mine], out.leaf[mine], out.key[mine] = inner.z, inner.leaf + first, _mix(inner.key, k)
            out.gradient[:, mine] = inner.gradient
        first += _count(child)
    return out


def seams(material: Material, points: Array) -> list[Seam]:
    """All weld planes of a bar as signed distances from points (3, n), one entry a welding step; inside a laminate, its joints step by step.

    Distances are in the frame of the weld: zero exactly on the plane, which is what a picture of the welds needs.
    """
    found: list[Seam] = []
    _collect_seams(material, points, found, np.arange(points.shape[1]), points.shape[1])
    return found


def _collect_seams(material: Material, points: Array, found: list[Seam], mine: NDArray[np.intp], n: int) -> None:
    if isinstance(material, Laminar):
        z = lifted(material.waves, *points)
        for step in np.unique(material.laminate.joint[1:]):
            if step > SAME_PLATE:
                _note(found, int(step), _to_joint(material.laminate, int(step), z), mine, n)
    elif isinstance(material, Worked):
        back = material.map.backward(points)
        if back.seam_distance is not None:
            _note(found, material.step, back.seam_distance, mine, n)
        _collect_seams(material.parent, back.points, found, mine, n)
    else:
        at = points[1 if material.axis == "y" else 2]
        planes = np.array(material.faces[1:-1])
        _note(found, material.step, to_nearest(at, planes), mine, n)
        part = part_of(material, at)
        for k, child in enumerate(material.parts):
            chosen = np.flatnonzero(part == k)
            if len(chosen):
                inner = np.stack(_in_part(material, k, *points[:, chosen]))
                _collect_seams(child, inner, found, mine[chosen], n)


def _note(found: list[Seam], step: int, distance: Array, mine: NDArray[np.intp], n: int) -> None:
    """Enter distances for some points; the same step seen from another part fills the same entry."""
    for seam in found:
        if seam.step == step:
            break
    else:
        seam = Seam(step, np.full(n, np.inf))
        found.append(seam)
    nearer = np.abs(distance) < np.abs(seam.distance[mine])
    seam.distance[mine[nearer]] = distance[nearer]


def _to_joint(laminate: Laminate, step: int, z: Array) -> Array:
    """Signed distance to the nearest joint that a step welded."""
    planes = laminate.edges[1:-1][laminate.joint[1:] == step]
    return to_nearest(z, planes)


def cell_of(laminate: Laminate, z: Array) -> NDArray[np.intp]:
    """The cell of a laminate at each height."""
    return np.clip(np.searchsorted(laminate.edges, z, side="right") - 1, 0, len(laminate.thickness) - 1)


def layers_crossed(bar: Bar, start: Array, end: Array, samples: int = 20_001) -> int:
    """Layers of distinct steel met on a straight line through the bar, from start to end (3,) [m]."""
    points = start[:, None] + np.linspace(0, 1, samples) * (end - start)[:, None]
    steel = steel_at(bar, points)
    return 1 + int(np.count_nonzero(steel[1:] != steel[:-1]))


def steel_at(bar: Bar, points: Array) -> NDArray[np.object_]:
    """Name of the steel at each point (3, n)."""
    sample = trace(bar.material, points[0], points[1], points[2])
    leaf = np.broadcast_to(sample.leaf, points.shape[1])
    z = np.broadcast_to(sample.z, points.shape[1])
    out = np.empty(points.shape[1], object)
    for k, laminate in enumerate(bar.leaves):
        mine = leaf == k
        names = np.array([s.name for s in laminate.steels], object)
        out[mine] = names[laminate.steel[cell_of(laminate, z[mine])]]
    return out
