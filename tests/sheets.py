"""What the tests of the sheet share: recipes, and pages as a printer would set them, by somebody else's reader."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pypdfium2 as pdfium
from numpy.typing import NDArray

from billet.ledger.run import run
from billet.recipe.read import load
from render.sheet.whole_sheet import CARDS, Remembered, Sheet, sheet_of

DEMOS = sorted((Path(__file__).parent.parent / "demo_billets").glob("*.toml"))
MM = 72 / 25.4  # points

PLAIN = """
version = 2
title = "{title}"
units = "{units}"

[[bar]]
name = "billet"
width = "50 mm"
length = "120 mm"
stack = ["1084 3 mm", "15N20 2 mm"]
repeat = 6

[[bar.step]]
do = "weld"
temperature = "1150 C"
soak = "10 min"
{steps}
"""
BLADE = """
[blade]
length = "{length}"
heel_height = "40 mm"
tang = {{ kind = "none" }}
"""
DRAW = '[[bar.step]]\ndo = "draw"\nthickness = "{t} mm"\nwidth = "50 mm"\ntemperature = "1100 C"\nsoak = "2 min"\n'


class Box(NamedTuple):
    """A piece of text on a page and the box it fills [pt]."""

    text: str
    left: float
    low: float
    right: float
    top: float


def recipe(title: str = "A knife", units: str = "metric", steps: str = "", blade: str = "", more: str = "") -> str:
    """A small recipe as text."""
    return PLAIN.format(title=title, units=units, steps=steps) + blade + more


def many_draws(count: int) -> str:
    """So many draws, each a little thinner than the last."""
    return "\n".join(DRAW.format(t=f"{26 - 0.3 * k:.2f}") for k in range(count))


def sheet(folder: Path, text: str, cards: tuple[str, ...] = CARDS, record: Remembered | None = None) -> Sheet:
    """The sheet of a recipe written into a folder; carbon is left where it is, for speed."""
    file = folder / "knife.toml"
    file.write_text(text, encoding="utf-8")
    return sheet_of(run(load(file), diffuse=False), cards, record)


def raster(data: bytes, page: int, dpi: int) -> NDArray[np.float64]:
    """A page as grey pixels, row by row from the top, 0 black to 1 white."""
    with closing(pdfium.PdfDocument(data)) as document:
        picture = document[page].render(scale=dpi / 72, grayscale=True).to_numpy()
    return np.asarray(picture, float).reshape(picture.shape[0], picture.shape[1]) / 255


def pages(data: bytes) -> list[tuple[tuple[float, float], list[Box]]]:
    """The size of every page and the text on it."""
    out = []
    with closing(pdfium.PdfDocument(data)) as document:
        for page in document:
            words, boxes = page.get_textpage(), []
            for k in range(words.count_rects()):
                left, low, right, top = words.get_rect(k)
                boxes.append(Box(words.get_text_bounded(left, low, right, top), left, low, right, top))
            out.append((page.get_size(), boxes))
    return out


def text_of(data: bytes) -> str:
    """All words of a PDF, a space between any two."""
    with closing(pdfium.PdfDocument(data)) as document:
        return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)


def height_of(data: bytes, words: str) -> float:
    """How high the first letter of some words stands on the first page [mm], a capital."""
    with closing(pdfium.PdfDocument(data)) as document:
        page = document[0].get_textpage()
        found = page.search(words, match_case=True).get_next()
        assert found is not None
        _, low, _, top = page.get_charbox(found[0])
    return (top - low) / MM


def overprinted(boxes: list[Box]) -> list[tuple[str, str]]:
    """Pieces of text that lie over one another by more than a fifth of a letter."""
    found = []
    for k, one in enumerate(boxes):
        for other in boxes[k + 1 :]:
            wide = min(one.right, other.right) - max(one.left, other.left)
            tall = min(one.top, other.top) - max(one.low, other.low)
            if wide > 1.0 and tall > 0.3 * min(one.top - one.low, other.top - other.low):
                found.append((one.text, other.text))
    return found
