"""Seeded photographs of etched bar ends and bevels, made without the project's own renderer, with the true count known.

A photograph is built from the layers up: uneven layer thicknesses, two steels (at times a third) with layer-to-layer
tone, hammered waviness, a turn of up to 10 degrees, the lens's blur and the pixel's own width, uneven light, satin
scratches, sensor noise and JPEG. The truth is read from the layer numbers under the middle line of the picture, edge to
edge, not from the brightness.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

Array = NDArray[np.float64]
FINE = 16  # samples per pixel in the table of brightness across the layers


@dataclass(frozen=True)
class Photograph:
    """Grey picture (h, w) 0..1, the layers its middle line crosses, mean layer [px], turn [rad], whether the layers
    stand upright.
    """

    image: Array
    layers: int
    layer_px: float
    turn: float
    upright: bool


def thicknesses(rng: np.random.Generator, number: int, mean_px: float, spread: float) -> Array:
    """Layer thicknesses [px], log-normal with the given spread, none under half the mean, swelling slowly across the
    bar.
    """
    drift = 1 + 0.2 * np.sin(np.linspace(0, rng.uniform(2, 7), number) + rng.uniform(0, 6))
    return np.clip(rng.lognormal(0, spread, number), 0.5, 2.2) * mean_px * drift / drift.mean()


def tones(rng: np.random.Generator, number: int, contrast: float) -> Array:
    """Brightness of each layer: dark and bright in turn, each a little its own; in a third of the bars some bright
    layers are duller.
    """
    tone = np.where(np.arange(number) % 2, 0.5 + contrast / 2, 0.5 - contrast / 2)
    tone = tone + rng.normal(0, 0.08 * contrast, number)
    if rng.random() < 1 / 3:
        tone[1::6] -= 0.35 * contrast
    return tone


def brightness_table(edges: Array, tone: Array, blur_px: float) -> tuple[Array, Array]:
    """Brightness across the layers, sampled FINE times per pixel, averaged over one pixel and blurred by the lens."""
    where = np.arange(edges[0], edges[-1], 1 / FINE)
    sharp = tone[np.clip(np.searchsorted(edges, where, "right") - 1, 0, len(tone) - 1)]
    return where, ndimage.gaussian_filter1d(ndimage.uniform_filter1d(sharp, FINE), blur_px * FINE)


def waves(rng: np.random.Generator, x: Array, y: Array, height: float) -> Array:
    """Slow hammered waviness of the layers [px], slopes of a few hundredths."""
    total = np.zeros(np.broadcast(x, y).shape)
    for _ in range(3):
        length = rng.uniform(250, 900)
        along, across = rng.uniform(0.6, 1) / length, rng.uniform(-0.3, 0.3) / length
        total = total + height * length / 300 * np.sin(2 * np.pi * (along * x + across * y) + rng.uniform(0, 6.3))
    return total


def light(rng: np.random.Generator, shape: tuple[int, int], strength: float) -> Array:
    """Uneven light: a slope, a falling-off toward the corners and one soft glare."""
    y, x = np.mgrid[-1 : 1 : shape[0] * 1j, -1 : 1 : shape[1] * 1j]
    a, b, cx, cy = rng.uniform(-1, 1, 4)
    glare = np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / rng.uniform(0.1, 0.8))
    return np.asarray(1 + strength * (0.5 * a * x + 0.5 * b * y - 0.25 * (x**2 + y**2) + 0.4 * glare))


def scratches(rng: np.random.Generator, shape: tuple[int, int], length_px: float, slope: float) -> Array:
    """Even satin scratches of unit strength: fine lines of finite length, running near the picture's rows at the given
    slope.
    """
    h, w = shape
    streaks = rng.normal(size=(h + w, w))
    for _ in range(2):  # twice a running mean, nearly a bell
        streaks = ndimage.uniform_filter1d(streaks, round(2.4 * length_px), axis=1)
    rows = (np.arange(h)[:, None] + np.round(slope * np.arange(w)).astype(int)[None]) % (h + w)
    drawn = streaks[rows, np.arange(w)[None]]
    return np.asarray(drawn / drawn.std())


def through_jpeg(image: Array, quality: int) -> Array:
    """The picture after saving as an 8-bit grey JPEG of the given quality and reading back."""
    buffer = io.BytesIO()
    Image.fromarray(np.uint8(np.clip(image, 0, 1) * 255 + 0.5)).save(buffer, "JPEG", quality=quality)
    return np.asarray(Image.open(buffer), dtype=np.float64) / 255


def photograph(
    seed: int, lines: int | None = None, layer_px: float | None = None, width: int | None = None
) -> Photograph:
    """One seeded photograph; lines (20 to 400 unless given) is the number aimed at, the truth is in the result."""
    rng = np.random.default_rng(seed)
    lines = lines or int(np.exp(rng.uniform(np.log(20), np.log(400))))
    drawn_px = rng.uniform(4.2, 8) if lines > 200 else rng.uniform(4.2, 14) if lines > 60 else rng.uniform(8, 30)
    layer_px = layer_px or drawn_px
    h, w = round(lines * layer_px), width or int(rng.integers(220, 520))
    turn = rng.uniform(-1, 1) * np.radians(10)
    contrast = rng.uniform(0.15, 0.55)
    y, x = np.mgrid[0:h, 0:w].astype(np.float64)
    across = (y - h / 2) * np.cos(turn) + (x - w / 2) * np.sin(turn) + waves(rng, x, y, rng.uniform(0, 1.5))
    thick = thicknesses(rng, int(lines * 1.6) + 20 + int(w / layer_px), layer_px, rng.uniform(0.05, 0.35))
    edges = np.concatenate([[0], np.cumsum(thick)])
    edges -= edges[-1] / 2
    where, table = brightness_table(
        edges, tones(rng, len(thick), contrast), min(rng.uniform(0.4, 1.6), 0.28 * layer_px)
    )
    image = np.interp(across, where, table)
    if rng.random() < 0.6:
        image = image + rng.uniform(0.03, 0.2) * contrast * scratches(
            rng, (h, w), rng.uniform(15, 60), rng.choice([-0.5, 0.02, 0.3, 1.0])
        )
    image = 0.85 * image * light(rng, (h, w), rng.uniform(0, 0.6)) + rng.normal(
        0, rng.uniform(0.01, 0.3) * contrast, (h, w)
    )
    image = through_jpeg(image, int(rng.integers(50, 96)))
    crossed = np.searchsorted(edges, across[:, w // 2], "right")
    upright = bool(rng.random() < 0.3)
    return Photograph(
        image.T if upright else image,
        int(1 + np.count_nonzero(np.diff(crossed))),
        h / len(np.unique(crossed)),
        turn,
        upright,
    )


def stripes(number: int, layer_px: float, width: int = 240, slope: float = 0.0) -> Array:
    """Equal dark and bright layers, softened by a pixel, falling by slope per column; the middle column starts and ends
    on a seam.
    """
    y, x = np.mgrid[0 : round(number * layer_px), 0:width].astype(float)
    phase = (y + 0.5 - slope * (x - (width - 1) / 2)) / layer_px
    return 0.5 + 0.2 * np.clip(layer_px * np.sin(np.pi * phase) / np.pi, -1, 1)


def grey_card(seed: int, shape: tuple[int, int] = (500, 400)) -> Array:
    """A plain grey card in uneven light with a little sensor noise, as JPEG: no layers."""
    rng = np.random.default_rng(seed)
    return through_jpeg(0.5 * light(rng, shape, 0.4) + rng.normal(0, 0.01, shape), 90)


def satin_card(seed: int, shape: tuple[int, int] = (600, 400)) -> Array:
    """Satin-finished steel of one kind in uneven light: scratches, no layers."""
    rng = np.random.default_rng(seed)
    return through_jpeg(
        0.5 * light(rng, shape, 0.3) + 0.04 * scratches(rng, shape, 40, 0.02) + rng.normal(0, 0.01, shape), 90
    )


def noise_card(seed: int, grain_px: float = 0.0, shape: tuple[int, int] = (600, 400)) -> Array:
    """Noise without direction, with grains of the given size."""
    grains = ndimage.gaussian_filter(np.random.default_rng(seed).normal(size=shape), grain_px)
    return np.asarray(np.clip(0.5 + 0.15 * grains / grains.std(), 0, 1))
