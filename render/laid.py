"""The knives that are cut from a bar, drawn over its face."""

from __future__ import annotations

import numpy as np
from PIL import ImageDraw

from billet.blade.geometry import read_blade
from billet.blade.handle import Whole
from billet.blade.lying import lying
from billet.ledger.rows import Ledger
from render.drawing import write
from render.panel import Panel

_INK = (206, 92, 40)
_POINTS = 300


def draw_laid(pen: ImageDraw.ImageDraw, ledger: Ledger, panel: Panel, place: tuple[int, int], size: float) -> None:
    """Draw the outline of every knife where it lies in the bar, with its name."""
    window, folder = panel.window, ledger.recipe.folder
    stroke = max(1, round(size / 9))

    def at(x: float, y: float) -> tuple[float, float]:
        return place[0] + (x - window.left) / window.pixel, place[1] + (window.top - y) / window.rise

    for design in ledger.recipe.blades:
        blade = read_blade(design, folder)
        whole, lies = Whole(blade), lying(blade, ledger.last)
        x = np.linspace(-whole.behind, blade.length, _POINTS)
        low, high = whole.edge_y(x) + lies.edge_y, whole.spine_y(x) + lies.edge_y
        ring = [*zip(x + lies.heel_x, low, strict=True), *zip((x + lies.heel_x)[::-1], high[::-1], strict=True)]
        pen.line([at(float(a), float(b)) for a, b in [*ring, ring[0]]], fill=_INK, width=stroke)
        middle = at(
            lies.heel_x + 0.4 * blade.length,
            float(np.mean(whole.edge_y(x[-1:] * 0.4)) + 0.5 * design.heel_height + lies.edge_y),
        )
        write(pen, middle, design.name, 1.1 * size, _INK, "mm")
