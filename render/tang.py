"""The tang, in outline only: it is under the handle and its pattern is nobody's business."""

from __future__ import annotations

from PIL import ImageDraw

from billet.blade import Blade
from render.drawing import FAINT
from render.views import Window

_STUB = 0.020  # drawn behind the heel, then left open [m]


def draw_tang(pen: ImageDraw.ImageDraw, blade: Blade, side: str, window: Window, place: tuple[int, int]) -> None:
    """Draw the first stretch of the tang behind the heel of a face, hanging from the spine."""
    design = blade.design
    length, width, _ = design.tang.size(float(blade.spine_thickness(0.0)))
    behind = min(_STUB, length + (design.bolster.length if design.bolster else 0.0))
    if design.tang.kind == "none" or behind <= 0:
        return
    top = float(blade.spine_y(0.0)) - (0.0 if design.tang.kind in ("full", "tapered") else 0.12 * design.heel_height)
    bottom = max(top - width, float(blade.edge_y(0.0)))
    sign = 1.0 if side == "right" else -1.0

    def at(x: float, y: float) -> tuple[float, float]:
        return place[0] + (sign * x - window.left) / window.pixel, place[1] + (window.top - y) / window.pixel

    stroke = max(1, round(0.00009 / window.pixel))
    for y in (top, bottom):
        pen.line([at(0.0, y), at(-behind, y)], fill=FAINT, width=stroke)
