"""The etched steel under a slanted light: relief with lit and shaded flanks, rubbed bright steel, matte dark steel.

Everything here is looks, none of it is geometry. Each tone keeps its mean over the picture, so the greys stay in the
order of the etch and a count of lines is a count of layers. Deterministic: the textures are seeded once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from render.coverage import Region
from render.etch import BRIGHTEST, Finish, Look
from render.texture import frayed, scratch_strength, scratches, speckle

Floats = NDArray[np.float32]
Bytes = NDArray[np.uint8]

BACKGROUND = 0.70  # linear reflectance of the table under the knife
_LEVELS = 4096
_FLANK = 6.5  # light gained or lost for a slope of one towards the lamp
_GLINT = 0.035  # what a lit flank shows however dark the steel
_STEEPEST = 0.62  # most that a flank gains or loses
_BAND = 64  # rows lit at a time
_TONES, _PASSES = 40, 3  # tones whose means are kept, and how often they are set right
_EVERY = 3  # of rows and columns looked at for the means
_DARKEST = 1e-4


@dataclass(frozen=True, eq=False)
class Lit:
    """What the light needs to know beside the brightness: pixel [m], where bare metal bands run, the light on each
    pixel, and whether the surface was rubbed along the rows."""

    pixel: float
    edge: Region | None = None
    spine: Region | None = None
    gloss: Floats | None = None
    rubbed: bool = True
    _kept: dict[object, Shades] = field(default_factory=dict, repr=False)

    def shades(self, how: Finish, rows: int, cols: int) -> Shades:
        """Return what a finish does to every pixel, made once."""
        key = (how, rows, cols)
        if key not in self._kept:
            self._kept[key] = _shades(self, how, rows, cols)
        return self._kept[key]


@dataclass(frozen=True, eq=False)
class Shades:
    """What gloss, scratches and film make of a pixel's brightness, whatever steel lies there: it is taken `dark` times
    and for each part of full brightness `by_share` times more (rows, columns). bare: pixels (n,) of the bare metal bands,
    the share of the pattern left in them and what is added.
    """

    dark: Floats
    by_share: Floats
    bare: tuple[tuple[NDArray[np.intp], Floats, Floats], ...]


@lru_cache(maxsize=1)
def _encoded() -> Bytes:
    """sRGB code of evenly spaced linear values (IEC 61966-2-1)."""
    v = np.linspace(0, 1, _LEVELS)
    code = np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)
    return np.round(255 * code).astype(np.uint8)


def encode(linear: Floats) -> Bytes:
    """Return the sRGB codes of linear values."""
    place = np.clip(linear, 0, 1) * np.float32(_LEVELS - 1)
    place += np.float32(0.5)
    return np.asarray(np.take(_encoded(), place.astype(np.uint16), mode="clip"))


def table_code() -> int:
    """The sRGB code of the table under the knife."""
    return int(encode(np.array([BACKGROUND], np.float32))[0])


def light(brightness: Floats, look: Look, lit: Lit) -> Floats:
    """Return the lit linear brightness (rows, columns) of an etched face; 0 where there is no metal."""
    if look.two_tone:
        return np.where(brightness > 0.2, np.float32(0.9), np.float32(0.03))
    brightness = frayed(brightness, lit.pixel) if lit.rubbed else brightness
    shades = lit.shades(look.how, *brightness.shape)
    out = np.empty_like(brightness)
    for top in range(0, len(brightness), _BAND):
        _band(brightness, out, slice(top, min(top + _BAND, len(brightness))), look, lit.pixel, shades)
    _keep_tones(brightness, out)
    flat = out.ravel()
    for at, left, added in shades.bare:
        flat[at] = flat[at] * left + added
    return out


def _band(brightness: Floats, whole: Floats, rows: slice, look: Look, pixel: float, shades: Shades) -> None:
    """Light some rows of the picture: its gloss, its scratches and film, its flanks."""
    here, out = brightness[rows], whole[rows]
    factor = np.multiply(here, shades.by_share[rows], out=out)
    factor += shades.dark[rows]
    flank = _flanks(brightness, rows, look, pixel)
    factor += flank
    np.multiply(here, factor, out=out)
    np.maximum(flank, 0, out=flank)
    flank *= np.float32(_GLINT)
    flank *= here > 0
    out += flank


def _shades(lit: Lit, how: Finish, rows: int, cols: int) -> Shades:
    """The shades of a picture; a part of each belongs to the dark steel and the rest grows with the brightness."""
    dark, by_share = np.ones((2, rows, cols), np.float32)
    by_share[:] = 0
    for top in range(0, rows, _BAND):
        own = slice(top, min(top + _BAND, rows))
        for layer, (bright, dim) in _layers(lit, how, own, cols):
            dark[own] += layer * np.float32(dim)
            by_share[own] += layer * np.float32((bright - dim) / BRIGHTEST)
    return Shades(dark, by_share, tuple(_bare(lit, rows, cols)))


def _layers(lit: Lit, how: Finish, rows: slice, cols: int) -> Iterator[tuple[Floats, tuple[float, float]]]:
    """Gloss, scratches and film over some rows, each about zero, with how far the bright and the dark steel take it."""
    count, whole = rows.stop - rows.start, slice(0, cols)
    if lit.gloss is not None:
        yield lit.gloss[rows] - np.float32(1), how.gloss
    if lit.rubbed:
        strength = scratch_strength(lit.pixel)
        scratched = (strength * how.scratched[0], strength * how.scratched[1])
        yield scratches(lit.pixel, rows.start, count, whole), scratched
    yield speckle(lit.pixel, rows.start, count, whole), (0.0, how.film)


def _flanks(brightness: Floats, rows: slice, look: Look, pixel: float) -> Floats:
    """What the slope of the etched relief adds to the light, as a share: bright steel stands proud, so its flank
    towards the lamp is brighter and the other one darker.
    """
    wide = int(np.clip(round(look.how.round * look.depth / pixel), 1, 200))
    reach = wide + 1
    start, stop = max(rows.start - reach, 0), min(rows.stop + reach, len(brightness))
    height = brightness[start:stop] * np.float32(1 / BRIGHTEST)
    np.sqrt(height, out=height)
    if wide > 1:
        for axis in (0, 1):
            height = uniform_filter1d(height, wide, axis=axis, mode="nearest")
            if wide > 2:
                height = uniform_filter1d(height, max(2, wide // 2), axis=axis, mode="nearest")
    steep = _FLANK * look.depth / pixel
    up, left = np.float32(0.5 * steep * np.sin(look.light)), np.float32(-0.5 * steep * np.cos(look.light))
    own = slice(rows.start - start, rows.start - start + rows.stop - rows.start)
    out = np.zeros((rows.stop - rows.start, height.shape[1]), np.float32)
    first, last = max(own.start, 1), min(own.stop, len(height) - 1)
    out[first - own.start : last - own.start] = height[first + 1 : last + 1] - height[first - 1 : last - 1]
    out *= up
    across = height[own, 2:] - height[own, :-2]
    across *= left
    out[:, 1:-1] += across
    np.divide(out, 1 + np.abs(out) * np.float32(1 / _STEEPEST), out=out)
    return out


def _keep_tones(brightness: Floats, out: Floats) -> None:
    """Scale each tone so that its mean over the picture is what the layers say."""
    some = (slice(1, None, _EVERY), slice(1, None, _EVERY))
    flat, shone = brightness[some].ravel(), out[some].ravel()
    seen = flat > _DARKEST
    if not seen.any():
        return
    flat, shone = flat[seen], shone[seen]
    tone = np.minimum(flat * ((_TONES - 1) / BRIGHTEST) + 0.5, _TONES - 1).astype(np.intp)
    fine = np.minimum(flat * (255 / BRIGHTEST), 255).astype(np.intp)
    was, steps, table = np.bincount(tone, flat, _TONES), np.linspace(0, _TONES - 1, 256), np.ones(256, np.float32)
    known = np.flatnonzero(was)
    for _ in range(_PASSES):
        now = np.bincount(tone, shone * table[fine], _TONES)
        table *= np.interp(steps, known, was[known] / now[known]).astype(np.float32)
    place = brightness * np.float32(255 / BRIGHTEST)
    np.minimum(place, np.float32(255), out=place)
    out *= table.take(place.astype(np.uint8))


def _bare(lit: Lit, rows: int, cols: int) -> Iterator[tuple[NDArray[np.intp], Floats, Floats]]:
    """The sharpened edge, bright, and the rounded spine: pixels, what is left of the pattern in them, what is added."""
    for band, tone, least in ((lit.edge, 0.74, 0.92), (lit.spine, 0.42, 0.55)):
        if band is None:
            continue
        share = band.whole(rows, cols).ravel()
        at = np.flatnonzero(share)
        gain = share[at] * np.float32(least)
        shine = np.float32(tone) if lit.gloss is None else np.float32(tone) * np.sqrt(lit.gloss.ravel()[at])
        yield at, 1 - gain, gain * shine
