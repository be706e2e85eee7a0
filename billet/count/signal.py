"""From a picture whose layers lie roughly along the rows to profiles across the layers, and from profiles to layers.

The picture is sheared, column by column, until the layers lie level; strips of neighbouring columns are then averaged
along the layers, which keeps the layers and thins noise and scratches. The shear keeps the vertical measure: a profile
is what the strip's middle column would read without noise.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import rfft, rfftfreq
from scipy.ndimage import gaussian_filter1d

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Strip:
    """Brightness (n,) across the layers of one strip, NaN outside the picture, and of its left and right halves; centre
    column [px].
    """

    centre: float
    profile: Array
    left: Array
    right: Array


def flattened(profile: Array, reach_px: float) -> Array:
    """The profile (n,) with uneven light divided out and steel tones kept: brightness over its own mean within the
    reach [px], less one.

    Rows outside the picture (NaN at the ends) become 0.
    """
    inside = np.isfinite(profile)
    mean = gaussian_filter1d(profile[inside], reach_px)
    flat = np.zeros(len(profile))
    flat[inside] = profile[inside] / np.maximum(mean, 1e-3) - 1.0
    return flat


def sheared(block: Array, slope: float, pivot: float) -> Array:
    """Each column x of the block (h, w) read at y + slope (x - pivot), linear between rows; NaN outside the picture."""
    h, w = block.shape
    y = np.arange(h)[:, None] + slope * (np.arange(w) - pivot)[None]
    inside = (y >= -0.5) & (y <= h - 0.5)
    low = np.clip(np.floor(y), 0, h - 2).astype(int)
    share = np.clip(y - low, 0, 1)
    x = np.arange(w)[None]
    return np.where(inside, block[low, x] * (1 - share) + block[low + 1, x] * share, np.nan)


def sharpness(columns: Array, slopes: Array, shortest_px: float, longest_px: float) -> Array:
    """Energy (n,) left after averaging the columns (h, w) along each of the slopes (n,), within a band of wavelengths
    [px].

    Shifting a column is a turn of phase in its Fourier transform, so every slope is tried without resampling.
    """
    h, w = columns.shape
    f = rfftfreq(h)
    band = (f > 1 / longest_px) & (f < 1 / shortest_px)
    spectrum = rfft(columns * np.hanning(h)[:, None], axis=0)[band]
    shift = np.outer(f[band], np.arange(w) - (w - 1) / 2)
    mean = np.stack([np.einsum("fx,fx->f", spectrum, np.exp(2j * np.pi * s * shift)) for s in slopes])
    return np.asarray(np.sum(np.abs(mean) ** 2, axis=1))


def best_slope(columns: Array, slopes: Array, shortest_px: float, longest_px: float) -> float:
    """The slope, among and between those tried, along which the layers of the columns (h, w) average most sharply."""
    energy = sharpness(columns, slopes, shortest_px, longest_px)
    i = int(np.clip(np.argmax(energy), 1, len(slopes) - 2))
    below, at, above = energy[i - 1 : i + 2]
    bend = below - 2 * at + above
    offset = 0.5 * (below - above) / bend if bend < 0 else 0.0
    return float(slopes[i] + np.clip(offset, -0.5, 0.5) * (slopes[1] - slopes[0]))


def cut_strip(image: Array, left: int, width: int, slope: float, own_slope: float, pivot: float) -> Strip:
    """One strip of the picture (h, w), its layers levelled by its own slope and brought to where they meet the pivot
    column by the common one.
    """
    block = image[:, left : left + width]
    centre = left + (width - 1) / 2
    levelled = sheared(block, own_slope, (width - 1) / 2)
    parts = levelled, levelled[:, : width // 2], levelled[:, width - width // 2 :]
    whole, first, second = (sheared(mean_inside(p)[:, None], slope * (centre - pivot), -1.0)[:, 0] for p in parts)
    seen = np.where(np.isfinite(first + second), 1.0, np.nan)
    return Strip(centre, whole * seen, first * seen, second * seen)


def mean_inside(block: Array) -> Array:
    """Mean (h,) of each row of the block (h, w) over what lies inside the picture; NaN where that is less than half the
    row.
    """
    inside = np.isfinite(block)
    number = inside.sum(axis=1)
    return np.asarray(
        np.where(number >= block.shape[1] / 2, np.where(inside, block, 0).sum(axis=1) / np.maximum(number, 1), np.nan)
    )


def power_spectrum(profiles: list[Array]) -> tuple[Array, Array]:
    """Frequencies [1/px] and mean power (n // 2 + 1,) of the flattened profiles (n,), their ends tapered off."""
    n = len(profiles[0])
    return rfftfreq(n), np.mean([np.abs(rfft(p * np.hanning(n))) ** 2 for p in profiles], axis=0)


def spectral_layer(frequency: Array, power: Array) -> float:
    """Typical layer [px]: half the wavelength at which a spectrum (n,), taken per octave and smoothed, is strongest."""
    octaves = np.geomspace(frequency[3], 0.5, 400)
    strength = np.interp(octaves, frequency, gaussian_filter1d(power, 1.5)) * octaves
    return float(0.5 / octaves[np.argmax(gaussian_filter1d(strength, 4))])


def turning_points(profile: Array, threshold: Array) -> NDArray[np.intp]:
    """Rows of the alternating peaks and valleys of the profile (n,) that differ from their neighbours by more than the
    threshold (n,).

    Local extremes are listed and the weakest neighbouring pairs struck out until every step is large enough: what
    remains are the layers, one turning point each, those cut by the ends included. Empty when nothing is large enough.
    """
    rise = np.where(np.diff(profile) >= 0, 1, -1)
    points = np.concatenate([[0], np.flatnonzero(np.diff(rise)) + 1, [len(profile) - 1]])
    while len(points) > 1:
        steps = np.abs(np.diff(profile[points])) - np.maximum(threshold[points[:-1]], threshold[points[1:]])
        around = np.concatenate([[np.inf], steps, [np.inf]])
        weak = np.flatnonzero((steps <= 0) & (steps <= around[:-2]) & (steps < around[2:]))
        if not len(weak):
            return points
        last = len(steps) - 1
        left, right = weak[(weak < last) | (weak == 0)], weak[(weak > 0) | (weak == last)] + 1
        points = np.delete(points, np.concatenate([left, right]))
    return points[:0]


def crossings(profile: Array, points: NDArray[np.intp]) -> Array:
    """Where the profile (n,) passes half way between each two neighbouring turning points: the seams between layers
    [px], rising.
    """
    found = np.empty(max(len(points) - 1, 0))
    for i, (a, b) in enumerate(itertools.pairwise(points)):
        piece, middle = profile[a : b + 1], (profile[a] + profile[b]) / 2
        above = (piece > middle) != (piece[0] > middle)
        j = int(np.argmax(above))
        found[i] = a + j - 1 + (middle - piece[j - 1]) / (piece[j] - piece[j - 1])
    return found
