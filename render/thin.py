"""Views that are far longer than they are thick: drawn large with their thickness widened, true to scale beside.

A section of a kitchen knife is twenty times as high as it is thick; drawn true it is a hair.
"""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from billet.base.units import Kind, show
from render.drawing import FAINT, INK, SOFT, as_image, scale_bar, write
from render.panel import Panel
from render.session import Session
from render.views import Window

_PAD = 0.05  # of the drawing left free around it
_AROUND = 40  # rows or columns of table around the true look
_SHARES = (1.0, 0.75, 0.5, 0.25, 0.12)  # of the height at which the thickness is written


def extra_rows(panel: Panel, size: float) -> float:
    """Rows a view wants below itself for its true-to-scale look [pixels]."""
    return 3.0 * size + _true(panel.window).rows if panel.view.name == "spine" else 0.0


def times_of(window: Window) -> int:
    """How many times wider than it is the thickness is drawn."""
    return round(max(window.rise / window.pixel, window.pixel / window.rise))


def draw_thin(drawing: Session, canvas: Image.Image, panel: Panel, y: float, size: float) -> tuple[int, int]:
    """Draw a spine or a section with its true-to-scale look beside it; returns where the large one stands [pixels]."""
    name, window = panel.view.name, panel.window
    pen, units = ImageDraw.Draw(canvas), drawing.ledger.recipe.tables.units
    true = drawing.panel(name, _true(window))
    words = f"thickness drawn {times_of(window)} times wider"
    if name == "spine":
        place = ((canvas.width - window.cols) // 2, int(y))
        canvas.paste(as_image(panel.codes), place)
        below = (place[0], int(y + window.rows + 2.4 * size))
        canvas.paste(as_image(true.codes), below)
        left, right = _PAD * canvas.width, (1 - _PAD) * canvas.width
        write(pen, (left, below[1] - 0.2 * size), "true to scale", size, SOFT, "lb")
        write(pen, (right, y + window.rows), f"above: {words}", size, SOFT, "rt")
        scale_bar(pen, (left + 9 * size, below[1] - 0.8 * size), window.pixel, 0.16 * canvas.width, units, size)
        return place
    place = (int(0.10 * canvas.width), int(y))
    canvas.paste(as_image(panel.codes), place)
    beside = (int(canvas.width * 0.86) - true.window.cols // 2, int(y))
    canvas.paste(as_image(true.codes), beside)
    write(pen, (beside[0] + true.window.cols / 2, y - 0.3 * size), "true to scale", size, SOFT, "mb")
    _heights(drawing, pen, panel, place, size)
    x = place[0] + window.cols + 2 * size
    write(pen, (x, y + window.rows - 3.6 * size), words, size, SOFT)
    for k, (pixel, what) in enumerate(((window.rise, "height"), (window.pixel, "thickness"))):
        at = y + window.rows - (1.2 - 1.8 * k) * size
        wide = scale_bar(pen, (x, at), pixel, 0.08 * canvas.width, units, size)
        write(pen, (x + max(wide, 0.08 * canvas.width) + 6.5 * size, at), what, size, SOFT, "lm")
    return place


def _true(window: Window) -> Window:
    """The same look, true to scale."""
    pixel = max(window.pixel, window.rise)
    if window.pixel < window.rise:
        cols = int(np.ceil(window.cols * window.pixel / pixel)) + _AROUND
        return Window(window.centre, pixel, cols, window.rows)
    rows = int(np.ceil(window.rows * window.rise / pixel)) + _AROUND
    return Window(window.centre, pixel, window.cols, rows)


def _heights(drawing: Session, pen: ImageDraw.ImageDraw, panel: Panel, place: tuple[int, int], size: float) -> None:
    """Write how thick the blade is at some heights, each with a line to its place."""
    subject, window, units = drawing.subject, panel.window, drawing.ledger.recipe.tables.units
    blade = subject.blade
    assert blade is not None
    low, high = float(blade.edge_y(subject.at)), float(blade.spine_y(subject.at))
    right = place[0] + window.cols + 2 * size
    for share in _SHARES:
        up = low + share * (high - low) * (1 - 1e-6)
        thick = float(blade.thickness(subject.at, up))
        row = place[1] + (window.top - up) / window.rise
        from_x = place[0] + (float(blade.half(subject.at, up, "right")) - window.left) / window.pixel
        pen.line([(from_x + 0.4 * size, row), (right - 0.5 * size, row)], fill=FAINT, width=max(1, round(size / 14)))
        what = "spine" if share == 1.0 else f"{show(up - low, Kind.LENGTH, units)} above the edge"
        wide = write(pen, (right, row), show(thick, Kind.LENGTH, units, fine=True), 1.15 * size, INK, "lm")
        write(pen, (right + wide + 0.8 * size, row), what, size, SOFT, "lm")
