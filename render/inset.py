"""A close look at the lines in a corner of a picture on which they are too fine to be seen."""

from __future__ import annotations

from PIL import Image, ImageDraw

from render.drawing import FAINT, SOFT, as_image, scale_bar, write
from render.etch import Look
from render.panel import Panel, Subject, draw_panel
from render.request import Request
from render.views import Window

TIMES = 5
"""How much larger than the picture the close look is."""

_FINE = 4.0  # lines narrower than this are worth a close look [pixels]
_ACROSS = 10e-3  # of the piece looked at [m]
_AT = (0.30, 0.45)  # its centre: share of the blade's length, and of its height there
_LARGEST = 0.3  # of the picture's width it may take


def wants_inset(request: Request, median_line: float | None, pixel: float) -> bool:
    """Tell whether a picture gets a close look: both faces, lines that are there and too fine, and room for it."""
    plain = request.view is None and request.crop is None and not request.bare
    return plain and median_line is not None and median_line < _FINE * pixel and _wide(pixel) < _LARGEST * request.width


def draw_inset(
    canvas: Image.Image, subject: Subject, look: Look, pixel: float,
    corner: tuple[float, float], high: float, units: str, size: float,
) -> float:  # fmt: skip
    """Draw the close look of the right face with its upper right corner at a place, `high` pixels high, its scale at
    its left; returns where it begins [pixels].
    """
    assert subject.blade is not None
    close = _panel(subject, look, pixel / TIMES, round(high))
    left, top = round(corner[0]) - close.window.cols, round(corner[1])
    canvas.paste(as_image(close.codes), (left, top))
    pen = ImageDraw.Draw(canvas)
    pen.rectangle([left - 1, top - 1, left + close.window.cols, top + close.window.rows], outline=FAINT)
    wide = 7.5 * size
    write(pen, (left - 0.8 * size, top + 0.7 * size), f"right face, {TIMES} times larger", size, SOFT, "rm")
    scale_bar(pen, (left - 0.8 * size - wide, top + 2.3 * size), pixel / TIMES, 0.55 * wide, units, size)
    return left - 14.0 * size


def _wide(pixel: float) -> float:
    return _ACROSS * TIMES / pixel


def _panel(subject: Subject, look: Look, pixel: float, rows: int) -> Panel:
    """The piece of the right face."""
    blade = subject.blade
    assert blade is not None
    x = _AT[0] * blade.length
    y = float(blade.edge_y(x) + _AT[1] * blade.height(x))
    window = Window((x, y), pixel, round(_ACROSS / pixel), rows)
    return draw_panel(subject, "right", window, look, shadow=False)
