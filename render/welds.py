"""Weld planes drawn over a picture: thin lines where each reaches the surface, bold where a restack or a join was
welded.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.ndimage import minimum_filter

from billet.bar.trace import seams
from billet.ledger.rows import MARKS, Ledger
from render.drawing import write
from render.panel import Panel, Subject

Array = NDArray[np.float64]

_THIN, _BOLD = 0.9, 2.4  # widths of the lines [pixels at 2400]
_INKS = ((206, 92, 40), (44, 110, 150), (150, 120, 20), (110, 70, 140), (60, 120, 70), (170, 60, 90))
_STACK_INK = (214, 160, 60)
_BLOCK = 200_000  # pixels at a time
_NEAR = 3.0  # pixels from a plane within which all corners of a crossed pixel lie


def draw_welds(
    image: Image.Image,
    ledger: Ledger,
    subject: Subject,
    panels: Sequence[Panel],
    places: Sequence[tuple[int, int]],
    size: float,
) -> None:
    """Draw the welds over all panels of a picture and name them below the last one."""
    found: dict[int, bool] = {}
    pixels = np.array(image)
    for panel, place in zip(panels, places, strict=True):
        for step, cover in weld_cover(subject, panel, ledger).items():
            bold = between_pieces(ledger, step)
            found[step] = bold
            _blend(pixels, cover, place, _ink(ledger, step, list(found)))
    image.paste(Image.fromarray(pixels))
    _name(image, ledger, list(found), size)


def _ink(ledger: Ledger, step: int, order: list[int]) -> tuple[int, int, int]:
    """Every restack or join has its own colour, all other welds share one."""
    bold = [s for s in order if between_pieces(ledger, s)]
    return _INKS[bold.index(step) % len(_INKS)] if step in bold else _STACK_INK


def between_pieces(ledger: Ledger, step: int) -> bool:
    """Tell whether a weld's planes lie between pieces of a restack or a join, and not between the plates of a first
    stack.
    """
    run = ledger.bars[step // MARKS]
    before = run.rows[: step % MARKS + 1]
    laid = [row.do for row in before if row.step is None or row.step.lays_up]
    return laid[-1] != "stack"


def weld_cover(subject: Subject, panel: Panel, ledger: Ledger) -> dict[int, NDArray[np.float32]]:
    """Return for every welding step how much of each pixel its lines cover (rows, columns)."""
    surface, window = panel.scene.surface, panel.window
    out: dict[int, NDArray[np.float32]] = {}
    scale = max(1.0, window.cols / 2400)
    step_rows = max(2, _BLOCK // window.cols)
    for top in range(0, window.rows, step_rows):
        rows = slice(top, min(top + step_rows, window.rows))
        grid = surface.grid(rows, slice(0, window.cols))
        shape = (rows.stop - rows.start + 1, window.cols + 1)
        points = np.stack([np.broadcast_to(a, shape).ravel() for a in grid]).astype(float)
        for seam in seams(subject.bar.material, points):
            wide = (_BOLD if between_pieces(ledger, seam.step) else _THIN) * scale
            cover = _cover(seam.distance.reshape(shape), wide)
            out.setdefault(seam.step, np.zeros((window.rows, window.cols), np.float32))[rows] = cover
    alpha = panel.view.region.whole(window.rows, window.cols)
    return {step: cover * alpha for step, cover in out.items() if np.any(cover > 0)}


def _cover(distance: Array, wide: float) -> NDArray[np.float32]:
    """Share of each pixel that a line of a width [pixels] along distance zero covers.

    Half way between two planes the signed distance jumps from one to the other; the slope there is not the seam's, so
    the smallest of the neighbouring slopes is taken, and corners far from zero on both sides do not make a crossing.
    """
    corners = np.stack([distance[1:, 1:], distance[1:, :-1], distance[:-1, 1:], distance[:-1, :-1]])
    steps = (minimum_filter(np.abs(corners[0] - corners[k]), 3, mode="nearest") for k in (1, 2))
    size = np.abs(corners)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = np.hypot(*steps)
        near = size.max(axis=0) < _NEAR * slope
        off = np.where(near, np.abs(corners.mean(axis=0)), size.min(axis=0)) / slope
    return np.nan_to_num(np.clip(0.5 * wide + 0.5 - off, 0, 1)).astype(np.float32)


def _blend(
    pixels: NDArray[np.uint8], cover: NDArray[np.float32], place: tuple[int, int], ink: tuple[int, int, int]
) -> None:
    """Lay one weld's lines over the picture."""
    rows, cols = np.nonzero(cover > 0.02)
    share = cover[rows, cols][:, None]
    at = (rows + place[1], cols + place[0])
    pixels[at] = np.round(pixels[at] * (1 - share) + np.array(ink) * share).astype(np.uint8)


def _name(image: Image.Image, ledger: Ledger, steps: list[int], size: float) -> None:
    """A key to the lines in the lower right corner."""
    pen = ImageDraw.Draw(image)
    y, x = image.height - 1.4 * size, image.width * 0.965
    for step in reversed(steps):
        words = "weld of " + ledger.title(step)
        x -= write(pen, (x, y), words, 0.85 * size, (96, 96, 96), "rm") + 0.6 * size
        pen.line(
            [(x - 2 * size, y), (x, y)], fill=_ink(ledger, step, steps), width=3 if between_pieces(ledger, step) else 1
        )
        x -= 3.2 * size
