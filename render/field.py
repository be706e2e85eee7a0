"""Brightness of every pixel: pull its corners back to the layers and average what lies between them.

A pixel whose corners were pulled back to nearly a plane sees a trapezoid of heights: a box as long as its longer side,
smoothed over its shorter one. The table is kept smoothed over boxes of many widths; the nearest is taken, and the
longer box made as wide that the spread is the trapezoid's. Pixels that are curved, or whose corners came from different
sides of a seam, are cut into sixteen and looked at again, so nothing is ever differenced across a jump.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Material
from billet.bar.trace import Met, Sample, trace
from render.coverage import Region
from render.pale import Pale
from render.room import Room, keep_memory, room
from render.surface import Surface
from render.table import Places, Table

Floats = NDArray[np.floating]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Picks = tuple[NDArray[np.intp], ...]

_TILE = 1 << 17  # pixels
_WIDEST = 1024  # columns of a tile: what depends on the column alone is then shared by many rows
_BENT = 0.25  # bend within a pixel over its footprint, above which it is cut up
_FLAT = 0.75  # footprints with their bend below this many table cells see one brightness anyway
_LEAST = 0.5  # half the narrowest box [cells]
_CUTS = (4, 2)  # a pixel is cut into as many parts each way, then its parts on a seam
_SPARSE = 9  # rows and columns between the pixels whose usual footprint is taken
_SOME = 4096  # pixels looked at again at a time


@dataclass(frozen=True, eq=False)
class Scene:
    """What is looked at: a material, a surface through it, its table of brightness, how much of each pixel is metal,
    and the pale welds. quick: nothing is looked at again, for a picture that follows the hand: a pixel on a seam shows
    the mean of its corners, a bent one what it would show straight.
    """

    material: Material
    surface: Surface
    table: Table
    region: Region | None = None
    pale: Pale | None = None
    quick: bool = False


def paint(scene: Scene, workers: int = 1) -> NDArray[np.float32]:
    """Return the brightness of every pixel (rows, columns), 0 where there is no metal; the number of threads changes
    nothing.
    """
    surface = scene.surface
    keep_memory()
    out = np.zeros((surface.rows, surface.cols), np.float32)

    def one(tile: tuple[slice, slice]) -> None:
        if scene.region is None or not scene.region.empty(*tile):
            met: Met | None = None if scene.pale is None else {}
            out[tile] = brightness(scene, *tile, met)
            if scene.pale is not None:
                scene.pale.lay_over(out[tile], surface.grid(*tile), met)

    if workers <= 1:
        for tile in tiles(surface.rows, surface.cols):
            one(tile)
        return out
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(one, tiles(surface.rows, surface.cols)))
    return out


def tiles(rows: int, cols: int) -> Iterator[tuple[slice, slice]]:
    """Blocks of a picture."""
    wide = -(-cols // -(-cols // _WIDEST))
    high = max(1, _TILE // wide)
    for top in range(0, rows, high):
        for left in range(0, cols, wide):
            yield slice(top, min(top + high, rows)), slice(left, min(left + wide, cols))


def brightness(scene: Scene, rows: slice, cols: slice, met: Met | None = None) -> Floats:
    """Return the brightness of a block of pixels; the array is working space and only good until the next block. met
    takes down what the corners meet on their way back.
    """
    sample = trace(scene.material, *scene.surface.grid(rows, cols), met)
    shape = (rows.stop - rows.start + 1, cols.stop - cols.start + 1)
    here = room()
    z = np.multiply(sample.z, _quarters(scene), out=here("z", shape, scene.surface.kind))
    leaf = _inner(scene.table, sample.leaf, shape)
    values, bent = _plain(scene.table, z, leaf, here)
    seam = _on_seam(sample.key, shape)
    if scene.quick:
        if seam is not None:
            picks = np.nonzero(seam)
            values[picks] = _corners(scene.table, z, sample, shape, picks, room(1), _usual(z))
        return values
    if bent is not None:
        _keep_uneven(scene.table, z, leaf, bent)
    again = _either(bent, seam)
    if again is not None:
        picks = np.unravel_index(np.flatnonzero(again), again.shape)
        kind = scene.surface.kind
        row, col = (p.astype(kind) + kind(s.start) for p, s in zip(picks, (rows, cols), strict=True))
        for some in range(0, len(row), _SOME):
            part = slice(some, some + _SOME)
            values[picks[0][part], picks[1][part]] = _refined(scene, row[part], col[part], 1.0, 1)
    return values


def _quarters(scene: Scene) -> np.floating:
    """Quarters of table cells in a metre."""
    return scene.surface.kind(0.25 * scene.table.per_metre)


def _inner(table: Table, leaf: Ints | int, shape: tuple[int, ...]) -> Ints | int:
    """The leaf of every pixel, from its first corner; a plain number where it is the same for all."""
    if isinstance(leaf, int) or table.single:
        return leaf if isinstance(leaf, int) else 0
    low = int(leaf.min())
    return low if low == leaf.max() else np.broadcast_to(leaf, shape)[..., :-1, :-1]


def _keep_uneven(table: Table, z: Floats, leaf: Ints | int, bent: Bools) -> None:
    """Take away, in place, the pixels that see one brightness for as far around as they reach, however bent they are."""
    row, col = np.nonzero(bent)
    corners = 4 * np.stack([z[row + i, col + j] for i in (0, 1) for j in (0, 1)])
    low, high = corners.min(axis=0), corners.max(axis=0)
    reach = (high - low) + z.dtype.type(1)
    where = table.places(leaf if isinstance(leaf, int) else leaf[row, col])
    even = where.even(low - reach + where.shift, high + reach + where.shift)
    bent[row[even], col[even]] = False


def _either(a: Bools | None, b: Bools | None) -> Bools | None:
    return a if b is None else b if a is None else a | b


def _on_seam(key: Ints | int, shape: tuple[int, ...]) -> Bools | None:
    """Pixels whose corners did not all come back the same way, or None."""
    if isinstance(key, int) or key.size == 1:
        return None
    key = np.broadcast_to(key, shape)
    across, down = key[..., :, 1:] != key[..., :, :-1], key[..., 1:, :] != key[..., :-1, :]
    if not across.any() and not down.any():
        return None
    return np.asarray(across[..., 1:, :] | across[..., :-1, :] | down[..., 1:] | down[..., :-1])


def _plain(table: Table, z: Floats, leaf: Ints | int, here: Room) -> tuple[Floats, Bools | None]:
    """Mean brightness of pixels from the heights of their corners (in quarters of table cells, so that four make a
    mean), and which of them are bent too much for that.
    """
    kind, shape = z.dtype.type, (*z.shape[:-2], z.shape[-2] - 1, z.shape[-1] - 1)
    tall = (*z.shape[:-2], z.shape[-2] - 1, z.shape[-1])
    sums, falls = here("sums", tall, kind), here("falls", tall, kind)
    np.add(z[..., 1:, :], z[..., :-1, :], out=sums)
    np.subtract(z[..., 1:, :], z[..., :-1, :], out=falls)
    centre = np.add(sums[..., 1:], sums[..., :-1], out=here("centre", shape, kind))
    across = np.subtract(sums[..., 1:], sums[..., :-1], out=here("across", shape, kind))
    down = np.add(falls[..., 1:], falls[..., :-1], out=here("down", shape, kind))
    bend = np.subtract(falls[..., 1:], falls[..., :-1], out=here("bend", shape, kind))
    where = table.places(leaf)
    centre += where.shift
    np.abs(across, out=across)
    np.abs(down, out=down)
    short, long = np.minimum(across, down, out=here("short", shape, kind)), np.maximum(across, down, out=across)
    bent = _bent(bend, long)
    return _two_boxes(table, centre, short, long, where, here), bent


def _two_boxes(table: Table, centre: Floats, short: Floats, long: Floats, where: Places, here: Room) -> Floats:
    """The trapezoid as a box smoothed by a shorter one, of the same spread; halves of its sides are given [cells].

    The arrays are used up.
    """
    kind, shape = centre.dtype.type, centre.shape
    long *= long
    long += np.multiply(short, short, out=here("square", shape, kind))
    short, start = where.smoothed(short, here)
    short *= short
    long -= short
    np.maximum(long, kind(_LEAST * _LEAST), out=long)
    half = np.sqrt(long, out=long)
    high = where.summed(np.add(centre, half, out=here("high", shape, kind)), start, here)
    centre -= half
    high -= where.summed(centre, start, here)
    half += half
    high /= half
    high += kind(table.mean)
    return high


def _bent(bend: Floats, long: Floats) -> Bools | None:
    """Pixels whose corners are far from a plane, or None."""
    flat = _FLAT / 4  # quarters of cells
    if bend.max() <= flat and bend.min() >= -flat:
        return None
    np.abs(bend, out=bend)
    bent = (bend > _BENT * long) & (bend > flat)
    return bent if bent.any() else None


def _refined(scene: Scene, row: Floats, col: Floats, size: float, depth: int) -> Floats:
    """Mean brightness of squares of `size` pixels with their corner at (row, col) (n,), cut into parts."""
    kind, here = scene.surface.kind, room(depth)
    cut = _CUTS[depth - 1]
    steps = (np.arange(cut + 1) * (size / cut)).astype(kind)
    rows, cols = row[:, None, None] + steps[:, None], col[:, None, None] + steps
    sample = trace(scene.material, *scene.surface.points(rows, cols))
    shape = (len(row), cut + 1, cut + 1)
    z = np.broadcast_to(sample.z, shape) * _quarters(scene)
    values, _ = _plain(scene.table, z, _inner(scene.table, sample.leaf, shape), here)
    seam = _on_seam(sample.key, shape)
    if seam is not None:
        n, i, j = np.nonzero(seam)
        if depth < len(_CUTS):
            values[n, i, j] = _refined(scene, row[n] + steps[i], col[n] + steps[j], size / cut, depth + 1)
        else:
            values[n, i, j] = _corners(scene.table, z, sample, shape, (n, i, j), room(depth + 1))
    return np.asarray(values.mean(axis=(1, 2)))


def _usual(z: Floats) -> float:
    """Half of the stretch of height a pixel usually sees [cells], from the heights of corners [quarters of cells]."""
    some = z[::_SPARSE, ::_SPARSE], z[::_SPARSE, 1::_SPARSE], z[1::_SPARSE, ::_SPARSE]
    rows, cols = (min(a.shape[k] for a in some) for k in (0, 1))
    here, right, below = (a[:rows, :cols] for a in some)
    return 2 * float(np.median(np.maximum(np.abs(right - here), np.abs(below - here))))


def _corners(
    table: Table, z: Floats, sample: Sample, shape: tuple[int, ...], picks: Picks, here: Room, half: float = 0.0
) -> Floats:
    """Mean of the brightness at the four corners of parts that lie on a seam, each over a stretch of `half` [cells]
    either way.
    """
    *rest, i, j = picks
    leaves = np.broadcast_to(sample.leaf, shape)
    out = np.zeros(len(i), z.dtype)
    for di in (0, 1):
        for dj in (0, 1):
            at = (*rest, i + di, j + dj)
            where = table.places(leaves[at])
            short, long = np.zeros((2, len(i)), z.dtype)
            long += z.dtype.type(half)
            out += _two_boxes(table, 4 * z[at] + where.shift, short, long, where, here)
    return out * z.dtype.type(0.25)
