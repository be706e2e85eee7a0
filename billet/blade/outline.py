"""The outline of a blade: where the edge and the spine run.

The blade's own frame: x = 0 at the heel and x = length at the point; y = 0 at the edge line at the heel, y grows
towards the spine. An outline is two curves over x, the edge below and the spine above.
"""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.base.errors import InputError
from billet.base.hermite import through
from billet.base.safe_files import small_text
from billet.base.table_text import table_rows
from billet.base.units import Kind, read
from billet.blade.shapes import SHAPES, Points

Array = NDArray[np.float64]

_SAMPLES = 8193  # a 240 mm curve is then known to about 10 nm between samples


@lru_cache(maxsize=64)
def _table(points: Points, curve: str) -> tuple[Array, Array]:
    """Return dense samples (x, y) along a curve given by its points [m]."""
    xy = np.asarray(points, dtype=float)
    if curve == "bezier":
        pieces = (len(xy) - 1) // 3
        at = np.linspace(0, pieces, _SAMPLES)
        k = np.minimum(at.astype(np.intp), pieces - 1)
        t = (at - k)[:, None]
        a, b, c, d = (xy[3 * k + i] for i in range(4))
        sampled = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d
        return sampled[:, 0], sampled[:, 1]
    x = np.linspace(xy[0, 0], xy[-1, 0], _SAMPLES)
    x = np.union1d(x, xy[:, 0])
    return x, through(xy[:, 0], xy[:, 1])(x)


_ROUNDING = 1e-12  # [m]


@dataclass(frozen=True)
class Outline:
    """An edge curve and a spine curve over x, both from heel to point, in the blade's own frame [m].

    ``curve`` says how the points are joined: ``"bezier"`` takes them as control points of chained cubics,
    ``"through"`` runs a smooth curve without overshoot through them. ``heel_radius`` rounds the corner of edge and
    heel [m].
    """

    edge: Points
    spine: Points
    curve: Literal["bezier", "through"] = "bezier"
    heel_radius: float = 0.0

    @property
    def length(self) -> float:
        """Return the length from the heel to the point [m]."""
        return self.edge[-1][0]

    @property
    def height(self) -> float:
        """Return the greatest height between edge and spine at one station [m]."""
        x = np.linspace(0.0, self.length, 1025)
        return float(np.max(self.spine_y(x) - self.edge_y(x)))

    def edge_y(self, x: ArrayLike) -> Array:
        """Return where the edge runs at x [m]; beyond heel and point the last value is held."""
        x = np.asarray(x, dtype=float)
        y = np.asarray(np.interp(x, *_table(self.edge, self.curve)), dtype=np.float64)
        if self.heel_radius <= 0:
            return y
        short = np.clip(self.heel_radius - x, 0.0, self.heel_radius)
        round_corner = self.heel_radius - np.sqrt(self.heel_radius**2 - short**2)
        return np.where(short > 0, y + round_corner, y)

    def spine_y(self, x: ArrayLike) -> Array:
        """Return where the spine runs at x [m]; beyond heel and point the last value is held."""
        return np.asarray(np.interp(np.asarray(x, dtype=float), *_table(self.spine, self.curve)), dtype=np.float64)

    def inside(self, x: ArrayLike, y: ArrayLike) -> NDArray[np.bool_]:
        """Tell which points lie in the outline, its border included (to a picometre, which is rounding)."""
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        ends = (x >= -_ROUNDING) & (x <= self.length + _ROUNDING)
        return ends & (y >= self.edge_y(x) - _ROUNDING) & (y <= self.spine_y(x) + _ROUNDING)

    def polygon(self, n: int = 400) -> Array:
        """Return the closed outline as points of shape (2, 2n + 1), along the edge and back along the spine [m].

        Stations crowd towards heel and point, where the curves turn; the first point is repeated at the end.
        """
        x = 0.5 * self.length * (1 - np.cos(np.linspace(0, np.pi, n)))
        there, back = np.stack([x, self.edge_y(x)]), np.stack([x, self.spine_y(x)])[:, ::-1]
        return np.concatenate([there, back, there[:, :1]], axis=1)


def shaped(shape: str, length: float, heel_height: float) -> Outline:
    """Return the outline of a named shape for a length and heel height [m]."""
    edge, spine = (tuple((x * length, y * heel_height) for x, y in curve) for curve in SHAPES[shape])
    return Outline(edge, spine)


