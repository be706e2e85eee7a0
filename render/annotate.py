"""The photograph with its counted layers marked, so that the smith can check the count by eye.

Left the whole photograph with the measured line as a ribbon, one block a layer, amber on bright ones and blue on dark;
right a close view of the line's middle, where every seam can be checked; the count below.
"""

from __future__ import annotations

import io
import itertools

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from billet.count import Count
from billet.count.against_recipe import in_words
from billet.count.line import Line, band
from billet.count.tally import MARGIN_LAYERS

Array = NDArray[np.float64]
TALLEST, WIDEST, CLOSE_WIDTH, GAP = 1400, 1600, 380, 16
SHORTEST = 480
TONES = ("#e8a33d", "#1f6f8b")  # amber and blue: apart in lightness too, for eyes that do not tell the hues
PAPER, INK = "#f6f4ef", "#20242a"
CLOSE_LAYERS = 24


def marked_png(grey: Array, count: Count) -> bytes:
    """The marked picture as PNG, from the grey photograph (h, w) 0..1 and its count."""
    whole, close = marked_photograph(grey, count), close_view(grey, count)
    height = max(whole.height, close.height)
    lines = in_words(count)
    sheet = Image.new(
        "RGB", (max(whole.width + close.width + 3 * GAP, 760), height + 2 * GAP + 28 * len(lines) + GAP), PAPER
    )
    sheet.paste(whole, (GAP, GAP))
    sheet.paste(close, (whole.width + 2 * GAP, GAP))
    draw = ImageDraw.Draw(sheet)
    for k, text in enumerate(lines):
        draw.text(
            (GAP, height + 2 * GAP + 28 * k + (4 if k else 0)), text, INK, ImageFont.load_default(20 if k == 0 else 16)
        )
    out = io.BytesIO()
    sheet.save(out, "PNG")
    return out.getvalue()


def marked_photograph(grey: Array, count: Count) -> Image.Image:
    """The whole photograph, shrunk or enlarged to fit, with the ribbon along the measured line."""
    h, w = grey.shape
    zoom = min(WIDEST / w, TALLEST / h, max(SHORTEST / h, 1.0))
    image = (
        Image.fromarray(_bytes(grey))
        .resize((max(round(w * zoom), 1), max(round(h * zoom), 1)), Image.Resampling.LANCZOS)
        .convert("RGB")
    )
    half = max(0.008 * min(image.size), 3.0)
    draw = ImageDraw.Draw(image)
    bright = bright_first(grey, count)
    for k, (start, end) in enumerate(blocks(count)):
        draw.polygon(_block(count.line, start, end, zoom, half), fill=tone(k, bright))
    return image


def close_view(grey: Array, count: Count) -> Image.Image:
    """The middle of the measured line, CLOSE_LAYERS layers of it, enlarged and turned to run downward, its ribbon and
    seams beside it.
    """
    upright = band(grey, count.line)
    step = count.line.length / (len(upright) - 1)
    seams = np.array(count.seams) / step
    first = max((len(seams) - CLOSE_LAYERS) // 2, 0)
    shown = seams[first : first + CLOSE_LAYERS + 1]
    margin = np.diff(shown).mean()
    top, foot = int(max(shown[0] - margin, 0)), int(min(shown[-1] + margin, len(upright) - 1)) + 1
    zoom = 700 / (foot - top)
    across = int(np.clip(CLOSE_WIDTH / zoom, 8, upright.shape[1]))
    left = (upright.shape[1] - across) // 2
    cut = (
        Image.fromarray(_bytes(upright[top:foot, left : left + across]))
        .resize((CLOSE_WIDTH, 700), Image.Resampling.BICUBIC)
        .convert("RGB")
    )
    draw = ImageDraw.Draw(cut)
    middle, bright = CLOSE_WIDTH / 2, bright_first(grey, count)
    for k, (a, b) in enumerate(itertools.pairwise(shown)):
        ends = [(a + 0.5 - top) * zoom, (b + 0.5 - top) * zoom]
        draw.rectangle([middle - 9, ends[0], middle + 9, ends[1]], fill=tone(first + 1 + k, bright))
        draw.line([middle - 40, ends[0], middle + 40, ends[0]], fill=TONES[0], width=1)
    return cut


def bright_first(grey: Array, count: Count) -> bool:
    """Whether the first block along the measured line is one of the brighter layers."""
    middles = np.mean(blocks(count), axis=1)
    upright = band(grey, count.line)
    rows = np.clip(np.round(middles / count.line.length * (len(upright) - 1)), 0, len(upright) - 1).astype(int)
    centre = upright.shape[1] // 2
    along = upright[rows, max(centre - 2, 0) : centre + 3].mean(axis=1)
    return bool(along[::2].mean() >= along[1::2].mean())


def tone(block: int, bright: bool) -> str:
    """Colour of a block: amber on the brighter layers, blue on the darker."""
    return TONES[(block % 2 == 0) != bright]


def blocks(count: Count) -> list[tuple[float, float]]:
    """Start and end [px along the measured line] of each counted layer, those cut by the ends included; the bench
    beyond the bar gives empty first and last blocks.
    """
    thick = MARGIN_LAYERS * float(np.median(np.diff(count.seams)))
    start = 0.0 if count.seams[0] <= thick else count.seams[0]
    end = count.line.length if count.line.length - count.seams[-1] <= thick else count.seams[-1]
    return list(itertools.pairwise([start, *count.seams, end]))


def _block(line: Line, start: float, end: float, zoom: float, half: float) -> list[tuple[float, float]]:
    """Corners of one layer's block on the ribbon, in the zoomed picture."""
    ux, uy = line.unit
    corners = []
    for distance, side in ((start, -half), (start, half), (end, half), (end, -half)):
        x, y = line.at(distance)
        corners.append((float((x + 0.5) * zoom - uy * side), float((y + 0.5) * zoom + ux * side)))
    return corners


def _bytes(grey: Array) -> NDArray[np.uint8]:
    """Brightness 0..1 as 0..255."""
    return (np.clip(grey, 0, 1) * 255 + 0.5).astype(np.uint8)
