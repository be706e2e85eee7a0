"""How fast and how true the pictures are, against brute force, a volume of voxels and plain copying of memory.

All ratios are paired: both ways run in turn in one process, medians and ranges over the rounds. Buffers are written
before they are read. Run it on an idle machine: python -m tests.benchmarks.bench_picture
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.ndimage import map_coordinates

from billet.bar.bar import Bar
from billet.blade import Blade
from render.etch import Look, cell_reflectance
from render.field import Scene, paint
from render.light import Lit, encode, light
from render.panel import Subject, gloss_of
from render.scene import prepare, survey
from render.table import build
from render.views import View, Window
from tests import picture_recipes as recipes
from tests.brute import finer, supersampled, without_region

ROUNDS = 7


def clock(job: Callable[[], object]) -> float:
    """Wall time of one run [s]."""
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def compare(name: str, first: Callable[[], object], second: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Print how many times longer the second takes; returns the median ratio."""
    clock(first), clock(second)
    pairs = [(clock(first), clock(second)) for _ in range(rounds)]
    ratios = sorted(b / a for a, b in pairs)
    ratio = statistics.median(ratios)
    a, b = (1e3 * statistics.median(p[k] for p in pairs) for k in (0, 1))
    print(f"  {name:<58} {a:8.1f} ms, {b:8.1f} ms: {ratio:6.2f} [{ratios[0]:.2f} to {ratios[-1]:.2f}]", flush=True)
    return ratio


def subject_of(name: str) -> Subject:
    """A blade in the bar of one of the shared recipes."""
    ledger = recipes.ledger_of(recipes.RECIPES[name]())
    bar, blade = ledger.last, Blade(ledger.recipe.tables.blade)
    return Subject(bar, blade, blade.placement(bar.length, bar.width))


def scene_of(subject: Subject, cols: int, rows: int) -> tuple[Window, View, Scene]:
    """The right face over a frame that the blade fills across, painted to its borders."""
    window = Window((0.105, 0.024), 0.218 / cols, cols, rows)
    view, scene = prepare(subject.bar, Look(), lambda kind: subject.view("right", window, kind), window)
    return window, view, without_region(scene)


def against_samples() -> None:
    """Eight by eight samples a pixel of the same maps, dtype and tiling, one thread."""
    print("8 x 8 samples over ours, 1000 x 250, one thread (wanted: 6 each, 12 in the geometric mean)")
    ratios = []
    for name in recipes.RECIPES:
        subject = subject_of(name)
        window, _, scene = scene_of(subject, 1000, 250)
        fine = subject.view("right", finer(window, 8), np.float32).surface
        ratios.append(compare(name, lambda s=scene: paint(s), lambda s=scene, f=fine: supersampled(s, f, 8), 5))  # type: ignore[misc]
    print(f"  geometric mean {statistics.geometric_mean(ratios):.1f}")


def threads() -> None:
    """Two threads against one."""
    print("one thread over two, 4000 x 1000 (wanted: 1.6)")
    for name in ("ladder", "twist"):
        scene = scene_of(subject_of(name), 4000, 1000)[2]
        compare(name, lambda s=scene: paint(s, 2), lambda s=scene: paint(s, 1), 5)  # type: ignore[misc]


def against_voxels() -> None:
    """Linear sampling of a volume of voxels along the same surface; building the volume is not counted."""
    subject = subject_of("ladder")
    _, view, scene = scene_of(subject, 2000, 500)
    volume = np.random.default_rng(1).random((800, 200, 400), np.float32)
    bar = subject.bar
    x, y, z = (np.broadcast_to(a, (500, 2000)) for a in view.surface.grid(slice(0, 499), slice(0, 1999)))
    places = [
        (a / s + 0.5) * n
        for a, s, n in zip((x, y, z), (bar.length, bar.width, bar.thickness), volume.shape, strict=True)
    ]
    print("map_coordinates order 1 over ours, 2000 x 500, one thread (wanted: 4)")
    compare("ladder", lambda: paint(scene), lambda: map_coordinates(volume, places, order=1, mode="nearest"))


def against_copying() -> None:
    """Stream copies of the picture's own size."""
    subject = subject_of("ladder")
    window, view, scene = scene_of(subject, 4000, 1000)
    source, target = np.ones((1000, 4000), np.float32), np.ones((1000, 4000), np.float32)

    def copy() -> None:
        for _ in range(30):
            np.copyto(target, source)

    print("unshaded ladder over 30 copies of its picture, 4000 x 1000, one thread (wanted: 1)")
    compare("ladder", copy, lambda: paint(scene))
    brightness = paint(scene).copy()
    lit = Lit(window.pixel, view.edge, view.spine, gloss_of(view, subject, "right"))
    print("shading over tracing, the same picture (wanted: 1 or less)")
    compare("ladder", lambda: paint(scene), lambda: encode(light(brightness, Look(), lit)))

    def twelve() -> None:
        for _ in range(12):
            np.copyto(target, source)

    small = scene_of(subject, 1000, 250)
    lit_small = Lit(small[0].pixel, small[1].edge, small[1].spine, gloss_of(small[1], subject, "right"))
    print("shaded 1000 x 250 over 12 copies of a 4000 x 1000 picture, one thread (wanted: 1)")
    compare("ladder", twelve, lambda: encode(light(paint(small[2]), Look(), lit_small)))


def _with_table(bar: Bar, subject: Subject, window: Window) -> None:
    """Survey, table and picture: all that depends on how many layers there are."""
    view = subject.view("right", window, np.float32)
    tones = [cell_reflectance(leaf, Look()) for leaf in bar.leaves]
    found = survey(bar, view.surface)
    table = build(bar.leaves, tones, found.footprint, mix_below=3e-6 * found.thinning)
    paint(Scene(bar.material, view.surface, table))


def many_layers() -> None:
    """Three hundred thousand layers against fifty, survey and table counted."""
    jobs = []
    window = Window((0.105, 0.024), 0.218 / 4000, 4000, 1000)
    for layers in (50, 300_000):
        ledger = recipes.ledger_of(recipes.laminate(layers))
        bar, blade = ledger.last, Blade(ledger.recipe.tables.blade)
        subject = Subject(bar, blade, blade.placement(bar.length, bar.width))
        jobs.append(lambda b=bar, s=subject: _with_table(b, s, window))  # type: ignore[misc]
    print("300,000 layers over 50, 4000 x 1000, one thread (wanted: at most 1.2)")
    compare("laminate", *jobs)


if __name__ == "__main__":
    print(f"numpy {np.__version__}, python {sys.version.split()[0]}")
    asked = sys.argv[1:]
    for part in (against_samples, threads, against_voxels, against_copying, many_layers):
        if not asked or part.__name__ in asked:
            part()
