"""The tang and the choil: dark from the forge, running out where the handle will hide them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from billet.blade import Blade
from billet.blade.handle import Whole
from render.texture import clouds
from render.views import Window

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

STUB = 0.030
"""Of the tang that is shown behind the heel [m]."""

_FADES = 0.014  # it runs out over its last stretch [m]
_CHOIL, _SHOULDER = 7e-3, 2.5e-3  # radii under and over the tang [m]; from memory
_HANGS = 0.12  # of the heel height a stick tang lies under the spine
_NARROWS = 0.12  # over the stretch that is shown
_TONE, _LIT = 0.075, 0.05  # scale left by the forge, and what its upper side catches
_FINE = 4  # parts of a pixel for its border


def tang_of(blade: Blade, side: str, window: Window) -> tuple[Floats, Floats] | None:
    """Return the share of every pixel that the tang covers and its brightness (rows, columns); None without one."""
    outline = _outline(blade)
    if outline is None:
        return None
    sign = 1.0 if side == "right" else -1.0
    x, y = outline
    col, row = (sign * x - window.left) / window.pixel, (window.top - y) / window.pixel
    first, last = max(int(col.min()) - 1, 0), min(int(col.max()) + 2, window.cols)
    if last <= first:
        return None
    mask = Image.new("L", ((last - first) * _FINE, window.rows * _FINE))
    points = list(zip(((col - first) * _FINE).tolist(), (row * _FINE).tolist(), strict=True))
    ImageDraw.Draw(mask).polygon(points, fill=255)
    cover = np.zeros((window.rows, window.cols), np.float32)
    cover[:, first:last] = np.asarray(mask.reduce(_FINE), np.float32) / 255
    at = np.asarray(np.abs(window.left + (np.arange(window.cols) + 0.5) * window.pixel), np.float64)
    behind = float(-x.min())
    cover *= np.clip((behind - at) / _FADES, 0, 1).astype(np.float32) ** 0.8
    up = np.asarray(window.top - (np.arange(window.rows)[:, None] + 0.5) * window.pixel, np.float64)
    share = np.clip((up - y.min()) / (y.max() - y.min()), 0, 1)
    here = at[None, first:last]
    tone = np.zeros_like(cover)
    uneven = _TONE * (1 + 0.12 * clouds(2.0 * here, 5.0 * up))
    tone[:, first:last] = np.maximum(uneven + _LIT * np.exp(-(((share - 0.72) / 0.16) ** 2)), 0.03)
    return cover, tone


def _outline(blade: Blade) -> tuple[Array, Array] | None:
    """The border of what is shown, in the blade's frame: from the spine round to the heel [m]."""
    design = blade.design
    if design.bolster is not None:
        return None  # an integral knife is drawn as metal to its end
    if design.heel.choil or design.heel.drop is not None:
        return _behind_neck(blade)
    long, wide, _ = design.tang.size(float(blade.spine_thickness(0.0)))
    behind = min(STUB, long + (design.bolster.length if design.bolster else 0.0))
    if design.tang.kind == "none" or behind <= 0:
        return None
    spine, edge = float(blade.spine_y(0.0)), float(blade.edge_y(0.0))
    full = design.tang.kind in ("full", "tapered")
    top = spine - (0.0 if full else _HANGS * design.heel_height)
    bottom = max(top - wide, edge)
    over, under = min(_SHOULDER, spine - top, 0.4 * behind), min(_CHOIL, 0.9 * (bottom - edge), 0.4 * behind)
    turn = np.linspace(0, np.pi / 2, 24)
    lost = _NARROWS * (top - bottom)
    x = [over * (np.cos(turn) - 1), [-behind, -behind], under * (np.sin(turn) - 1), [1e-4, 1e-4]]
    y = [
        top + over * (1 - np.sin(turn)),
        [top - (0 if full else 0.3 * lost), bottom + lost],
        bottom - under * (1 - np.cos(turn)),
        [bottom - under, top + over],
    ]
    return np.concatenate([np.asarray(a, float) for a in x]), np.concatenate([np.asarray(a, float) for a in y])


def _behind_neck(blade: Blade) -> tuple[Array, Array] | None:
    """The border of a tang behind a neck or a handle that stands over the edge [m]."""
    whole = Whole(blade)
    neck = whole.places[1]
    if blade.design.tang.kind == "none":
        return None
    x = np.linspace(neck, max(neck - STUB, -whole.behind), 200) - 1e-7
    low, high = whole.edge_y(x), whole.spine_y(x)
    step = whole.bolster_y
    return (
        np.concatenate([[neck + 1e-4], x, x[::-1], [neck + 1e-4]]),
        np.concatenate([step[1:], high, low[::-1], step[:1]]),
    )
