"""The knives that are cut from a bar, drawn over its face."""

from __future__ import annotations

import numpy as np
from PIL import ImageDraw

from billet.blade.geometry import read_blade
from billet.blade.handle import Whole
from billet.blade.lying import lying
from billet.ledger.rows import Ledger
from render.drawing import font, write
from render.light import table_code
from render.panel import Panel

_INK = (206, 92, 40)
_POINTS = 300


def draw_laid(pen: ImageDraw.ImageDraw, ledger: Ledger, panel: Panel, place: tuple[int, int], size: float) -> None:
    """Draw the outline of every knife where it lies in the bar, with its name."""
    window, folder = panel.window, ledger.recipe.folder
    stroke, paper = max(1, round(size / 9)), (table_code(),) * 3

    def at(x: float, y: float) -> tuple[float, float]:
        return place[0] + (x - window.left) / window.pixel, place[1] + (window.top - y) / window.rise

    for design in ledger.recipe.blades:
        blade = read_blade(design, folder)
        whole, lies = Whole(blade), lying(blade, ledger.last)
        x = np.linspace(-whole.behind, blade.length, _POINTS)
        low, high = whole.edge_y(x) + lies.edge_y, whole.spine_y(x) + lies.edge_y
        ring = [*zip(x + lies.heel_x, low, strict=True), *zip((x + lies.heel_x)[::-1], high[::-1], strict=True)]
        around = [at(float(a), float(b)) for a, b in [*ring, ring[0]]]
        pen.line(around, fill=paper, width=3 * stroke, joint="curve")
        pen.line(around, fill=_INK, width=stroke)
        middle = at(
            lies.heel_x + 0.4 * blade.length,
            float(np.mean(whole.edge_y(x[-1:] * 0.4)) + 0.5 * design.heel_height + lies.edge_y),
        )
        half, tall = 0.5 * pen.textlength(design.name, font=font(1.1 * size)) + 0.4 * size, 0.8 * size
        box = (middle[0] - half, middle[1] - tall, middle[0] + half, middle[1] + tall)
        pen.rounded_rectangle(box, 0.4 * size, fill=paper)
        write(pen, middle, design.name, 1.1 * size, _INK, "mm")
