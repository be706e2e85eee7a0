"""The outline of a knife as a file for the laser: SVG or DXF, one closed line in millimetres."""

from __future__ import annotations

from io import StringIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from skimage.measure import approximate_polygon

from billet.base.errors import InputError
from billet.base.safe_files import check_free, write_whole
from billet.blade.geometry import Blade
from billet.blade.handle import Whole

Array = NDArray[np.float64]

_STEP = 1e-4  # along the knife [m]
_TRUE_TO = 0.002e-3  # how far a straight piece may stand off the curve [m]
_AWAY = 1e-9  # either side of a shoulder [m]


def outline_of(blade: Blade) -> Array:
    """The closed outline of a whole knife, tang and bolster included, shape (2, n), last point the first [m]."""
    whole = Whole(blade)
    ends = (-whole.behind, blade.length)
    x = np.linspace(*ends, max(64, int((ends[1] - ends[0]) / _STEP)))
    turns = 0.5 * (1 - np.cos(np.linspace(0, np.pi, 400)))  # close together where a round end stands upright
    marks = [m for m in (*whole.places, 0.0) if ends[0] < m < ends[1]]
    near = [m + s for m in (*marks, *ends) for s in (-_AWAY, 0.0, _AWAY)]
    fine = [end + side * 0.02 * turns for end, side in ((ends[0], 1), (ends[1], -1), (0.0, 1))]
    behind = [marks_at - 0.004 * turns for marks_at in marks]
    every = np.unique(np.concatenate([x, near, *fine, *behind]))
    x = every[(every >= ends[0]) & (every <= ends[1])]
    points = np.concatenate([np.stack([x, whole.edge_y(x)]), np.stack([x, whole.spine_y(x)])[:, ::-1]], axis=1)
    closed = np.concatenate([points, points[:, :1]], axis=1)
    half = len(x)
    sides = [approximate_polygon(part.T, _TRUE_TO).T for part in (closed[:, :half], closed[:, half - 1 :])]
    return np.concatenate([sides[0], sides[1][:, 1:]], axis=1)


def as_svg(outline: Array, title: str) -> str:
    """The outline as SVG at its true size, edge down and tip to the right."""
    mm = outline * 1e3
    low, high = mm.min(axis=1), mm.max(axis=1)
    wide, tall = high - low
    points = " ".join(f"{x - low[0]:.4f},{high[1] - y:.4f}" for x, y in mm[:, :-1].T)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.4f}mm" height="{tall:.4f}mm" '
        f'viewBox="0 0 {wide:.4f} {tall:.4f}">\n<title>{_safe(title)}</title>\n'
        f'<polygon points="{points}" fill="none" stroke="#000" stroke-width="0.1"/>\n</svg>\n'
    )


def as_dxf(outline: Array) -> str:
    """The outline as DXF in millimetres, one closed polyline on the layer OUTLINE; y upwards, the heel at the origin."""
    import ezdxf

    drawing = ezdxf.new("R2010", units=ezdxf.units.MM)
    drawing.layers.add("OUTLINE")
    points = [(float(x), float(y)) for x, y in (outline[:, :-1] * 1e3).T]
    drawing.modelspace().add_lwpolyline(points, close=True, dxfattribs={"layer": "OUTLINE"})
    out = StringIO()
    drawing.write(out)
    return out.getvalue()


def check_outline(path: Path, force: bool) -> None:
    """Refuse a name that is neither SVG nor DXF, or is taken."""
    if path.suffix.lower() not in (".svg", ".dxf"):
        raise InputError(f"--outline: found {path.name}, wanted a name ending in .svg or .dxf")
    check_free(path, force)


def write_outline(path: Path, blade: Blade, title: str, force: bool = False) -> Path:
    """Write the outline, as SVG or DXF by the name's ending."""
    outline = outline_of(blade)
    return write_whole(path, as_svg(outline, title) if path.suffix.lower() == ".svg" else as_dxf(outline), force)


def _safe(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
