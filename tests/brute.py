"""The same pictures by brute force, to compare with: many point samples in every pixel, no filter at all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.trace import cell_of, trace
from render.etch import Look, cell_reflectance
from render.field import Scene, tiles
from render.surface import Surface
from render.views import View, Window

Maker = Callable[[Window, type[np.floating]], View]


def finer(window: Window, n: int) -> Window:
    """The window whose lattice corners are the centres of n x n parts of each pixel of another."""
    p = window.pixel / n
    left, top = window.left + 0.5 * p, window.top - 0.5 * p
    cols, rows = window.cols * n - 1, window.rows * n - 1
    return Window((left + 0.5 * cols * p, top - 0.5 * rows * p), p, cols, rows)


def supersampled(scene: Scene, fine: Surface, n: int) -> NDArray[np.float32]:
    """Mean of n x n point samples per pixel in the scene's own precision, tile by tile as `paint` does; `fine` is the
    surface of `finer`.
    """
    table, coarse = scene.table, scene.surface
    out = np.zeros((coarse.rows, coarse.cols), np.float32)
    kind = coarse.kind
    for rows, cols in tiles(coarse.rows * n, coarse.cols * n):
        rows = slice(rows.start - rows.start % n, rows.stop - rows.stop % n)
        if rows.stop == rows.start:
            continue
        picked = slice(rows.start, rows.stop - 1), slice(cols.start, cols.stop - 1)
        sample = trace(scene.material, *fine.grid(*picked))
        shape = (rows.stop - rows.start, cols.stop - cols.start)
        at = np.broadcast_to(sample.z, shape) * kind(table.per_metre)
        if table.single:
            at += kind(table.shift[0])
            value = np.take(table.steps, at.astype(np.intp), mode="clip")
        else:
            leaf = np.broadcast_to(sample.leaf, shape)
            at += table.shift.astype(kind)[leaf]
            value = np.take(
                table.steps, np.clip(at.astype(np.intp), 0, (table.last - table.first)[leaf]) + table.first[leaf]
            )
        block = value.reshape(shape[0] // n, n, shape[1] // n, n).mean(axis=(1, 3))
        out[rows.start // n : rows.stop // n, cols.start // n : cols.stop // n] = block + kind(table.mean)
    return out


def reference(bar: Bar, look: Look, make: Maker, window: Window, n: int = 64) -> NDArray[np.float64]:
    """Mean of n x n point samples per pixel in double precision, each looked up in the laminate itself."""
    fine = make(finer(window, n), np.float64).surface
    tones = [cell_reflectance(leaf, look) for leaf in bar.leaves]
    out = np.zeros((window.rows, window.cols))
    for row in range(window.rows):
        rows, cols = slice(row * n, row * n + n - 1), slice(0, window.cols * n - 1)
        sample = trace(bar.material, *fine.grid(rows, cols))
        shape = (n, window.cols * n)
        z, leaf = np.broadcast_to(sample.z, shape), np.broadcast_to(sample.leaf, shape)
        value = np.empty(shape)
        for k in np.unique(leaf):
            mine = leaf == k
            value[mine] = tones[k][cell_of(bar.leaves[k], z[mine])]
        out[row] = value.reshape(n, window.cols, n).mean(axis=(0, 2))
    return out


def without_region(scene: Scene) -> Scene:
    """The scene painted to its borders, so that both ways do the same work."""
    return replace(scene, region=None)