def read_points(path: Path) -> Outline:
    """Read an outline from a drawing (SVG, DXF) or from a file of points with the columns x and y, units in the header,
    such as ``x mm,y mm``.

    The points walk once round the blade in either sense; x grows from heel to point. The result starts at the heel
    with the edge at y = 0. Raises InputError with the line at fault.
    """
    if not path.exists():
        raise InputError(
            f'The outline file "{path.name}" is not there; give the name of a drawing (SVG, DXF) or a table of points.'
        )
    if path.suffix.lower() in (".svg", ".dxf"):
        from billet.blade.drawn_outline import drawn_points

        return outline_through(drawn_points(path), path.name)
    try:
        text = small_text(path)
    except (OSError, UnicodeDecodeError) as fault:
        raise InputError(
            f'The outline file "{path.name}" cannot be read; give a text file with the columns "x mm" and "y mm".'
        ) from fault
    return outline_through(_rows(text, path.name), path.name)


def _rows(text: str, name: str) -> Array:
    """Return the points of a points file, shape (n, 2) [m]."""
    rows = [(n, row) for n, row in table_rows(text) if any(cell.strip() for cell in row)]
    if not rows:
        raise InputError(f'The outline file "{name}" is empty; its first line should be "x mm,y mm".')
    scales = _header(rows[0][1], name)
    return np.array([_point(row, scales, name, line) for line, row in rows[1:]]).reshape(-1, 2)


def _header(cells: list[str], name: str) -> dict[str, tuple[int, float]]:
    """Return for x and y the column and the size of its unit [m]."""
    found: dict[str, tuple[int, float]] = {}
    for column, cell in enumerate(cells):
        axis, _, unit = cell.strip().partition(" ")
        if axis in ("x", "y") and unit.strip():
            try:
                found[axis] = column, float(read(f"1 {unit.strip()}", Kind.LENGTH))
            except InputError as fault:
                raise InputError(
                    f'"{name}" line 1: "{cell.strip()}" does not end in a unit of length; write "{axis} mm".'
                ) from fault
    if len(found) < 2:
        heading = ",".join(cells).strip()[:60]
        raise InputError(f'"{name}" line 1: found the header "{heading}"; it should be "x mm,y mm", with units.')
    return found


def _point(row: list[str], scales: dict[str, tuple[int, float]], name: str, line: int) -> tuple[float, float]:
    """Return one point [m]."""
    try:
        x, y = (float(row[column]) * size for column, size in (scales["x"], scales["y"]))
    except (ValueError, IndexError) as fault:
        found = ",".join(row)
        raise InputError(f'"{name}" line {line}: "{found}" should be two plain numbers, such as "12.5,48".') from fault
    if not np.isfinite([x, y]).all():
        raise InputError(f'"{name}" line {line}: found "{",".join(row)}", wanted two plain numbers, such as "12.5,48".')
    return x, y


def outline_through(points: Array, name: str = "points") -> Outline:
    """Return the outline through points that walk once round the blade, shape (n, 2) [m].

    Raises InputError when there are fewer than four, or when edge or spine runs back on itself.
    """
    points = points[np.append(True, np.any(np.diff(points, axis=0) != 0, axis=1))] if len(points) else points
    if len(points) > 1 and np.array_equal(points[0], points[-1]):
        points = points[:-1]
    if len(points) < 4:
        raise InputError(f'The outline "{name}" has {len(points)} different points; at least four are needed.')
    x, y = points.T
    if np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) < 0:
        points = points[::-1]
    points = points - [points[:, 0].min(), 0.0]
    edge, spine = _chain(points, name, "edge"), _chain(points[::-1], name, "spine")
    foot = edge[edge[:, 0] <= edge[-1, 0] / 3, 1].min()
    below, above = (tuple((float(x), float(y - foot)) for x, y in chain) for chain in (edge, spine))
    outline = Outline(below, above, "through")
    x = np.linspace(0, outline.length, 257)[1:-1]
    if np.any(outline.spine_y(x) <= outline.edge_y(x)):
        raise InputError(f'The outline "{name}" crosses itself; walk once round the blade, point after point.')
    return outline


def _chain(points: Array, name: str, which: str) -> Array:
    """Return the run of a closed walk from the heel to the point, on the side it reaches first."""
    x = points[:, 0]
    count, tolerance = len(x), 1e-9
    ends = np.flatnonzero(x <= x.min() + tolerance)
    start = next(int(k) for k in ends if x[(k + 1) % count] > x.min() + tolerance)
    walk = np.roll(points, -start, axis=0)
    stop = int(np.flatnonzero(walk[:, 0] >= x.max() - tolerance)[0])
    chain = walk[: stop + 1]
    if np.any(np.diff(chain[:, 0]) <= 0):
        at = float(chain[int(np.argmin(np.diff(chain[:, 0]))), 0]) * 1e3
        raise InputError(
            f'The {which} of the outline "{name}" runs back on itself {at:.1f} mm from the heel; '
            "x must grow from heel to point along the edge and along the spine, the points in order."
        )
    return chain
