"""The template: the knife drawn at its true size, with stations, thicknesses and bars to check the print by.

A drawing is a list of lines and labels in millimetres, x along the knife, y upwards; it is cut into pages where it is
longer than the paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from billet.base.units import Kind, show
from billet.blade.geometry import Blade
from billet.blade.handle import Whole
from render.sheet.outline_files import outline_of

Array = NDArray[np.float64]
Stroke = Literal["outline", "mark", "thin"]

_INCH = 25.4
TEXT, HEAD = 2.6, 3.0  # heights of type [mm]
_SPACINGS = {"metric": (10.0, 20.0, 25.0, 50.0, 100.0), "imperial": tuple(_INCH * k for k in (0.5, 1.0, 2.0, 4.0))}
_FEWEST = 24.0  # room for the figures of a station [mm]
_ROOM = 0.011  # either side of a station its words keep clear of the outline [m]
_GAP = 13.0  # between the two views [mm]


@dataclass(frozen=True)
class Line:
    """A line through points, shape (2, n) [mm]."""

    points: Array
    stroke: Stroke = "outline"


@dataclass(frozen=True)
class Label:
    """A line of text with its foot at a point [mm]; ``anchor`` is the part of it that stands there."""

    x: float
    y: float
    text: str
    anchor: Literal["start", "middle", "end"] = "middle"
    size: float = TEXT
    bold: bool = False


@dataclass(frozen=True)
class Drawing:
    """Lines and labels, and the box they fill: left, bottom, right, top [mm]."""

    lines: tuple[Line, ...]
    labels: tuple[Label, ...]
    box: tuple[float, float, float, float]

    @property
    def size(self) -> tuple[float, float]:
        """Width and height [mm]."""
        return self.box[2] - self.box[0], self.box[3] - self.box[1]


@dataclass(frozen=True)
class Tile:
    """A piece of the drawing that fits a page: its lower left corner [mm], and its place, counted from 0."""

    x: float
    y: float
    column: int
    row: int


def tiles(size: tuple[float, float], room: tuple[float, float], overlap: float) -> tuple[Tile, ...]:
    """The pages a drawing needs, left to right and top to bottom, each overlapping its neighbours [mm]."""
    across, down = (
        max(1, ceil((size[k] - overlap) / (room[k] - overlap) - 1e-9)) if size[k] > room[k] else 1 for k in (0, 1)
    )
    rise = [0.0] if down == 1 else [size[1] - room[1] - k * (room[1] - overlap) for k in range(down)]
    return tuple(Tile(c * (room[0] - overlap), rise[r], c, r) for r in range(down) for c in range(across))


def drawn(blade: Blade, units: str) -> Drawing:
    """The template of a knife: side view above, seen on its right face; the view on the spine below."""
    side = _side_view(blade, units)
    low = min(float(line.points[1].min()) for line in side[0])
    top_lines, top_labels = _spine_view(blade, low - TEXT * 3 - _GAP)
    lines, labels = (*side[0], *top_lines), (*side[1], *top_labels)
    x = [v for line in lines for v in (line.points[0].min(), line.points[0].max())]
    y = [v for line in lines for v in (line.points[1].min(), line.points[1].max())]
    y += [v for label in labels for v in (label.y - 1.0, label.y + label.size)]
    x += [v for label in labels for v in _reach(label)]
    return Drawing(lines, labels, (float(min(x)), float(min(y)), float(max(x)), float(max(y))))


def _reach(label: Label) -> tuple[float, float]:
    """Left and right end of a label [mm]."""
    wide = width_of(label)
    left = label.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * wide
    return left, left + wide


def width_of(label: Label) -> float:
    """Width of a label as it is set [mm]."""
    from render.sheet.fonts import BOLD, REGULAR, width

    points = label.size / 25.4 * 72
    return width(label.text, points, BOLD if label.bold else REGULAR) / 72 * 25.4


def shown_on(label: Label, box: tuple[float, float, float, float]) -> bool:
    """Whether a label lies whole within a box [mm]; only then is it set on that page."""
    left, right = _reach(label)
    return left >= box[0] and right <= box[2] and label.y >= box[1] and label.y + label.size <= box[3]


def stations(blade: Blade, units: str) -> list[float]:
    """Where thickness is told [mm from the heel]: the heel, round distances, and near the tip where the spine is stated."""
    length, last = blade.length * 1e3, (blade.length - blade.design.tip_at) * 1e3
    spacing = next((s for s in _SPACINGS[units] if length / s <= 6 and s >= _FEWEST), _SPACINGS[units][-1])
    return [*[float(x) for x in np.arange(0.0, last - 0.6 * _FEWEST, spacing)], last]


def thin(metres: float, units: str) -> str:
    """A thickness as a bare number: millimetres to 0.05, to 0.01 under one; or thou."""
    return show(metres, Kind.LENGTH, units, fine=True).split()[0]


def _side_view(blade: Blade, units: str) -> tuple[list[Line], list[Label]]:
    hard, done, whole = blade.in_state("hardening"), blade.in_state("finished"), Whole(blade)
    lines, labels = [Line(outline_of(blade) * 1e3)], []
    for x in stations(blade, units):
        at = x * 1e-3
        near = np.clip(np.linspace(at - _ROOM, at + _ROOM, 41), 0.0, blade.length)
        low, high = float(blade.edge_y(near).min()) * 1e3, float(blade.spine_y(near).max()) * 1e3
        lines.append(Line(np.array([[x, x], [low - 2.0, high + 2.0]]), "mark"))
        spine, edge = (
            f"{thin(float(part(at)), units)} / {thin(float(other(at)), units)}"
            for part, other in (
                (hard.spine_thickness, done.spine_thickness),
                (hard.edge_thickness, done.edge_thickness),
            )
        )
        where = "heel" if x == 0 else show(at, Kind.LENGTH, units)
        labels += [Label(x, high + 2.8 + 1.3 * TEXT, where, bold=True), Label(x, high + 2.8, spine)]
        labels.append(Label(x, low - 2.6 - TEXT, edge))
    middle = 1e3 * sum(whole.tang_y) / 2 if blade.design.tang.kind != "none" else 1e3 * blade.design.heel_height / 2
    ends = -1e3 * whole.behind - 4.0, 1e3 * blade.length + 4.0
    lines.append(Line(np.array([ends, (middle, middle)]), "thin"))
    neck, bolster, end = (1e3 * p for p in whole.places)
    if blade.design.bolster is not None:
        labels.append(Label((neck + bolster) / 2, whole.bolster_y[1] * 1e3 + 2.8, "bolster"))
    if blade.design.tang.kind != "none":
        labels.append(Label((bolster + end) / 2, whole.tang_y[1] * 1e3 + 2.8, f"{blade.design.tang.kind} tang"))
    return lines, labels


def _spine_view(blade: Blade, top: float) -> tuple[list[Line], list[Label]]:
    """The knife seen on its spine: for hardening in full, finished as a thin line, about its centre line."""
    whole = {state: Whole(blade.in_state(state)) for state in ("hardening", "finished")}
    behind = whole["hardening"].behind
    x = np.linspace(-behind + 1e-6, blade.length - 1e-6, 1500)
    halves = {
        (state, side): np.nan_to_num(one.half(x, one.spine_y(x) - 1e-7, side)) * 1e3
        for state, one in whole.items()
        for side in ("left", "right")
    }
    middle = top - max(float(h.max()) for h in halves.values()) - 2.0
    lines = []
    for (state, side), half in halves.items():
        stroke: Stroke = "outline" if state == "hardening" else "thin"
        lines.append(Line(np.stack([x * 1e3, middle + (half if side == "left" else -half)]), stroke))
    for at in (x[0], x[-1]):
        k = 0 if at == x[0] else -1
        reach = [middle - float(halves["hardening", "right"][k]), middle + float(halves["hardening", "left"][k])]
        lines.append(Line(np.array([[at * 1e3] * 2, reach])))
    ends = (-1e3 * behind - 4.0, 1e3 * blade.length + 4.0)
    lines.append(Line(np.array([ends, (middle, middle)]), "thin"))
    words = (
        "seen on the spine, left face up: black for hardening, grey finished; the line through it is the centre line"
    )
    return lines, [Label(ends[0], middle - float(halves["hardening", "right"].max()) - 2.0 - TEXT, words, "start")]
