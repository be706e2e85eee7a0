"""The one type family of the sheet, embedded: Bitstream Vera, which comes with reportlab under its own free licence."""

from __future__ import annotations

from functools import cache

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from billet.base.console import nearest

FAMILY = "Vera"
REGULAR, BOLD, ITALIC, BOLD_ITALIC = "Vera", "Vera-Bold", "Vera-Italic", "Vera-BoldItalic"
LICENCE = "Set in Bitstream Vera (Bitstream Vera licence: free to embed and pass on)."
_FILES = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf", ITALIC: "VeraIt.ttf", BOLD_ITALIC: "VeraBI.ttf"}


@cache
def use() -> str:
    """Make the family known to reportlab; return its name."""
    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, file))
    pdfmetrics.registerFontFamily(FAMILY, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD_ITALIC)
    return FAMILY


@cache
def _known() -> frozenset[int]:
    use()
    return frozenset(pdfmetrics.getFont(REGULAR).face.charToGlyph)


def printable(text: str) -> str:
    """The text in letters the family has: a letter with an unknown accent loses it, any other unknown sign is a ``?``."""
    return "".join(_printable(letter) for letter in text)


def _printable(letter: str) -> str:
    if ord(letter) in _known():
        return letter
    if letter.isspace():
        return " "
    return nearest(letter, lambda c: ord(c) in _known())


def width(text: str, size: float, font: str = REGULAR) -> float:
    """Width of a line of text [pt]."""
    use()
    return float(pdfmetrics.stringWidth(text, font, size))
