"""The light on the ground face: a broad soft lamp above the blade, seen in steel that was rubbed along its length.

A lamp near the blade is met by the line of sight at a place that depends on where the face is and how it leans: a lean
of n moves it by 2 n times the lamp's distance. So the bright band lies level on a flat bevel, narrows on a convex one,
spreads in a hollow and splits on an S grind. Scratches along the blade draw the reflection out across them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.surface import Surface
from render.texture import clouds

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

_COARSE = 8  # the light is reckoned at every so many pixels
_LAMP = 0.32  # distance of the lamp [m]; judged by eye
_PLACE = 0.60  # share of the face below the middle of the band
_CORE, _GLOW = 0.24, 0.75  # widths of the band and of the light around it, in heights of the face
_ALONG = 0.75  # width of the light along the blade, in its lengths
_FLOOR, _CORE_LIGHT, _GLOW_LIGHT = 0.46, 0.85, 0.40
_ROUND, _ROUNDED = 0.25, 1.7  # lean of the skin from which it is that of a round bar; width of its light, by eye
_UNEVEN = 0.045  # of the acid's work


AXES = {"spine": (-2, 1), "bar-side": (2, -1), "bar-face": (1, 2), "left": (1, -2), "right": (1, 2)}
"""What is up and what outward in a view: 1 across the bar, 2 through it, negative the other way."""


def gloss(surface: Surface, axes: tuple[int, int], tall: float, long: float) -> Floats | None:
    """Return the light on each pixel (rows, columns), 1 on the mean; `axes` are those of `AXES`, tall and long [m] the
    size of the whole face. None for a surface seen edge on.
    """
    row = np.linspace(0.5, surface.rows - 0.5, max(3, surface.rows // _COARSE + 1))
    col = np.linspace(0.5, surface.cols - 0.5, max(3, surface.cols // _COARSE + 1))
    points = [
        np.broadcast_to(np.asarray(a, np.float64), (len(row), len(col)))
        for a in surface.points(row[:, None], col[None, :])
    ]
    x, (y, out) = points[0], (np.sign(k) * points[abs(k)] for k in axes)
    if np.ptp(x) == 0 or np.ptp(y) == 0:
        return None
    lean_y = _slope(out, y, 0)
    lean_x = _slope(out, x, 1)
    turned = float(np.quantile(np.abs(lean_y), 0.7)) > _ROUND  # a round bar shows the lamp as broad as it leans
    across = _ROUNDED * y / tall if turned else (y - 2 * _LAMP * lean_y) / tall
    along = (x - 2 * _LAMP * lean_x) / long
    high = across - np.quantile(across, _PLACE)
    lit = _FLOOR + _CORE_LIGHT * np.exp(-((high / _CORE) ** 2)) + _GLOW_LIGHT * np.exp(-((high / _GLOW) ** 2))
    middle = float(np.median(along))
    lit = lit * (0.86 + 0.2 * np.exp(-(((along - middle + 0.12) / _ALONG) ** 2)))
    lit = lit * (1 + _UNEVEN * clouds(x, y))
    lit /= lit.mean()
    full = Image.fromarray(lit.astype(np.float32)).resize((surface.cols, surface.rows), Image.Resampling.BILINEAR)
    return np.asarray(full, np.float32)


def _slope(values: Array, over: Array, axis: int) -> Array:
    """Difference quotient along an axis of the picture; 0 where the coordinate stands still."""
    rise, run = np.gradient(values, axis=axis), np.gradient(over, axis=axis)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(np.abs(run) > 0, np.clip(np.nan_to_num(rise / run), -0.4, 0.4), 0.0)
