"""The window of a view that is far longer than it is thick: its thickness is widened so that it fills the page."""

from __future__ import annotations

import numpy as np

from render.panel import Subject
from render.views import Window

_TIMES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30)
_TALL, _WIDE = 0.50, 0.40  # of the page's width: height of a section, and how wide its thickness may be drawn
_SPINE_HIGH = 0.16  # of the page's width the spine's thickness may be drawn
_PAD = 0.05  # of the drawing left free around it


def thin_window(subject: Subject, name: str, width: int) -> Window:
    """Return the window of a spine or a section that fills a page of a width [pixels], its thickness widened."""
    left, right, bottom, top = subject.bounds(name)
    if name == "spine":
        pixel = (right - left) / ((1 - 2 * _PAD) * width)
        times = _most(_SPINE_HIGH * width * pixel / (top - bottom))
        rows = int(np.ceil((top - bottom) * times / pixel * (1 + 6 * _PAD)))
        return Window((0.5 * (left + right), 0.0), pixel, width, rows, pixel / times)
    rows = round(_TALL * width)
    rise = (top - bottom) / ((1 - 2 * _PAD) * rows)
    times = _most(_WIDE * width * rise / (right - left))
    cols = int(np.ceil((right - left) * times / rise * (1 + 4 * _PAD)))
    return Window((0.5 * (left + right), 0.5 * (bottom + top)), rise / times, cols, rows, rise)


def _most(room: float) -> int:
    return max((t for t in _TIMES if t <= room), default=1)
