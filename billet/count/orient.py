"""Which way the layers run in a picture.

The structure tensor (mean of the outer product of the brightness gradient with itself) names the direction in which
brightness changes most; its coherence says how one-sided that is. It is taken at four sizes, so that fine layers and
broad ones are both seen, each after a band pass that is blind to evenly sloping light.
Source: Bigun and Granlund, "Optimal orientation detection of linear symmetry", 1987 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import correlate1d, gaussian_filter

Array = NDArray[np.float64]
SIZES = 4
PATCH_PX = 256
PATCHES_PER_SIDE = 5
STEP, SMOOTH = (
    (-0.5, 0.0, 0.5),
    (3 / 16, 10 / 16, 3 / 16),
)  # gradient kernel that favours no direction (Scharr, from memory)


@dataclass(frozen=True)
class Direction:
    """Direction of the layers [rad], counted from the picture's rows toward its foot, in (-pi/2, pi/2]; coherence 0
    (none) to 1 (perfect).
    """

    angle: float
    coherence: float


def patches(image: Array, side: int = PATCH_PX, number: int = PATCHES_PER_SIDE) -> list[Array]:
    """Square cuttings (side [px], fewer at the rim) spread evenly over the picture (h, w): all of a small one, a sample
    of a large one.
    """
    tops, lefts = (
        np.unique(np.linspace(0, max(size - side, 0), min(number, -(-size // side))).astype(int))
        for size in image.shape
    )
    return [image[top : top + side, left : left + side] for top in tops for left in lefts]


def tensor(patch: Array) -> Array:
    """Sums [Jxx, Jyy, Jxy] of the structure tensor of one cutting (h, w) after the band pass; zeros when it is too
    small.
    """
    if min(patch.shape) < 12:
        return np.zeros(3)
    return np.asarray(gradient_products(patch)[:, 3:-3, 3:-3].sum(axis=(1, 2)))


def gradient_products(image: Array) -> Array:
    """Products [gx gx, gy gy, gx gy] (3, h, w) of the brightness gradient of the picture (h, w) after the band pass."""
    band = gaussian_filter(image, 1.0) - gaussian_filter(image, 3.0, truncate=2.5)
    gy, gx = (correlate1d(correlate1d(band, SMOOTH, axis=1 - axis), STEP, axis=axis) for axis in (0, 1))
    return np.stack([gx * gx, gy * gy, gx * gy])


def halved(image: Array) -> Array:
    """The picture at half size, each new pixel the mean of four."""
    h, w = image.shape[0] // 2 * 2, image.shape[1] // 2 * 2
    return np.asarray(image[:h, :w].reshape(h // 2, 2, w // 2, 2).mean(axis=(1, 3)))


def directions(image: Array) -> list[tuple[Direction, float]]:
    """Direction of the layers in the picture (h, w) at each size, with the gradient energy seen there, finest first."""
    cuttings, found = patches(image), []
    for size in range(SIZES):
        jxx, jyy, jxy = np.sum([tensor(p) for p in cuttings], axis=0) * 4.0**size
        across = 0.5 * np.arctan2(2 * jxy, jxx - jyy)
        coherence = float(np.hypot(jxx - jyy, 2 * jxy) / max(jxx + jyy, 1e-30))
        along = across - np.copysign(np.pi / 2, across)
        found.append((Direction(float(along), coherence), float(jxx + jyy)))
        cuttings = [halved(p) for p in cuttings]
    return found


def layer_direction(image: Array) -> Direction:
    """The most telling Direction of the layers in the grey picture (h, w): high coherence, and energy enough to"
    " matter."""
    return max(directions(image), key=lambda found: found[0].coherence * np.sqrt(found[1]))[0]
