"""What hand and acid leave on steel beside the pattern: rubbing scratches, the speckle of the dark film, slow clouds.

Drawn once from a seed and laid over the picture in the blade's own places, so nothing swims when the picture moves. The
scratches of the last grit run along the blade and are never quite parallel; most are faint and a few are not.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, uniform_filter1d

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

_SHAPE = (512, 2048)
_SCRATCH = 14e-6  # width of a scratch at a fine hand finish [m]; from memory
_LENGTH = 7e-3  # of a stroke's scratch, about [m]
_CLIMB = 128  # columns over which a slanted scratch climbs a row
_GRAIN = 35e-6  # of the film and of ragged borders [m]; from memory
_RAGGED = 5e-6  # of a border [m]; from memory
_SEEN = 0.2  # less than this part of a pixel is not seen
_CLOUD = (96, 96)
_CLOUDS = 4.5e-3  # size of a cloud [m]; judged by eye


@lru_cache(maxsize=4)
def _strokes(long: int) -> Floats:
    """Scratches along the rows, `long` samples long; mean 0, deviation 1, periodic, a tenth of them plain to see."""
    rng = np.random.default_rng(20)
    white = rng.standard_normal(_SHAPE, np.float32)
    out = np.zeros(_SHAPE, np.float32)
    for share, part, slant in ((0.7, long, 0), (0.5, max(3, long // 3), 1), (0.5, max(3, long // 5), -1)):
        own = uniform_filter1d(np.roll(white, part, axis=0), part, axis=1, mode="wrap") * np.float32(np.sqrt(part))
        if slant:
            own = _slanted(own, slant)
        out += np.float32(share) * own
    out /= out.std()
    out += np.float32(0.16) * out * np.abs(out)
    out -= out.mean()
    return np.asarray(out / out.std(), np.float32)


def _slanted(streaks: Floats, way: int) -> Floats:
    """Rows shifted bit by bit along the columns, so that long scratches climb a little."""
    out = np.empty_like(streaks)
    part = np.arange(_CLIMB, dtype=np.float32) / _CLIMB
    for k, start in enumerate(range(0, _SHAPE[1], _CLIMB)):
        block = streaks[:, start : start + _CLIMB]
        now, then = (np.roll(block, way * n, axis=0) for n in (k, k + 1))
        out[:, start : start + _CLIMB] = now + part * (then - now)
    return out


@lru_cache(maxsize=4)
def _speckle(wide: int) -> Floats:
    """Noise in grains about `wide` pixels across; mean 0, deviation 1, periodic."""
    white = np.random.default_rng(21).standard_normal(_SHAPE, np.float32)
    soft = gaussian_filter(white, 0.45 * wide, mode="wrap")
    if wide > 1:
        soft = soft / soft.std() + 0.6 * gaussian_filter(white[::-1], 1.6 * wide, mode="wrap") * (5.7 * wide)
    soft -= soft.mean()
    return np.asarray(soft / soft.std(), np.float32)


@lru_cache(maxsize=1)
def _cloud() -> Floats:
    """Slow unevenness of the acid's work, periodic; mean 0, deviation 1."""
    white = np.random.default_rng(22).standard_normal(_CLOUD, np.float32)
    out = gaussian_filter(white, 1.0, mode="wrap") + 2.2 * gaussian_filter(white[::-1], (2.0, 5.0), mode="wrap")
    out -= out.mean()
    return np.asarray(out / out.std(), np.float32)


def scratches(pixel: float, top: int, rows: int, cols: slice) -> Floats:
    """Scratches over rows from `top` on (rows, columns); finer than a pixel they fade, wider they get their width."""
    texture = _strokes(_long(pixel))
    at = (np.arange(top, top + rows) + 0.5) * max(pixel / _SCRATCH, 1e-3)
    columns = np.arange(cols.start, cols.stop) % _SHAPE[1]
    if pixel >= _SCRATCH:
        own = (np.arange(top, top + rows) * 89) % _SHAPE[0]
        return np.asarray(texture[own][:, columns])
    whole = np.floor(at).astype(np.intp)
    part = (at - whole).astype(np.float32)[:, None]
    low, high = (texture[((whole + k) * 89) % _SHAPE[0]][:, columns] for k in (0, 1))
    return np.asarray(low + part * (high - low))


def _long(pixel: float) -> int:
    """Samples along a scratch."""
    return int(np.clip(_LENGTH / pixel, 24, 700))


def _grains(pixel: float) -> int:
    """Pixels across a grain of the film."""
    return int(np.clip(round(_GRAIN / pixel), 1, 16))


TEXTURES: tuple[Callable[[float], Floats], ...] = (
    lambda pixel: _strokes(_long(pixel)),
    lambda pixel: _speckle(_grains(pixel)),
)
"""What every lit picture of a pixel size [m] needs; each is made once and kept."""


def scratch_strength(pixel: float) -> float:
    """How much of the scratches is left when many share a pixel: they average, but their strokes lie in bundles."""
    return float(np.clip((_SCRATCH / pixel) ** 0.35, 0.35, 1.0))


def speckle(pixel: float, top: int, rows: int, cols: slice) -> Floats:
    """The film's grain over rows from `top` on (rows, columns)."""
    wide = _grains(pixel)
    own = (np.arange(top, top + rows) * (7 if wide == 1 else 1)) % _SHAPE[0]
    return np.asarray(_speckle(wide)[own][:, np.arange(cols.start, cols.stop) % _SHAPE[1]])


def frayed(brightness: Floats, pixel: float) -> Floats:
    """Borders of layers are ragged by a few micrometres, as the grain of the steel has it; seen in close looks only."""
    reach = _RAGGED / pixel
    if reach < _SEEN:
        return brightness
    rows, cols = brightness.shape
    row, col = np.arange(rows)[:, None], np.arange(cols)[None, :]
    wide = _grains(pixel)
    noise = _speckle(wide)[row % _SHAPE[0], col % _SHAPE[1]], _speckle(wide)[(row + 251) % _SHAPE[0], col % _SHAPE[1]]
    v, u = (
        np.clip(at + reach * n, 0, most - 1.001) for at, n, most in zip((row, col), noise, (rows, cols), strict=True)
    )
    i, j = v.astype(np.intp), u.astype(np.intp)
    f, g = (v - i).astype(np.float32), (u - j).astype(np.float32)
    i2, j2 = np.minimum(i + 1, rows - 1), np.minimum(j + 1, cols - 1)
    low = brightness[i, j] + g * (brightness[i, j2] - brightness[i, j])
    high = brightness[i2, j] + g * (brightness[i2, j2] - brightness[i2, j])
    return np.asarray(low + f * (high - low), np.float32)


def clouds(x: Array, y: Array) -> Array:
    """The slow unevenness at places of the blade [m]; x and y broadcast together."""
    texture = _cloud()
    u, v = (np.asarray(a / _CLOUDS) for a in (x, y))
    i, j = np.floor(v).astype(np.intp), np.floor(u).astype(np.intp)
    f, g = v - i, u - j

    def at(di: int, dj: int) -> Array:
        return np.asarray(texture[(i + di) % _CLOUD[0], (j + dj) % _CLOUD[1]], np.float64)

    low = at(0, 0) * (1 - g) + at(0, 1) * g
    high = at(1, 0) * (1 - g) + at(1, 1) * g
    return np.asarray(low * (1 - f) + high * f)
