"""A close look at the lines in a corner of a picture on which they are too fine to be seen, and where it looks."""

from __future__ import annotations

from PIL import Image, ImageDraw

from render.drawing import INK, SOFT, as_image, scale_bar, write
from render.panel import Panel, Subject
from render.request import Request
from render.session import Session
from render.views import Window

TIMES = 5
"""How much larger than the picture the close look is."""

_FINE = 4.0  # lines narrower than this are worth a close look [pixels]
_ACROSS = 10e-3  # of the piece looked at [m]
_AT = (0.22, 0.55)  # its centre: share of the blade's length, and of its height there
_LARGEST = 0.3  # of the picture's width it may take


def wants_inset(request: Request, median_line: float | None, pixel: float) -> bool:
    """Tell whether a picture gets a close look: both faces, lines that are there and too fine, and room for it."""
    plain = request.view is None and request.crop is None and not request.bare
    return plain and median_line is not None and median_line < _FINE * pixel and _wide(pixel) < _LARGEST * request.width


def draw_inset(
    drawing: Session, canvas: Image.Image, face: Panel, place: tuple[int, int], corner: tuple[float, float],
    high: float, size: float,
) -> float:  # fmt: skip
    """Draw the close look of the face drawn at a place, with its upper right corner at `corner` and `high` pixels high;
    mark on the face where it looks. Returns where it begins [pixels].
    """
    units, pixel = drawing.ledger.recipe.tables.units, face.window.pixel
    window = close_window(drawing.subject, face.view.name, pixel / TIMES, round(high))
    close = drawing.panel(face.view.name, window, shadow=False)
    left, top = round(corner[0]) - window.cols, round(corner[1])
    canvas.paste(as_image(close.codes), (left, top))
    pen = ImageDraw.Draw(canvas)
    stroke = max(1, round(size / 12))
    pen.rectangle([left - stroke, top - stroke, left + window.cols, top + window.rows], outline=INK, width=stroke)
    x, y = (
        place[0] + (window.left - face.window.left) / pixel,
        place[1] + (face.window.top - window.top) / pixel,
    )
    wide, tall = window.cols / TIMES, window.rows / TIMES
    for ink, off in ((235, 0), (INK, stroke)):
        pen.rectangle([x - off, y - off, x + wide + off, y + tall + off], outline=ink, width=stroke)
    pen.line([(left + 0.5 * window.cols, top + window.rows), (x + 0.5 * wide, y)], fill=INK, width=stroke)
    room = 7.5 * size
    write(pen, (left - 0.8 * size, top + 0.7 * size), f"{face.view.name} face, {TIMES} times larger", size, SOFT, "rm")
    scale_bar(pen, (left - 0.8 * size - room, top + 2.3 * size), pixel / TIMES, 0.55 * room, units, size)
    return left - 14.0 * size


def close_window(subject: Subject, side: str, pixel: float, rows: int) -> Window:
    """Return the window of the piece looked at."""
    blade = subject.blade
    assert blade is not None
    x = _AT[0] * blade.length
    y = float(blade.edge_y(x) + _AT[1] * blade.height(x))
    return Window((x if side == "right" else -x, y), pixel, round(_ACROSS / pixel), rows)


def _wide(pixel: float) -> float:
    return _ACROSS * TIMES / pixel
