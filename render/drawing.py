"""Words, scale bars and swatches on a grey picture."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFont

from billet.base.units import Kind, read, show

INK, SOFT, FAINT = 46, 105, 168
"""Grey codes of titles, of captions and of fine lines."""

_METRIC = [b * 10.0**e for e in range(-6, 1) for b in (1, 2, 5)]
_IMPERIAL = [
    *("1 thou", "2 thou", "5 thou", "10 thou", "20 thou", "50 thou"),
    *("1/8 in", "1/4 in", "1/2 in", "1 in", "2 in", "3 in", "6 in", "12 in"),
]


@lru_cache(maxsize=32)
def font(size: float) -> Any:
    """The built-in face of the drawing library at a size in pixels."""
    return ImageFont.load_default(max(9.0, size))


def write(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    text: str,
    size: float,
    ink: int | tuple[int, ...] = INK,
    anchor: str = "la",
) -> float:
    """Write a line and return how wide it came out [pixels]."""
    draw.text(at, text, fill=ink, font=font(size), anchor=anchor)
    return float(draw.textlength(text, font=font(size)))


def fitted(draw: ImageDraw.ImageDraw, text: str, size: float, room: float) -> str:
    """Return a text cut to the room there is [pixels]."""
    while draw.textlength(text, font=font(size)) > room and len(text) > 4:
        text = text[:-2].rstrip(" .,") + "…"
    return text


def wrapped(draw: ImageDraw.ImageDraw, text: str, size: float, room: float) -> list[str]:
    """Return a text as lines that fit the room [pixels]."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and draw.textlength(longer, font=font(size)) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def scale_length(room: float, units: str) -> float:
    """Return the longest round length that fits the room [m]."""
    steps = _inches() if units == "imperial" else _METRIC
    return max((s for s in steps if s <= room), default=min(steps))


def scale_words(length: float, units: str) -> str:
    """Return what a scale bar of a length [m] reads: in inches just the fraction a rule is marked with."""
    if units == "imperial":
        return _inches()[length]
    return show(length, Kind.LENGTH, units, fine=length < 1e-3).replace(".0 ", " ")


@lru_cache(maxsize=1)
def _inches() -> dict[float, str]:
    """The lengths of scale bars in inches [m], each with what it reads."""
    return {read(text, Kind.LENGTH): text for text in _IMPERIAL}


def scale_bar(
    draw: ImageDraw.ImageDraw, at: tuple[float, float], pixel: float, room: float, units: str, size: float
) -> float:
    """Draw a scale bar from a point to the right, with its length above; returns its width [pixels]."""
    length = scale_length(room * pixel, units)
    wide, tick = length / pixel, 0.35 * size
    x, y = at
    stroke = max(1, round(size / 11))
    draw.line([(x, y), (x + wide, y)], fill=INK, width=stroke)
    for end in (x, x + wide):
        draw.line([(end, y - tick), (end, y + tick)], fill=INK, width=stroke)
    write(draw, (x + wide + 0.6 * size, y), scale_words(length, units), size, SOFT, "lm")
    return wide


def swatches(draw: ImageDraw.ImageDraw, right: float, y: float, steels: Sequence[tuple[str, int]], size: float) -> None:
    """Name the steels with the tone each etches to, right-aligned."""
    x = right
    for name, code in reversed(steels):
        x -= draw.textlength(name, font=font(size))
        write(draw, (x, y), name, size, SOFT, "lm")
        x -= 1.9 * size
        draw.rectangle([x, y - 0.55 * size, x + 1.4 * size, y + 0.55 * size], fill=code, outline=SOFT)
        x -= 1.3 * size


@lru_cache(maxsize=1)
def _tints() -> tuple[list[int], list[int], list[int]]:
    """Red, green and blue of every grey code: bright steel and paper a little warm, the dark film a little cold."""
    grey = np.arange(256)
    warm = np.interp(grey, (0, 60, 120, 190, 255), (0.0, -1.2, 0.8, 2.6, 1.0))
    red, blue = (np.clip(np.round(grey + by * warm), 0, 255).astype(int).tolist() for by in (0.9, -1.5))
    return red, grey.tolist(), blue


def tinted(codes: Image.Image) -> Image.Image:
    """Grey codes as colour, a little warm; green stays the code itself."""
    red, _, blue = _tints()
    return Image.merge("RGB", [codes.point(red), codes, codes.point(blue)])


def palette_of(image: Image.Image) -> Image.Image:
    """Return a picture of grey tints alone as codes with their palette, a third of the size on disk; any other as it is."""
    codes = image.getchannel("G")
    if ImageChops.difference(tinted(codes), image).getbbox() is not None:
        return image
    held = Image.frombytes("P", codes.size, codes.tobytes())
    held.putpalette([c for rgb in zip(*_tints(), strict=True) for c in rgb])
    return held


def as_image(codes: NDArray[np.uint8]) -> Image.Image:
    """Grey codes as an image."""
    return Image.fromarray(codes)
