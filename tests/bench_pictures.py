"""Seeded photographs of whole bar ends lying on a bench, made without the project's own renderer, with the true count
known.

The bar is a rectangle with eased corners, turned by up to 15 degrees; around it lies paper, stone, wood or cloth, lit
unevenly, with the bar's soft shadow. The truth is read from the layer numbers along the bar's middle, side to side and
square to the sides, not from the brightness; what is left of an outer layer counts from LEAST_SLIVER_PX on.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from tests.count_pictures import (
    Photograph,
    brightness_table,
    light,
    scratches,
    thicknesses,
    through_jpeg,
    tones,
    waves,
)

Array = NDArray[np.float64]
MOST_TURN = np.radians(15)
LEAST_SLIVER_PX = 2.0  # thinner than the lens resolves
BENCHES = ("paper", "stone", "wood", "cloth")


def bench_top(rng: np.random.Generator, shape: tuple[int, int], kind: str) -> Array:
    """Brightness (h, w) of a bench: even paper, grainy stone, streaked wood or woven cloth."""
    h, w = shape
    tone = rng.uniform(0.75, 0.95) if kind == "paper" else rng.uniform(0.08, 0.8)
    if kind == "stone":
        grains = ndimage.gaussian_filter(rng.normal(size=shape), rng.uniform(1, 5))
        return np.asarray(tone * (1 + 0.12 * grains / grains.std()))
    if kind == "wood":
        return np.asarray(tone * (1 + 0.06 * scratches(rng, shape, rng.uniform(60, 150), rng.uniform(-0.4, 0.4))))
    if kind == "cloth":
        y, x = np.mgrid[0:h, 0:w]
        pitch = rng.uniform(5, 12)
        return np.asarray(tone * (1 + 0.06 * (np.sin(2 * np.pi * x / pitch) + np.sin(2 * np.pi * y / pitch))))
    return np.full(shape, tone)


def bar_on_bench(seed: int, lines: int | None = None, turn: float | None = None) -> Photograph:
    """One seeded photograph of a whole bar end; lines is the number aimed at (12 to 200 unless given), the truth is in
    the result.
    """
    rng = np.random.default_rng(seed)
    lines = lines or int(np.exp(rng.uniform(np.log(12), np.log(160))))
    layer_px = rng.uniform(4.5, 9) if lines > 60 else rng.uniform(6, 20)
    turn = rng.uniform(-1, 1) * MOST_TURN if turn is None else turn
    thick, wide = lines * layer_px, max(lines * layer_px * rng.uniform(0.5, 4.0), 150.0)
    wide = min(wide, 1600.0)
    margin = rng.uniform(60, 240)
    h = round(thick * np.cos(turn) + wide * abs(np.sin(turn)) + 2 * margin)
    w = round(wide * np.cos(turn) + thick * abs(np.sin(turn)) + 2 * margin)
    y, x = np.mgrid[0:h, 0:w].astype(np.float64)
    x, y = x - (w - 1) / 2 + rng.uniform(-20, 20), y - (h - 1) / 2 + rng.uniform(-20, 20)
    u, v = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    height, tilt = rng.uniform(0, 1.0), rng.normal(0, 0.008)
    parts = [
        np.concatenate([[0], np.cumsum(thicknesses(rng, int(lines * 1.8) + 60, layer_px, rng.uniform(0.05, 0.3)))])
    ]
    edges = parts[0] - parts[0][-1] / 2
    wave = rng.integers(1 << 30)
    across = v + tilt * u + waves(np.random.default_rng(wave), u, v, height)
    contrast, blur = rng.uniform(0.2, 0.55), min(rng.uniform(0.4, 1.4), 0.28 * layer_px)
    where, table = brightness_table(edges, tones(rng, len(edges) - 1, contrast), blur)
    steel = np.interp(across, where, table)
    steel = steel + rng.uniform(0, 0.12) * contrast * scratches(rng, (h, w), rng.uniform(15, 60), rng.uniform(-1, 1))
    top = bench_top(rng, (h, w), str(rng.choice(BENCHES)))
    reach = ndimage.gaussian_filter(_inside(u, v - 6, wide, thick, 4.0).astype(float), 12)
    top = top * (1 - rng.uniform(0, 0.4) * reach)
    cover = ndimage.gaussian_filter(_inside(u, v, wide, thick, rng.uniform(1, 12)).astype(float), max(blur, 0.5))
    image = 0.85 * (cover * steel + (1 - cover) * top) * light(rng, (h, w), rng.uniform(0, 0.5))
    image = image + rng.normal(0, rng.uniform(0.005, 0.12) * contrast, (h, w))
    line = np.arange(-thick / 2 + LEAST_SLIVER_PX, thick / 2 - LEAST_SLIVER_PX, 0.02)
    crossed = np.searchsorted(edges, line + waves(np.random.default_rng(wave), np.zeros(1), line, height), "right")
    layers = len(np.unique(crossed))
    return Photograph(through_jpeg(image, int(rng.integers(60, 96))), layers, thick / layers, turn, False)


def _inside(u: Array, v: Array, wide: float, thick: float, corner: float) -> NDArray[np.bool_]:
    """Where a point (u, v) of the bar's frame lies in a rectangle with its corners rounded [px]."""
    du, dv = np.abs(u) - wide / 2 + corner, np.abs(v) - thick / 2 + corner
    return np.asarray(np.hypot(np.maximum(du, 0), np.maximum(dv, 0)) + np.minimum(np.maximum(du, dv), 0) < corner)
