"""Brightness of every pixel: pull its corners back to the layers and average what lies between them.

A pixel whose corners were pulled back to nearly a plane sees a trapezoid of heights. One box of the same spread is good
enough while it is much longer one way than the other; else two boxes at the Gauss points of the shorter side. Pixels that
are curved, or whose corners came from different sides of a seam, are cut into sixteen and looked at again, so nothing is ever
differenced across a jump.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar import Material
from billet.trace import Sample, trace
from render.coverage import Region
from render.surface import Surface
from render.table import Table

Floats = NDArray[np.floating]
Bools = NDArray[np.bool_]
Picks = tuple[NDArray[np.intp], ...]

_TILE = 1 << 16  # pixels
_WIDEST = 2048  # columns of a tile
_LOPSIDED = 0.35  # shorter over longer side of a footprint, above which one box is not enough
_GAUSS = 1 / np.sqrt(12)  # places of the two-point Gauss rule on a side of length one
_BENT = 0.25  # bend within a pixel over its footprint, above which it is cut up
_FLAT = 0.75  # footprints with their bend below this many table cells see one brightness anyway
_CUT = 4  # a pixel is cut into as many parts each way
_SEAM_CUTS = 2  # how often the parts on a seam are cut again


@dataclass(frozen=True, eq=False)
class Scene:
    """What is looked at: a material, a surface through it, its table of brightness, and how much of each pixel is metal."""

    material: Material
    surface: Surface
    table: Table
    region: Region | None = None


def paint(scene: Scene, workers: int = 1) -> NDArray[np.float32]:
    """Return the brightness of every pixel (rows, columns), 0 where there is no metal; the number of threads changes nothing."""
    surface = scene.surface
    out = np.zeros((surface.rows, surface.cols), np.float32)

    def one(tile: tuple[slice, slice]) -> None:
        if scene.region is None or not scene.region.empty(*tile):
            out[tile] = brightness(scene, *tile)

    if workers <= 1:
        for tile in tiles(surface.rows, surface.cols):
            one(tile)
        return out
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(one, tiles(surface.rows, surface.cols)))
    return out


def tiles(rows: int, cols: int) -> Iterator[tuple[slice, slice]]:
    """Blocks of a picture, wide and low, so that the columns' coordinates are shared by many rows."""
    wide = -(-cols // -(-cols // _WIDEST))
    high = max(1, _TILE // wide)
    for top in range(0, rows, high):
        for left in range(0, cols, wide):
            yield slice(top, min(top + high, rows)), slice(left, min(left + wide, cols))


def brightness(scene: Scene, rows: slice, cols: slice) -> Floats:
    """Return the brightness of a block of pixels."""
    sample = trace(scene.material, *scene.surface.grid(rows, cols))
    shape = (rows.stop - rows.start + 1, cols.stop - cols.start + 1)
    heights = np.broadcast_to(sample.z, shape) * _cells(scene)
    values, again = _plain(scene.table, heights, _inner(sample.leaf, shape))
    seam = _on_seam(sample.key, shape)
    if seam is not None:
        again |= seam
    picks = np.nonzero(again)
    if len(picks[0]):
        kind = scene.surface.kind
        row, col = (p.astype(kind) + kind(s.start) for p, s in zip(picks, (rows, cols), strict=True))
        values[picks] = _refined(scene, row, col, 1.0, _SEAM_CUTS)
    return values


def _cells(scene: Scene) -> np.floating:
    return scene.surface.kind(scene.table.per_metre)


def _inner(leaf: NDArray[np.int64] | int, shape: tuple[int, ...]) -> NDArray[np.int64] | int:
    """The leaf of every pixel, from its first corner."""
    return leaf if isinstance(leaf, int) else np.broadcast_to(leaf, shape)[..., :-1, :-1]


def _on_seam(key: NDArray[np.int64] | int, shape: tuple[int, ...]) -> Bools | None:
    """Pixels whose corners did not all come back the same way."""
    if isinstance(key, int) or key.size == 1:
        return None
    key = np.broadcast_to(key, shape)
    across, down = key[..., :, 1:] != key[..., :, :-1], key[..., 1:, :] != key[..., :-1, :]
    return np.asarray(across[..., 1:, :] | across[..., :-1, :] | down[..., 1:] | down[..., :-1])


def _plain(table: Table, z: Floats, leaf: NDArray[np.int64] | int) -> tuple[Floats, Bools]:
    """Mean brightness of pixels from the heights of their corners (in table cells), and which of them are bent too much for that."""
    kind = z.dtype.type
    sums, falls = z[..., 1:, :] + z[..., :-1, :], z[..., 1:, :] - z[..., :-1, :]
    centre, across = sums[..., 1:] + sums[..., :-1], sums[..., 1:] - sums[..., :-1]
    down, bend = falls[..., 1:] + falls[..., :-1], falls[..., 1:] - falls[..., :-1]
    centre *= kind(0.25)
    centre += table.shift[0] if table.single else table.shift.astype(kind)[leaf]
    half = across * across
    half += down * down
    np.sqrt(half, out=half)
    half *= kind(0.25)
    np.maximum(half, kind(0.5), out=half)
    values = _mean(table, centre, half, leaf)
    np.abs(across, out=across)
    np.abs(down, out=down)
    short, long = np.minimum(across, down), np.maximum(across, down)
    square = np.nonzero(short > _LOPSIDED * long)
    if len(square[0]):
        values[square] = _two_boxes(table, centre[square], short[square], long[square], leaf if isinstance(leaf, int) else leaf[square])
    return values, _bent(np.abs(bend), short, long)


def _mean(table: Table, centre: Floats, half: Floats, leaf: NDArray[np.int64] | int) -> Floats:
    """Mean brightness between centre - half and centre + half."""
    out = table.summed(centre + half, leaf)
    out -= table.summed(centre - half, leaf)
    out /= half + half
    out += table.sums.dtype.type(table.mean)
    return out


def _two_boxes(table: Table, centre: Floats, short: Floats, long: Floats, leaf: NDArray[np.int64] | int) -> Floats:
    """The trapezoid by Gauss's rule over its shorter side (sides are given doubled)."""
    kind = centre.dtype.type
    half = np.maximum(long * kind(0.25), kind(0.5))
    off = short * kind(0.5 * _GAUSS)
    return (_mean(table, centre - off, half, leaf) + _mean(table, centre + off, half, leaf)) * kind(0.5)


def _bent(bend: Floats, short: Floats, long: Floats) -> Bools:
    """Pixels whose corners are far from a plane, or whose slope changes much from one pixel to the next."""
    return np.asarray((bend > _BENT * long) & (bend > _FLAT))


def _refined(scene: Scene, row: Floats, col: Floats, size: float, cuts: int) -> Floats:
    """Mean brightness of squares of `size` pixels with their corner at (row, col) (n,), cut into sixteen parts each."""
    kind = scene.surface.kind
    steps = (np.arange(_CUT + 1) * (size / _CUT)).astype(kind)
    rows, cols = row[:, None, None] + steps[:, None], col[:, None, None] + steps
    sample = trace(scene.material, *scene.surface.points(rows, cols))
    shape = (len(row), _CUT + 1, _CUT + 1)
    z = np.broadcast_to(sample.z, shape) * _cells(scene)
    values, _ = _plain(scene.table, z, _inner(sample.leaf, shape))
    seam = _on_seam(sample.key, shape)
    if seam is not None and seam.any():
        n, i, j = np.nonzero(seam)
        if cuts > 1:
            values[n, i, j] = _refined(scene, row[n] + steps[i], col[n] + steps[j], size / _CUT, cuts - 1)
        else:
            values[n, i, j] = _corners(scene.table, z, sample, shape, (n, i, j))
    return np.asarray(values.mean(axis=(1, 2)))


def _corners(table: Table, z: Floats, sample: Sample, shape: tuple[int, ...], picks: Picks) -> Floats:
    """Mean of the brightness at the four corners of the smallest parts that still lie on a seam."""
    n, i, j = picks
    out = np.zeros(len(n), z.dtype)
    for di in (0, 1):
        for dj in (0, 1):
            at = (n, i + di, j + dj)
            leaf = sample.leaf if isinstance(sample.leaf, int) else np.broadcast_to(sample.leaf, shape)[at]
            centre = z[at] + (table.shift[0] if table.single else table.shift[leaf]).astype(z.dtype)
            out += _mean(table, centre, np.full(len(n), 0.5, z.dtype), leaf)
    return out * z.dtype.type(0.25)
