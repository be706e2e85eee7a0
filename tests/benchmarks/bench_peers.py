"""The ladder drawn in two other ways: a block of voxels, and the scalar field of structural geology.

Voxels: the layers are written into a block and the face is read from it, nearest voxel. Geology: the height each point
had is known on a coarse grid, interpolated to the face, and the layer looked up (implicit surfaces). Both are asked for
the layer at the middle of each pixel; wrong are pixels whose layer is another one than tracing gives.
`python -m tests.benchmarks.bench_peers`. Processor time of one thread.
"""

from __future__ import annotations

import time

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from billet.bar.trace import cell_of, trace
from render.field import paint
from tests.benchmarks.bench_picture import scene_of, subject_of

Array = NDArray[np.float64]
COLS, ROWS = 1000, 250
VOXEL = (0.1e-3, 0.1e-3, 0.01e-3)  # along, across, through [m]
GRID = (1.0e-3, 1.0e-3, 0.1e-3)


def axes(size: tuple[float, ...], step: tuple[float, ...]) -> list[Array]:
    """Middles of cells over a box centred on zero."""
    return [
        (np.arange(max(2, round(s / d))) + 0.5) * (s / max(2, round(s / d))) - 0.5 * s
        for s, d in zip(size, step, strict=True)
    ]


def places(points: tuple[Array, ...], at: list[Array]) -> list[Array]:
    """Points as fractional indices of a grid."""
    return [(p - a[0]) / (a[1] - a[0]) for p, a in zip(points, at, strict=True)]


def main() -> None:
    """Print times and wrong pixels."""
    subject = subject_of("ladder")
    bar = subject.bar
    _, view, scene = scene_of(subject, COLS, ROWS)
    paint(scene)
    start = time.thread_time()
    paint(scene)
    print(f"ours, antialiased: {1e3 * (time.thread_time() - start):.1f} ms")
    row, col = np.arange(ROWS)[:, None] + 0.5, np.arange(COLS)[None, :] + 0.5
    points = tuple(np.broadcast_to(a, (ROWS, COLS)).astype(float) for a in view.surface.points(row, col))
    inside = bar.contains(np.stack([p.ravel() for p in points])).reshape(ROWS, COLS)
    true = cell_of(bar.leaves[0], trace(bar.material, *points).z)
    layer = np.searchsorted(bar.leaves[0].starts, true, side="right")
    size = (bar.length, bar.width, bar.thickness)

    start = time.thread_time()
    at = axes(size, VOXEL)
    block = np.empty([len(a) for a in at], np.int16)
    for k, x in enumerate(at[0]):
        z = trace(bar.material, np.full((1, 1), x), at[1][:, None], at[2][None, :]).z
        cells = cell_of(bar.leaves[0], np.broadcast_to(z, block.shape[1:]))
        block[k] = np.searchsorted(bar.leaves[0].starts, cells, side="right")
    built = time.thread_time() - start
    start = time.thread_time()
    index = [np.clip(np.rint(p).astype(int), 0, n - 1) for p, n in zip(places(points, at), block.shape, strict=True)]
    found = block[tuple(index)]
    _told("voxels", built, time.thread_time() - start, found, layer, inside)

    start = time.thread_time()
    at = axes(size, GRID)
    field = np.stack(
        [
            np.broadcast_to(
                trace(bar.material, np.full((1, 1), x), at[1][:, None], at[2][None, :]).z, (len(at[1]), len(at[2]))
            )
            for x in at[0]
        ]
    )
    built = time.thread_time() - start
    start = time.thread_time()
    z = map_coordinates(field, places(points, at), order=1, mode="nearest")
    found = np.searchsorted(bar.leaves[0].starts, cell_of(bar.leaves[0], z), side="right")
    _told("scalar field", built, time.thread_time() - start, found, layer, inside)


def _told(name: str, built: float, read: float, found: Array, layer: Array, inside: NDArray[np.bool_]) -> None:
    wrong = 100 * float((found != layer)[inside].mean())
    print(f"{name}: built in {built:.2f} s, read in {1e3 * read:.1f} ms, {wrong:.1f} % of pixels wrong")


if __name__ == "__main__":
    main()
