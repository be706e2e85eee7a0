"""The etched steel under a slanted light: relief, the grain of hand rubbing, matte dark steel and a slow sheen.

Everything here is looks, none of it is geometry: the tone of a spot never depends on it by more than a few percent, and
the
mean of a face stays what the layers say. Deterministic: the textures are seeded once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from render.coverage import Region
from render.etch import Look

Floats = NDArray[np.float32]
Bytes = NDArray[np.uint8]

BACKGROUND = 0.78  # linear reflectance of the table under the knife
_LEVELS = 4096
_GRAIN, _MATTE = 0.075, 0.006  # strength of the rubbed grain (times brightness) and of the matte noise
_STEEPEST = 0.17  # strongest relief
_DEEPEST = 0.55  # the shaded flank keeps this share of its brightness
_SCRATCH = 12e-6  # width of a rubbing scratch at a fine finish [m]; from memory
_TEXTURE = (256, 2048)
_BAND = 96  # rows lit at a time


@dataclass(frozen=True, eq=False)
class Lit:
    """What the light needs to know beside the brightness: pixel [m], where bare metal bands run, the rows' and columns'
    sheen, and whether
    the surface was rubbed along the rows."""

    pixel: float
    edge: Region | None = None
    spine: Region | None = None
    sheen: tuple[Floats, Floats] | None = None
    rubbed: bool = True


@lru_cache(maxsize=8)
def _textures(long: int) -> tuple[Floats, Floats]:
    """Streaks along the rows, `long` pixels long, and plain noise; mean 0, deviation 1, periodic."""
    rng = np.random.default_rng(20)
    white = rng.standard_normal(_TEXTURE, np.float32)
    streaks = uniform_filter1d(white, long, axis=1, mode="wrap") * np.sqrt(long)
    fine = uniform_filter1d(white[::-1], max(3, long // 8), axis=1, mode="wrap") * np.sqrt(max(3, long // 8))
    grain = 0.75 * streaks + 0.5 * fine
    grain -= grain.mean()
    return (grain / grain.std()).astype(np.float32), (white - white.mean())


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


def light(brightness: Floats, look: Look, lit: Lit) -> Floats:
    """Return the lit linear brightness (rows, columns) of an etched face."""
    if look.two_tone:
        return np.where(brightness > 0.2, np.float32(0.9), np.float32(0.03))
    out = np.empty_like(brightness)
    for top in range(0, len(brightness), _BAND):
        rows = slice(top, min(top + _BAND, len(brightness)))
        _band(brightness, out[rows], rows, look, lit)
    return out


def _band(brightness: Floats, out: Floats, rows: slice, look: Look, lit: Lit) -> None:
    """Light some rows of the picture into `out`."""
    grain, matte = _textures(_streak(lit.pixel))
    cols = slice(0, brightness.shape[1])
    for left in range(0, cols.stop, _TEXTURE[1]):
        block = slice(left, min(left + _TEXTURE[1], cols.stop))
        own = np.arange(rows.start, rows.stop) * 89 % _TEXTURE[0]
        here, wide = brightness[rows, block], block.stop - block.start
        texture = grain[own, :wide] * np.float32(_grain_at(lit.pixel) if lit.rubbed else 0.0)
        texture += np.float32(1)
        np.multiply(here, texture, out=out[:, block])
        out[:, block] += matte[own, :wide] * np.float32(_MATTE)
    _relief(brightness, out, rows, look, lit.pixel)
    np.maximum(out, brightness[rows] * np.float32(_DEEPEST), out=out)
    if lit.sheen is not None:
        out *= lit.sheen[0][rows, None]
        out *= lit.sheen[1]
    for band, tone, least in ((lit.edge, 0.60, 0.85), (lit.spine, 0.42, 0.55)):
        share = 0 if band is None else band.share(rows, cols)
        if not (isinstance(share, int) and share == 0):
            out += (share * np.float32(least)) * (np.float32(tone) - out)


def _streak(pixel: float) -> int:
    """Length of a rubbing streak in pixels: about 6 mm."""
    return int(np.clip(6e-3 / pixel, 24, 900))


def _grain_at(pixel: float) -> float:
    """Strength of the grain: scratches much finer than a pixel average out."""
    return _GRAIN * float(np.clip(np.sqrt(_SCRATCH * 4 / pixel), 0.35, 1.0))


def _relief(brightness: Floats, out: Floats, rows: slice, look: Look, pixel: float) -> None:
    """Bright steel stands proud: its flank towards the light is brighter, the other one darker."""
    steep = min(look.depth / pixel, 1.0) * _STEEPEST * 2
    up, left = np.float32(steep * np.sin(look.light)), np.float32(-steep * np.cos(look.light))
    if rows.start > 0:
        rise = brightness[rows] - brightness[rows.start - 1 : rows.stop - 1]
        rise *= up
        out += rise
    rise = brightness[rows, 1:] - brightness[rows, :-1]
    rise *= left
    out[:, 1:] += rise
