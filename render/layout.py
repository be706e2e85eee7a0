"""The page a picture stands on: title, views, close looks, scale, the steels and what the hatching means."""

from __future__ import annotations

import json

import numpy as np
from PIL import Image, ImageDraw

from billet.base.units import Kind, show
from billet.ledger.rows import Ledger
from billet.where.asked import KEY
from render.drawing import INK, SOFT, as_image, fitted, scale_bar, swatches, tinted, write
from render.etch import Look, steel_tone
from render.inset import draw_inset
from render.laid import draw_laid
from render.light import encode, table_code
from render.panel import Panel, Subject, hatched
from render.request import check_size
from render.session import Session
from render.subject import MARGIN
from render.thin import draw_thin, extra_rows
from render.views import THIN
from render.welds import draw_welds

NAMES = {
    "left": "left face",
    "right": "right face",
    "spine": "spine, from above",
    "choil": "heel, seen from the handle",
    "section": "section",
    "bar-face": "upper face of the bar",
    "bar-side": "edge side of the bar",
    "bar-end": "handle end of the bar",
}
TONE_NOTE = "Tones show which steel etches darker; your etch decides how dark."
HATCH_NOTE = "hatched: no metal there, outside the bar"


def page(drawing: Session, panels: tuple[Panel, ...], *, inset: bool = False) -> Image.Image:
    """Lay title, views and footer under one another."""
    request, units = drawing.request, drawing.ledger.recipe.tables.units
    size, margin = text_size(request.width), request.width * MARGIN
    close = request.crop is not None
    head = 0.0 if close or request.bare else margin + (9.5 if inset else 5.0) * size
    gap = 0.0 if close else 1.6 * size
    foot = 0.0 if request.bare else (8.6 if close else 4.6) * size + 0.4 * margin
    extra = 0.0 if close else sum(extra_rows(p, size) for p in panels)
    height = int(head + extra + sum(p.window.rows for p in panels) + gap * len(panels) + foot)
    check_size(request.width, height)
    canvas = ground(request.width, height)
    pen = ImageDraw.Draw(canvas)
    y, places = head, []
    for panel, name in zip(panels, request.views, strict=True):
        if name in THIN and not close:
            places.append(draw_thin(drawing, canvas, panel, y + 0.6 * gap, size))
        else:
            places.append(((request.width - panel.window.cols) // 2, int(y + 0.6 * gap)))
            canvas.paste(as_image(panel.codes), places[-1])
        if not close:
            write(pen, (margin, y), named(name, drawing.subject, units), size, SOFT)
        y += panel.window.rows + gap
    y += extra
    if not close and not request.bare:
        room = request.width - margin
        if inset:
            room = draw_inset(drawing, canvas, panels[0], places[0], (room, 0.5 * margin), head - 0.9 * margin, size)
        _title(pen, drawing, (margin, margin), room - margin, size)
    if not request.bare:
        _footer(pen, drawing, panels, y, size, margin)
    colour = tinted(canvas)
    colour.info[KEY] = json.dumps(
        {"views": [p.place(v, at) for p, v, at in zip(panels, request.views, places, strict=True)]}
    )
    if request.view == "bar-face" and drawing.subject.bar is drawing.ledger.last and drawing.ledger.recipe.blades:
        draw_laid(ImageDraw.Draw(colour), drawing.ledger, panels[0], places[0], size)
    if request.welds:
        draw_welds(colour, drawing.ledger, drawing.subject, panels, places, size)
    return colour


def _title(pen: ImageDraw.ImageDraw, drawing: Session, at: tuple[float, float], room: float, size: float) -> None:
    caption = _caption(drawing.ledger, drawing.subject, drawing.words)
    for down, large, ink, text in (
        (0.0, 1.7 * size, INK, drawing.ledger.recipe.tables.title),
        (2.3 * size, size, SOFT, caption),
    ):
        write(pen, (at[0], at[1] + down), fitted(pen, text, large, room), large, ink)


def _footer(
    pen: ImageDraw.ImageDraw, drawing: Session, panels: tuple[Panel, ...], y: float, size: float, margin: float
) -> None:
    """Scale, steels and notes; for a close look its title first."""
    request, window = drawing.request, panels[0].window
    if request.crop is not None:
        y += 0.8 * size
        _title(pen, drawing, (margin, y), request.width - 2 * margin, size)
        units = drawing.ledger.recipe.tables.units
        where = named(request.views[0], drawing.subject, units)
        x, up, wide = (show(v, Kind.LENGTH, units) for v in (request.crop.x, request.crop.y, request.crop.width))
        frm = ("left end", "lower border") if request.of_bar else ("heel", "edge line")
        words = f"{where}: {wide} across, {x} from the {frm[0]}, {up} above the {frm[1]}"
        write(pen, (request.width - margin, y + 2.9 * size), words, size, SOFT, "rm")
        y += 3.6 * size
    ratio = window.pixel / window.rise
    pixel = max(window.pixel, window.rise)
    footer(pen, drawing.ledger, drawing.subject, pixel, drawing.look, y, request.width, stretched=ratio != 1)
    if any(p.missing > 0 for p in panels):
        _hatch_legend(pen, (request.width - margin, y + 3.1 * size), size)


def _hatch_legend(pen: ImageDraw.ImageDraw, at: tuple[float, float], size: float) -> None:
    wide, high = int(1.8 * size), int(1.1 * size)
    x = at[0] - pen.textlength(HATCH_NOTE, font_size=0.85 * size) - wide - 1.2 * size
    write(pen, (at[0], at[1]), HATCH_NOTE, 0.85 * size, SOFT, "rm")
    swatch = as_image(encode(hatched(high, wide)))
    pen._image.paste(swatch, (int(x), int(at[1] - high / 2)))


def named(name: str, subject: Subject, units: str) -> str:
    """Return words for a view."""
    if name != "section":
        return NAMES[name]
    return f"section {show(subject.at, Kind.LENGTH, units)} from the heel, seen from the handle"


def _caption(ledger: Ledger, subject: Subject, words: str) -> str:
    """Say what the metal is: layers, sizes, state."""
    units, bar = ledger.recipe.tables.units, subject.bar
    layers = f"{bar.layers_counted:,} layer{'s' if bar.layers_counted != 1 else ''}"
    if subject.blade is None:
        sizes = " x ".join(
            show(v, Kind.LENGTH, units, fine=f)
            for v, f in ((bar.length, False), (bar.width, False), (bar.thickness, True))
        )
        return f"{words}  ·  {layers}  ·  {sizes}"
    design = subject.blade.design
    length, height = (show(v, Kind.LENGTH, units) for v in (design.length, design.heel_height))
    return f"{layers}  ·  {design.name or 'blade'} {length} by {height}  ·  {words}"


def footer(
    pen: ImageDraw.ImageDraw, ledger: Ledger, subject: Subject, pixel: float, look: Look, y: float, width: int,
    *, stretched: bool = False,
) -> None:  # fmt: skip
    """Draw scale bar, steels and the note on tones below y, into a grey picture of a width [pixels]."""
    size, margin = text_size(width), width * MARGIN
    if not stretched:
        scale_bar(pen, (margin, y + 1.2 * size), pixel, 0.16 * width, ledger.recipe.tables.units, size)
    tones = {s.name: steel_tone(s, look) for leaf in subject.bar.leaves for s in leaf.steels}
    ranked = sorted(tones.items(), key=lambda t: t[1])
    codes = encode(np.array([t for _, t in ranked], np.float32))
    swatches(
        pen, width - margin, y + 1.2 * size, [(name, int(c)) for (name, _), c in zip(ranked, codes, strict=True)], size
    )
    note = fitted(pen, TONE_NOTE, 0.85 * size, width - 2 * margin)
    write(pen, (margin, y + 2.6 * size), note, 0.85 * size, SOFT)


def text_size(width: int) -> float:
    """Return the size of captions on a picture of a width [pixels]."""
    return max(10.5, width / 100)


def ground(width: int, height: int) -> Image.Image:
    """Return an empty grey picture."""
    return as_image(np.full((height, width), table_code(), np.uint8))
