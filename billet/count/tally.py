"""Seams read in many strips across the layers, and one count made of them.

A strip may lose a thin layer to noise or a scratch, or see only part of the line where the layers run out of the
picture. So the line is parted into stretches of a few layers; in each the middle half of the strips that see all of it
is averaged, and the stretches are added.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.stats import trim_mean

from billet.count.signal import (
    Strip,
    best_slope,
    crossings,
    cut_strip,
    flattened,
    power_spectrum,
    spectral_layer,
    turning_points,
)

Array = NDArray[np.float64]
STRIPS = 15
# Set by trial on synthetic photographs (no source).
LEAST_STEP = 0.2  # of the local contrast; a fainter step is taken for dirt, not for a layer
NOISE_STEPS = 2.0  # standard deviations of a strip's own noise
END_STEP = 0.3  # of the neighbouring step
MARGIN_LAYERS = 4.0  # an outer "layer" this many times the median is bench or background


@dataclass(frozen=True)
class Reading:
    """Seams [px] found in one strip between its first and last row inside the picture, and how well its two halves
    agree (-1 to 1); median step from layer to layer as a share of the mean brightness.
    """

    first: int
    last: int
    seams: Array
    repeat: float
    contrast: float


@dataclass(frozen=True)
class Tally:
    """Layers over the whole line (NaN when a stretch of it was seen by no strip), scatter between strips [layers],
    median layer-to-layer distance along the line [px], the spectrum's own layer [px], median repeat and contrast of the
    strips, share of layers near the resolution, slope of the layers against the rows, the readings it rests on, and the
    rows of the band.
    """

    layers: float
    scatter: float
    layer_px: float
    spectral_px: float
    repeat: float
    contrast: float
    thin: float
    slope: float
    readings: tuple[Reading, ...]
    rows: int


def tally_layers(upright: Array, slope: float) -> Tally:
    """Count the layers down the middle column of a band (h, w) whose layers fall by about slope per column: first with
    the layer the spectrum suggests, then with the layer that was counted, until the two agree.
    """
    h, w = upright.shape
    spectral = layer = spectral_layer(
        *power_spectrum([flattened(s.profile, h / 16) for s in strips(upright, slope, 16)])
    )
    middle = upright[:, max(0, w // 2 - 48) : w // 2 + 48]
    slope = best_slope(middle, slope + np.linspace(-0.08, 0.08, 17), 1.2 * layer, 6 * layer)
    for _ in range(3):
        width = int(np.clip(min(4 * layer, w / 5), 6, 64))
        readings = tuple(read(s, layer) for s in strips(upright, slope, width, layer))
        tally = add_up(readings, h, spectral, slope)
        if not np.isfinite(tally.layers) or abs(np.log(tally.layer_px / layer)) < 0.2:
            break
        layer = tally.layer_px
    return tally


def strips(upright: Array, slope: float, width: int, layer: float | None = None) -> list[Strip]:
    """Up to STRIPS strips of the given width [px] spread over the band (h, w), as far out as the slope leaves most of
    each in the picture.

    With a layer [px] given each strip finds its own slope near the common one, so that waviness does not blur it.
    """
    h, w = upright.shape
    width = min(width, w)
    pivot, reach = (w - 1) / 2, min((w - width) / 2, 0.4 * h / max(abs(slope), 1e-6))
    number = int(np.clip(2 * reach // width + 1, 1, STRIPS))
    lefts = (
        np.unique(np.round(np.linspace(-reach, reach, number) + pivot - (width - 1) / 2)).astype(int)
        if number > 1
        else [(w - width) // 2]
    )
    tried = slope + np.linspace(-0.06, 0.06, 9)
    owns = [
        slope if layer is None else best_slope(upright[:, a : a + width], tried, 1.2 * layer, 6 * layer) for a in lefts
    ]
    return [cut_strip(upright, int(a), width, slope, own, pivot) for a, own in zip(lefts, owns, strict=True)]


def read(strip: Strip, layer: float) -> Reading:
    """The seams of one strip, given the typical layer [px]: turning points that stand out of the local contrast and of
    the strip's noise.
    """
    inside = np.flatnonzero(np.isfinite(strip.profile))
    first, last = int(inside[0]), int(inside[-1])
    profile, left, right = (
        gaussian_filter1d(flattened(p[first : last + 1], 4 * layer), max(0.15 * layer, 0.4))
        for p in (strip.profile, strip.left, strip.right)
    )
    contrast = 2 * np.sqrt(gaussian_filter1d(profile**2, 2.5 * layer))
    contrast = np.maximum(contrast, np.median(contrast) / 2)
    points = turning_points(profile, np.maximum(LEAST_STEP * contrast, NOISE_STEPS * np.std(left - right) / 2))
    points = _without_stubs(profile, points)
    step = float(np.median(np.abs(np.diff(profile[points])))) if len(points) > 1 else 0.0
    return Reading(first, last, crossings(profile, points) + first, _alike(left, right), step)


def _alike(left: Array, right: Array) -> float:
    """Correlation (-1 to 1) of two halves of a strip; 0 where one of them is even."""
    if not (np.ptp(left) > 0 and np.ptp(right) > 0):
        return 0.0
    return float(np.corrcoef(left, right)[0, 1])


def _without_stubs(profile: Array, points: NDArray[np.intp]) -> NDArray[np.intp]:
    """The turning points (n,) without a first or last one that steps less than END_STEP of the step next to it: the end
    of the line fell on a seam, and no further layer begins.
    """
    steps = np.abs(np.diff(profile[points]))
    if len(steps) < 3:
        return points
    return points[int(steps[0] < END_STEP * steps[1]) : len(points) - int(steps[-1] < END_STEP * steps[-2])]


def add_up(readings: tuple[Reading, ...], rows: int, spectral_px: float, slope: float) -> Tally:
    """One Tally from the readings of a band of so many rows."""
    seen = [r for r in readings if len(r.seams) > 2]
    layer_px = float(np.median([np.diff(r.seams).mean() for r in seen])) if seen else np.nan
    repeat, contrast = (float(np.median([getattr(r, name) for r in readings])) for name in ("repeat", "contrast"))
    if not seen:
        return Tally(np.nan, np.nan, layer_px, spectral_px, repeat, contrast, 0.0, slope, readings, rows)
    stretches = int(np.clip(rows / layer_px / 5, 2, 16))
    marks = np.linspace(0, rows - 1, stretches + 1)
    found = np.array([_between(r, marks) for r in seen])
    kept = [column[np.isfinite(column)] for column in found.T]
    each = np.array([trim_mean(k, 0.25) if len(k) else np.nan for k in kept])
    scatter = float(np.std(np.nansum(found - each, axis=1)))
    thin = float(np.mean(np.concatenate([np.diff(r.seams) for r in seen]) < max(2.5, 0.5 * layer_px)))
    return Tally(float(each.sum() + 1), scatter, layer_px, spectral_px, repeat, contrast, thin, slope, readings, rows)


def _between(reading: Reading, marks: Array) -> Array:
    """Seams between each two marks [px], parts of a layer counted by its share; NaN where the strip does not see the
    whole stretch.

    An outer layer far thicker than the others is the margin of the bar, and its seam is not counted.
    """
    seams, usual = reading.seams, MARGIN_LAYERS * np.median(np.diff(reading.seams))
    number = np.arange(len(seams)) + 0.5
    start = 1.0 if seams[0] - reading.first > usual else 0.0
    end = len(seams) - (1.0 if reading.last - seams[-1] > usual else 0.0)
    level = np.concatenate([[start], np.clip(number, start, end), [end]])
    counted = np.diff(np.interp(marks, np.concatenate([[reading.first], seams, [reading.last]]), level))
    nearly = max(0.3 * np.median(np.diff(seams)), 1.0)
    whole = (marks[:-1] >= reading.first - nearly) & (marks[1:] <= reading.last + nearly)
    return np.asarray(np.where(whole, counted, np.nan))
