"""A page of the template: a piece of the drawing at its true size, the bars to check it by, and where it meets the next."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from render.sheet import fonts
from render.sheet.template import Drawing, Label, Line, Tile, shown_on
from render.sheet.template_words import HOW, MATCH, OVERLAP, PRINT, seam
from render.sheet.whole_sheet import Sheet

HEAD_ROOM = 36.0  # above the drawing, for title, bars and words [mm]
_MARGIN = 12.0  # [mm]
_OUT = 6.0  # how far a seam stands over the drawing, clear of its words [mm]
_BARS = (("50 mm", 50.0), ("2 in", 50.8))
_STROKES = {"outline": (0.7, 0.0, None), "mark": (0.4, 0.55, (3, 1.5)), "thin": (0.4, 0.55, (8, 2, 1.5, 2))}


class TilePage(Flowable):
    """One page of the template, drawn over the whole sheet of paper."""

    def __init__(
        self, sheet: Sheet, tile: Tile, pieces: tuple[Tile, ...], page: tuple[float, float], room: tuple[float, float]
    ) -> None:
        super().__init__()
        self.sheet, self.tile, self.pieces, self.page, self.room = sheet, tile, pieces, page, room

    def wrap(self, *_: float) -> tuple[float, float]:
        """The whole page."""
        return self.page

    def draw(self) -> None:
        """Head, bars, the piece of the drawing, seams."""
        canvas: Canvas = self.canv
        drawing = self.sheet.template
        assert drawing is not None
        canvas.saveState()
        self._head(canvas)
        left, low = _MARGIN * mm, _MARGIN * mm
        wide, tall = drawing.size
        inside = (min(wide, self.room[0]), min(tall, self.room[1]))
        low += max(0.0, (self.room[1] - inside[1] - _OUT)) * mm
        left += max(0.0, (self.room[0] - inside[0]) / 2) * mm
        box = (
            drawing.box[0] + self.tile.x, drawing.box[1] + self.tile.y,
            drawing.box[0] + self.tile.x + inside[0], drawing.box[1] + self.tile.y + inside[1],
        )  # fmt: skip
        canvas.translate(left, low)
        self._seams(canvas, inside)
        _piece(canvas, drawing, box)
        canvas.restoreState()

    def _head(self, canvas: Canvas) -> None:
        left, top = _MARGIN * mm, self.page[1] - _MARGIN * mm
        number = self.pieces.index(self.tile) + 1
        title, size = fonts.printable(self.sheet.title), 14.0
        name = "Template 1:1"
        while fonts.width(title, size, fonts.BOLD) > self.page[0] - 2 * left - 75 * mm and size > 8:
            size -= 0.5
        while fonts.width(title, size, fonts.BOLD) > self.page[0] - 2 * left - 75 * mm:
            title = title[:-2].rstrip() + "…"
        canvas.setFont(fonts.BOLD, size)
        canvas.drawString(left, top - 12, title)
        canvas.setFont(fonts.REGULAR, 9)
        canvas.drawRightString(self.page[0] - left, top - 12, f"{name}, page {number} of {len(self.pieces)}")
        canvas.setFont(fonts.REGULAR, 7.5)
        canvas.setFillGray(0.25)
        words = [PRINT, HOW[self.sheet.units]] + ([MATCH] if len(self.pieces) > 1 else [])
        canvas.drawString(left, top - 24, words[0])
        canvas.drawString(left, top - 34, " ".join(words[1:]))
        canvas.setFillGray(0)
        at = left
        for text, long in _BARS:
            canvas.rect(at, top - 52, long * mm, 2 * mm, stroke=0, fill=1)
            canvas.setFont(fonts.REGULAR, 8)
            canvas.drawString(at + long * mm + 2 * mm, top - 52, f"{text}: measure me")
            at += (long + 35) * mm

    def _seams(self, canvas: Canvas, inside: tuple[float, float]) -> None:
        columns, rows = max(t.column for t in self.pieces) + 1, max(t.row for t in self.pieces) + 1
        wide, tall = inside[0] * mm, inside[1] * mm
        half = OVERLAP / 2 * mm
        for k, x in ((self.tile.column - 1, half), (self.tile.column, wide - half)):
            if 0 <= k < columns - 1:
                _cut(
                    canvas,
                    (x, -_OUT * mm, x, tall + _OUT * mm),
                    f"{seam(k, 0, columns, False)}{self.tile.row + 1 if rows > 1 else ''}",
                )
        for k, y in ((self.tile.row - 1, tall - half), (self.tile.row, half)):
            if 0 <= k < rows - 1:
                _cut(canvas, (0, y, wide, y), f"{k + 1}{seam(self.tile.column, 0, columns, False)}")


def _cut(canvas: Canvas, line: tuple[float, float, float, float], name: str) -> None:
    """A dotted line to cut on, its letter and a cross at either end."""
    canvas.saveState()
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(0.4)
    canvas.setDash(1, 2)
    canvas.line(*line)
    canvas.setDash()
    for x, y in (line[:2], line[2:]):
        canvas.setStrokeGray(0.0)
        canvas.line(x - 2 * mm, y, x + 2 * mm, y)
        canvas.line(x, y - 2 * mm, x, y + 2 * mm)
        canvas.setFont(fonts.BOLD, 9)
        canvas.drawString(x + 1.2 * mm, y + 1.0 * mm, name)
    canvas.restoreState()


def _piece(canvas: Canvas, drawing: Drawing, box: tuple[float, float, float, float]) -> None:
    """The part of a drawing in a box [mm], its lower left corner at the origin."""
    canvas.saveState()
    clip = canvas.beginPath()
    pad = 1.0 * mm
    clip.rect(-pad, -pad, (box[2] - box[0]) * mm + 2 * pad, (box[3] - box[1]) * mm + 2 * pad)
    canvas.clipPath(clip, stroke=0)
    for line in sorted(drawing.lines, key=lambda one: one.stroke == "outline"):  # black goes over grey
        _line(canvas, line, box)
    canvas.restoreState()
    for label in drawing.labels:
        if shown_on(label, (box[0] - 0.1, box[1] - 0.1, box[2] + 0.1, box[3] + 0.1)):
            _label(canvas, label, box)


def _line(canvas: Canvas, line: Line, box: tuple[float, float, float, float]) -> None:
    wide, grey, dash = _STROKES[line.stroke]
    canvas.setLineWidth(wide)
    canvas.setStrokeGray(grey)
    canvas.setDash(*(dash,) if dash else ())
    canvas.setLineJoin(1)
    canvas.setLineCap(1 if line.stroke == "outline" else 0)
    path = canvas.beginPath()
    x, y = (line.points[0] - box[0]) * mm, (line.points[1] - box[1]) * mm
    path.moveTo(x[0], y[0])
    for at in zip(x[1:], y[1:], strict=True):
        path.lineTo(*at)
    canvas.drawPath(path)


def _label(canvas: Canvas, label: Label, box: tuple[float, float, float, float]) -> None:
    canvas.setFont(fonts.BOLD if label.bold else fonts.REGULAR, label.size * mm)
    x, y = (label.x - box[0]) * mm, (label.y - box[1]) * mm
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[label.anchor]
    draw(x, y, fonts.printable(label.text))
