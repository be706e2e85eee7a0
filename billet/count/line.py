"""The line that is measured in a picture, and the band of picture around it turned so that the line runs down its
middle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from billet.base.errors import InputError

Array = NDArray[np.float64]
LEAST_BAND_PX = 18.0
END_BAND_PX = 48.0


@dataclass(frozen=True)
class Line:
    """A line from (x1, y1) to (x2, y2) [px], x to the right and y down from the middle of the first pixel; width [px]
    of the band averaged around it, None for a fifth of its length (24 to 240 px, less at the rim of the picture).
    """

    x1: float
    y1: float
    x2: float
    y2: float
    width: float | None = None

    @property
    def length(self) -> float:
        """Length [px]."""
        return float(np.hypot(self.x2 - self.x1, self.y2 - self.y1))

    @property
    def unit(self) -> tuple[float, float]:
        """Unit vector (x, y) from the first point to the second."""
        return (self.x2 - self.x1) / self.length, (self.y2 - self.y1) / self.length

    def at(self, distance: Array | float) -> tuple[Array, Array]:
        """Points (x, y) [px] at the given distances [px] from the first point."""
        ux, uy = self.unit
        return np.asarray(self.x1 + ux * distance), np.asarray(self.y1 + uy * distance)

    def within(self, shape: tuple[int, ...]) -> Line:
        """The part of the line that lies inside a picture (h, w); the line itself when none does."""
        low, high = 0.0, self.length
        for start, go, size in ((self.x1, self.unit[0], shape[1]), (self.y1, self.unit[1], shape[0])):
            if abs(go) > 1e-12:
                ends = sorted((-start / go, (size - 1 - start) / go))
                low, high = max(low, ends[0]), min(high, ends[1])
        if not high > low:
            return self
        (x1, x2), (y1, y2) = (
            np.clip(c, 0, n - 1) for c, n in zip(self.at(np.array([low, high])), shape[::-1], strict=True)
        )
        return Line(float(x1), float(y1), float(x2), float(y2), self.width)

    def layer_angle(self, slope: float) -> float:
        """Angle [rad] in (-pi/2, pi/2], from the picture's rows toward its foot, of layers that step by slope along the
        line per pixel across it.
        """
        ux, uy = self.unit
        angle = np.arctan2(-ux + slope * uy, uy + slope * ux)
        return float(np.pi / 2 - (np.pi / 2 - angle) % np.pi)

    def band_angle(self, angle: float) -> float:
        """Angle [rad] in (-pi/2, pi/2] inside the band of layers that stand at the given angle in the picture."""
        (ux, uy), x, y = self.unit, np.cos(angle), np.sin(angle)
        inside = np.arctan2(x * ux + y * uy, x * uy - y * ux)
        return float(np.pi / 2 - (np.pi / 2 - inside) % np.pi)


def middle_line(shape: tuple[int, ...], layer_angle: float) -> Line:
    """The middle column of a picture (h, w) whose layers lie nearer level than upright, else its middle row; the band
    is the whole picture.
    """
    h, w = shape
    if abs(layer_angle) <= np.pi / 4:
        return Line((w - 1) / 2, 0.0, (w - 1) / 2, h - 1.0, float(w))
    return Line(0.0, (h - 1) / 2, w - 1.0, (h - 1) / 2, float(h))


def band(image: Array, line: Line) -> Array:
    """The band (n, width) of the picture (h, w) around the line: rows run along it at most a pixel apart, columns
    across it to its left.

    A whole-picture band is the picture itself or its quarter turn, not resampled. InputError when an end lies outside
    the picture or the band would be too narrow or too short to measure.
    """
    h, w = image.shape
    if line == middle_line(image.shape, 0.0):
        return image
    if line == middle_line(image.shape, np.pi / 2):
        return np.ascontiguousarray(image.T[:, ::-1])
    check_inside(line, image.shape)
    width = int(_room(line, h, w))
    along = np.linspace(0, line.length, int(np.ceil(line.length)) + 1)[:, None]
    across = (np.arange(width) - (width - 1) / 2)[None]
    (x, y), (ux, uy) = line.at(along), line.unit
    return np.asarray(
        map_coordinates(image, [y - ux * across, x + uy * across], order=1, mode="nearest"), dtype=np.float64
    )


def check_inside(line: Line, shape: tuple[int, ...]) -> None:
    """InputError when an end of the line lies outside the picture (h, w) or the line is too short to measure."""
    h, w = shape
    inside = [0 <= x <= w - 1 for x in (line.x1, line.x2)] + [0 <= y <= h - 1 for y in (line.y1, line.y2)]
    if not all(inside):
        raise InputError(
            f"The line leaves the picture, which is {w} pixels wide and {h} high; both its ends must lie inside."
        )
    if line.length < 24:
        raise InputError(f"The line is {line.length:.0f} pixels long; at least 24 are wanted.")


def _room(line: Line, h: int, w: int) -> float:
    """Width [px] of the band that is wanted, cut down to what fits in the picture (h, w) on both sides of the line.

    A line that ends on the picture's rim keeps END_BAND_PX; the corners of its band repeat the rim.
    """
    wanted = float(np.clip(line.length / 5, 24, 240)) if line.width is None else line.width
    ux, uy = np.abs(line.unit)
    beside = min(min(x, w - 1 - x) for x in (line.x1, line.x2)) / max(uy, 1e-9)
    above = min(min(y, h - 1 - y) for y in (line.y1, line.y2)) / max(ux, 1e-9)
    sides, ends = (beside, above) if uy >= ux else (above, beside)
    width = min(wanted, 2 * sides + 1, max(2 * ends + 1, END_BAND_PX))
    if width < LEAST_BAND_PX:
        raise InputError(
            f"Only a band of {width:.0f} pixels lies around the line; at least {LEAST_BAND_PX:.0f} are wanted: give"
            " a wider"
            " one, or move the line away from the picture's rim."
        )
    return width
