"""A plain line chart: one value over another, with a band, marks and words at the lines themselves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from render.drawing import FAINT, INK, SOFT, write

Array = NDArray[np.float64]

PAPER = 247
WIDTH, HEIGHT = 1400, 760
_LEFT, _RIGHT, _TOP, _BOTTOM = 120, 190, 110, 100
_SIZE = 22.0


@dataclass(frozen=True)
class Line:
    """One line of a chart: its name, x and y, how dark, and (low, high) around it where it is a range."""

    name: str
    x: Array
    y: Array
    ink: int = INK
    band: tuple[Array, Array] | None = None
    dashed: bool = False


@dataclass(frozen=True)
class Chart:
    """A chart: title, what stands on the axes, its lines, and marks (x, words) drawn as fine upright lines.

    `x_word` and `y_word` turn a value into its label.
    """

    title: str
    x_name: str
    y_name: str
    lines: Sequence[Line]
    x_word: Callable[[float], str] = "{:g}".format
    y_word: Callable[[float], str] = "{:g}".format
    marks: Sequence[tuple[float, str]] = ()
    foot: str = ""


def round_steps(low: float, high: float, most: int = 7) -> list[float]:
    """Round values from low to high, at most so many."""
    raw = (high - low) / most
    size = 10.0 ** np.floor(np.log10(raw))
    step = next(s * size for s in (1, 2, 2.5, 5, 10) if s * size >= raw * (1 - 1e-9))
    return [float(v) + 0.0 for v in np.arange(np.ceil(low / step), np.floor(high / step + 1e-9) + 1) * step]


def draw_chart(chart: Chart) -> bytes:
    """The chart as a PNG at 150 dots an inch."""
    picture = Image.new("L", (WIDTH, HEIGHT), PAPER)
    draw = ImageDraw.Draw(picture)
    x_ends, y_ends = _ends(chart)

    def place(x: Array, y: Array) -> list[tuple[float, float]]:
        u = _LEFT + (np.asarray(x) - x_ends[0]) / (x_ends[1] - x_ends[0]) * (WIDTH - _LEFT - _RIGHT)
        v = HEIGHT - _BOTTOM - (np.asarray(y) - y_ends[0]) / (y_ends[1] - y_ends[0]) * (HEIGHT - _TOP - _BOTTOM)
        return list(zip(u.tolist(), v.tolist(), strict=True))

    write(draw, (_LEFT, 30), chart.title, 1.25 * _SIZE)
    write(draw, (_LEFT, 68), chart.y_name, 0.85 * _SIZE, SOFT)
    for line in chart.lines:
        if line.band is not None:
            draw.polygon(place(line.x, line.band[0]) + place(line.x, line.band[1])[::-1], fill=222)
    _axes(draw, chart, x_ends, y_ends, place)
    for line in chart.lines:
        _line(draw, line, place)
    write(draw, (WIDTH - _RIGHT, HEIGHT - 30), chart.x_name, 0.85 * _SIZE, SOFT, "ra")
    write(draw, (_LEFT, HEIGHT - 30), chart.foot, 0.7 * _SIZE, SOFT)
    out = BytesIO()
    picture.save(out, "PNG", dpi=(150, 150))
    return out.getvalue()


def _ends(chart: Chart) -> tuple[tuple[float, float], tuple[float, float]]:
    """The ranges of both axes, a little wider than the data."""
    x = np.concatenate([line.x for line in chart.lines])
    y = np.concatenate([np.concatenate([line.y, *(line.band or ())]) for line in chart.lines])
    room = max(0.06 * float(np.ptp(y)), 1e-3 * float(np.abs(y).max()), 1e-12)
    return (float(x.min()), float(x.max())), (float(y.min()) - room, float(y.max()) + room)


Place = Callable[[Array, Array], list[tuple[float, float]]]


def _axes(
    draw: ImageDraw.ImageDraw, chart: Chart, x_ends: tuple[float, float], y_ends: tuple[float, float], place: Place
) -> None:
    for y in round_steps(*y_ends):
        (left, v), (right, _) = place(np.array(x_ends), np.array([y, y]))
        draw.line([(left, v), (right, v)], fill=FAINT + 40, width=1)
        write(draw, (left - 12, v), chart.y_word(y), 0.8 * _SIZE, SOFT, "rm")
    for x in round_steps(*x_ends):
        (u, bottom), (_, top) = place(np.array([x, x]), np.array(y_ends))
        draw.line([(u, bottom), (u, bottom + 7)], fill=SOFT, width=1)
        write(draw, (u, bottom + 14), chart.x_word(x), 0.8 * _SIZE, SOFT, "ma")
    for x, words in chart.marks:
        (u, bottom), (_, top) = place(np.array([x, x]), np.array(y_ends))
        draw.line([(u, bottom), (u, top)], fill=FAINT, width=2)
        write(draw, (u + 6, top + 4), words, 0.75 * _SIZE, SOFT)


def _line(draw: ImageDraw.ImageDraw, line: Line, place: Place) -> None:
    points = place(line.x, line.y)
    if line.dashed:
        for a, b in zip(points[::2], points[1::2], strict=False):
            draw.line([a, b], fill=line.ink, width=3)
    else:
        draw.line(points, fill=line.ink, width=3, joint="curve")
    write(draw, (points[-1][0] + 12, points[-1][1]), line.name, 0.8 * _SIZE, line.ink, "lm")
