"""Blocks of a card as what reportlab sets: paragraphs, tables, boxes; one family, told apart by size and space."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, black
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Image, KeepTogether, Paragraph, Spacer, Table, TableStyle

from render.sheet import blocks as b
from render.sheet import fonts

_FLUSH = ("LEFTPADDING", (0, 0), (0, -1), 0)
_GREY, _RULE = Color(0.35, 0.35, 0.35), Color(0.72, 0.72, 0.72)
_SMALLEST, _LARGEST = 15.0, 40.0  # type of the signs on a poster [pt]


def style(size: float, *, bold: bool = False, italic: bool = False, grey: bool = False, **more: Any) -> ParagraphStyle:
    """A style of the family; leading goes with size."""
    font = {(0, 0): fonts.REGULAR, (1, 0): fonts.BOLD, (0, 1): fonts.ITALIC, (1, 1): fonts.BOLD_ITALIC}
    return ParagraphStyle(
        f"{size:g}{bold}{italic}{grey}", fontName=font[int(bold), int(italic)], fontSize=size, leading=1.3 * size,
        textColor=_GREY if grey else black, splitLongWords=1, **more,
    )  # fmt: skip


TONES = {"lead": style(11), "plain": style(9), "small": style(7.5, grey=True), "lesson": style(9.5, bold=True)}
TITLE, NAME, HEADING = style(18, bold=True), style(11, grey=True), style(12, bold=True)
WHAT, DETAIL, CELL, HEAD = style(9.5, bold=True), style(8), style(8.5), style(7, grey=True)
CAUTION, LESSON = style(8), style(8, bold=True)
_SIZE = 21 * mm  # the column of one size
_MOST_LINES = 25  # of one piece of work before it may go over to the next page


def words(text: str, how: ParagraphStyle) -> Paragraph:
    """A paragraph of plain text."""
    return Paragraph(escape(fonts.printable(text)), how)


def flowables(card: b.Card, knife: str, wide: float) -> list[Flowable]:
    """A card from its title to its cautions."""
    story: list[Flowable] = [words(card.title, TITLE), *_whose(card, knife), Spacer(1, 4 * mm)]
    for block in card.blocks:
        story += _set(block, wide)
    return story


def fitted(card: b.Card, knife: str, room: tuple[float, float]) -> list[Flowable]:
    """A poster: its signs as large as one page allows."""
    size = _LARGEST
    while True:
        story: list[Flowable] = [words(card.title, style(20, bold=True)), *_whose(card, knife), Spacer(1, 2 * mm)]
        for block in card.blocks:
            story += _signs(block, room[0], size) if isinstance(block, b.Signs) else _set(block, room[0])
        if size <= _SMALLEST or sum(_height(one, room) for one in story) <= room[1] - 2 * mm:
            return story
        size -= 0.5


def _whose(card: b.Card, knife: str) -> list[Flowable]:
    return [] if card.title == knife else [words(knife, NAME)]


def _set(block: b.Block, wide: float) -> list[Flowable]:
    make: Callable[[Any, float], list[Flowable]] = _SET[type(block)]
    return make(block, wide)


def _height(one: Flowable, room: tuple[float, float]) -> float:
    return float(one.wrap(room[0], 1e6)[1]) + float(one.getSpaceBefore()) + float(one.getSpaceAfter())


def _words(block: b.Words, wide: float) -> list[Flowable]:
    return [words(block.text, TONES[block.tone]), Spacer(1, 2 * mm)]


def _heading(block: b.Heading, wide: float) -> list[Flowable]:
    return [CondPageBreak(30 * mm), Spacer(1, 3 * mm), words(block.text, HEADING), Spacer(1, 1.5 * mm)]


def _ticks(block: b.Ticks, wide: float) -> list[Flowable]:
    rows = [[_Box(), words(line, CELL)] for line in block.lines]
    if not rows:
        return []
    table = Table(rows, colWidths=[7 * mm, wide - 7 * mm])
    table.setStyle(TableStyle([*_tight(1.2), _FLUSH]))
    return [table]


def _tasks(block: b.Tasks, wide: float) -> list[Flowable]:
    """Numbered work: what to do on the left; on the right the sizes to reach, each over a line to write what was
    measured."""
    names = next((task.names for task in block.tasks if task.names), ())
    columns = [8 * mm, wide - 8 * mm - len(names) * _SIZE, *[_SIZE] * len(names)]
    rows: list[list[Any]] = [["", "", *(words(name, HEAD) for name in names)]]
    for task in block.tasks:
        lines = _told(task)
        sizes: list[Any] = [[words(size, CELL), _Rule(_SIZE - 3 * mm)] for _, size in task.reach]
        rows.append([words(task.number, WHAT), lines[:_MOST_LINES], *(sizes or [""] * len(names))])
        rest = range(_MOST_LINES, len(lines), _MOST_LINES)
        rows += [["", lines[k : k + _MOST_LINES], *[""] * len(names)] for k in rest]
    if not block.tasks:
        return []
    table = Table(rows, colWidths=columns, repeatRows=1)
    table.setStyle(TableStyle([*_tight(1.6), ("LINEABOVE", (0, 1), (-1, -1), 0.4, _RULE), _FLUSH]))
    return [table]


def _told(task: b.Task) -> list[Flowable]:
    """What is done, the details, the gate, the lesson."""
    lines: list[Flowable] = [words(task.what, WHAT), *(words(line, DETAIL) for line in task.details)]
    lines += [words(f"Gate: {task.gate}", DETAIL)] if task.gate else []
    return lines + ([words(task.lesson, LESSON)] if task.lesson else [])


def _table(block: b.Table, wide: float) -> list[Flowable]:
    right = style(8.5, alignment=2)
    head_right = style(7, grey=True, alignment=2)
    heads = [words(text, HEAD if k in block.left else head_right) for k, text in enumerate(block.heads)]
    cells = [[words(text, CELL if k in block.left else right) for k, text in enumerate(row)] for row in block.rows]
    rows = [heads, *cells]
    table = Table(rows, colWidths=[share * wide for share in block.shares], repeatRows=1)
    empty = [
        ("LINEBELOW", (k, n), (k, n), 0.4, black)
        for n, row in enumerate(block.rows, 1)
        for k, text in enumerate(row)
        if not text
    ]
    split = [("LINEBEFORE", (k, 1), (k, -1), 0.3, _RULE) for k, text in enumerate((block.rows or ((),))[0]) if not text]
    table.setStyle(TableStyle([*_tight(1.3), ("LINEBELOW", (0, 0), (-1, -1), 0.3, _RULE), *empty, *split]))
    return [table, Spacer(1, 2 * mm)]


def _signs(block: b.Signs, wide: float, size: float = _LARGEST) -> list[Flowable]:
    name, said = style(0.55 * size, grey=True), style(size, bold=True)
    said.leading = 1.15 * size
    first = max((fonts.width(n, 0.55 * size) for n, _ in block.rows), default=0.0) + 4 * mm
    rows = [[words(n, name), words(text, said)] for n, text in block.rows]
    if not rows:
        return []
    table = Table(rows, colWidths=[first, wide - first])
    table.setStyle(
        TableStyle(
            [
                *_tight(0.16 * size / mm),
                ("LINEABOVE", (0, 0), (-1, -1), 0.4, _RULE),
                _FLUSH,
            ]
        )
    )
    return [table, Spacer(1, 3 * mm)]


def _picture(block: b.Picture, wide: float) -> list[Flowable]:
    tall = min(wide * block.height / block.width, 110 * mm)
    image = Image(BytesIO(block.png), tall * block.width / block.height, tall)
    under = [words(block.caption, TONES["small"])] if block.caption else []
    return [KeepTogether([image, Spacer(1, 1 * mm), *under, Spacer(1, 3 * mm)])]


def _cautions(block: b.Cautions, wide: float) -> list[Flowable]:
    rows = [[words("!", WHAT), words(line, CAUTION)] for line in block.lines]
    table = Table(rows, colWidths=[6 * mm, wide - 6 * mm])
    table.setStyle(TableStyle([*_tight(0.8), ("LINEABOVE", (0, 0), (-1, 0), 0.8, black), _FLUSH]))
    return [Spacer(1, 4 * mm), table]


def _tight(pad: float) -> list[tuple[object, ...]]:
    """Every cell at the top, with little room round it [mm]."""
    return [
        ("VALIGN", (0, 0), (-1, -1), "TOP"), ("FONTNAME", (0, 0), (-1, -1), fonts.REGULAR), ("TOPPADDING", (0, 0), (-1, -1), pad * mm),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad * mm), ("LEFTPADDING", (0, 0), (-1, -1), 1 * mm),
        ("RIGHTPADDING", (0, 0), (-1, -1), 1 * mm),
    ]  # fmt: skip


class _Rule(Flowable):
    """A line to write on."""

    def __init__(self, long: float) -> None:
        super().__init__()
        self.long = long

    def wrap(self, *_: float) -> tuple[float, float]:
        """Room for handwriting above the line."""
        return self.long, 6 * mm

    def draw(self) -> None:
        """The line."""
        self.canv.setLineWidth(0.4)
        self.canv.line(0, 0.3 * mm, self.long, 0.3 * mm)


class _Box(Flowable):
    """A box to tick."""

    def wrap(self, *_: float) -> tuple[float, float]:
        """A square, and a little over it."""
        return 3.2 * mm, 3.4 * mm

    def draw(self) -> None:
        """The square."""
        self.canv.setLineWidth(0.8)
        self.canv.rect(0, 0, 3.2 * mm, 3.2 * mm)


_SET: dict[type, Callable[[Any, float], list[Flowable]]] = {
    b.Words: _words, b.Heading: _heading, b.Ticks: _ticks, b.Tasks: _tasks, b.Table: _table, b.Signs: _signs,
    b.Picture: _picture, b.Cautions: _cautions,
}  # fmt: skip
