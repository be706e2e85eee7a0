"""The sheet as PDF: cards set in one family, the template at its true size on as many pages as it takes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER, landscape
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, NextPageTemplate, PageBreak, PageTemplate

from render.sheet import fonts
from render.sheet.blocks import Card, Words
from render.sheet.pdf_blocks import fitted, flowables
from render.sheet.pdf_template import HEAD_ROOM, TilePage
from render.sheet.template import tiles
from render.sheet.template_words import OVERLAP
from render.sheet.whole_sheet import Sheet

PAPERS = {"a4": A4, "letter": LETTER}
MARGIN = 12 * mm
_FOOT = 8 * mm


@dataclass(frozen=True)
class Made:
    """A finished PDF: its bytes, and how many pages each part takes."""

    data: bytes
    pages: tuple[tuple[str, int], ...]


def paper_for(units: str) -> str:
    """The paper usual where these units are."""
    return "letter" if units == "imperial" else "a4"


def as_pdf(sheet: Sheet, paper: str) -> Made:
    """Set the sheet on a paper ("a4" or "letter"). The same sheet gives the same bytes."""
    fonts.use()
    size, out = PAPERS[paper], BytesIO()
    lying = landscape(size)
    counts: dict[str, int] = {}
    part = ["template"]
    document = BaseDocTemplate(
        out, pagesize=size, title=f"{sheet.title}: shop sheet", author="", creator="billet", subject="", invariant=1,
        initialFontName=fonts.REGULAR,
    )  # fmt: skip

    def foot(canvas: Canvas, _: Any) -> None:
        name = part[0]
        counts[name] = counts.get(name, 0) + 1
        _foot(canvas, sheet, name, counts[name])

    upright = Frame(MARGIN, MARGIN + _FOOT, size[0] - 2 * MARGIN, size[1] - 2 * MARGIN - _FOOT, 0, 0, 0, 0, id="card")
    flat = Frame(0, 0, lying[0], lying[1], 0, 0, 0, 0, id="tile")
    document.addPageTemplates(
        [
            PageTemplate("card", [upright], onPageEnd=foot, pagesize=size),
            PageTemplate("tile", [flat], onPageEnd=lambda *_: _count(counts, "template"), pagesize=lying),
        ]
    )
    story = [*_template(sheet, lying)]
    room = upright._width, upright._height
    for card in _cards(sheet):
        story += [NextPageTemplate("card"), PageBreak()] if story else []
        story += [_Part(part, card.key), *_card(card, sheet, room)]
    if sheet.template is not None:
        document.pageTemplates.reverse()
    document.build(story, canvasmaker=partial(Canvas, initialFontName=fonts.REGULAR))
    return Made(out.getvalue(), tuple(counts.items()))


class _Part(Flowable):
    """Takes no room; says which card the pages from here on belong to."""

    def __init__(self, kept: list[str], name: str) -> None:
        super().__init__()
        self.kept, self.name = kept, name

    def wrap(self, *_: float) -> tuple[float, float]:
        return 0, 0

    def draw(self) -> None:
        self.kept[0] = self.name


def _count(counts: dict[str, int], name: str) -> None:
    counts[name] = counts.get(name, 0) + 1


def _cards(sheet: Sheet) -> list[Card]:
    if not sheet.missing:
        return list(sheet.cards)
    first = Card("template", "Template", tuple(Words(line, "lead") for line in sheet.missing))
    return [first, *sheet.cards]


def _card(card: Card, sheet: Sheet, room: tuple[float, float]) -> list[Flowable]:
    return fitted(card, sheet.title, room) if card.poster else flowables(card, sheet.title, room[0])


def _template(sheet: Sheet, lying: tuple[float, float]) -> list[Flowable]:
    if sheet.template is None:
        return []
    room = (lying[0] - 2 * MARGIN) / mm, (lying[1] - 2 * MARGIN) / mm - HEAD_ROOM
    pieces = tiles(sheet.template.size, room, OVERLAP)
    story: list[Flowable] = []
    for k, tile in enumerate(pieces):
        story += [PageBreak()] if k else []
        story.append(TilePage(sheet, tile, pieces, lying, room))
    return story


def _foot(canvas: Canvas, sheet: Sheet, name: str, page: int) -> None:
    canvas.saveState()
    canvas.setFont(fonts.REGULAR, 7)
    canvas.setFillGray(0.35)
    wide = canvas._pagesize[0]
    left = fonts.printable(sheet.title)
    while fonts.width(left, 7) > wide - 2 * MARGIN - 60 * mm:
        left = left[:-2].rstrip() + "…"
    canvas.drawString(MARGIN, MARGIN, left)
    canvas.drawRightString(wide - MARGIN, MARGIN, f"{name} {page}")
    canvas.restoreState()
