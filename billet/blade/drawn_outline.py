"""An outline of one's own from a drawing: the one closed line of an SVG or DXF file, as points."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from billet.base.errors import InputError

Array = NDArray[np.float64]

_PIXEL = 0.0254 / 96  # CSS: 96 pixels to the inch [m]
_FLAT = 2e-5  # how far a chord may lie from its curve [m]
_GAP = 5e-5  # ends of lines closer than this meet [m]
_MOST_POINTS = 20_000


def drawn_points(path: Path) -> Array:
    """Return the points of the closed line of an SVG or DXF drawing, shape (n, 2) [m], y upwards.

    Of several closed lines the longest counts. Raises InputError where there is none, or where the drawing does not
    say its unit.
    """
    if not path.is_file():
        raise InputError(
            f'The outline file "{path.name}" cannot be read; give a drawing (SVG, DXF) or a table of points.'
        )
    kind, lines_of = ("SVG", _svg_lines) if path.suffix.lower() == ".svg" else ("DXF", _dxf_lines)
    try:
        lines = lines_of(path)
    except InputError:
        raise
    except Exception as fault:  # readers of damaged drawings raise whatever their author thought of
        raise InputError(
            f'"{path.name}" is not {"an" if kind == "SVG" else "a"} {kind} drawing that can be read; save it again as plain {kind}.'
        ) from fault
    closed = [line for line in _chained(lines) if len(line) > 3 and np.hypot(*(line[-1] - line[0])) <= _GAP]
    if not closed:
        raise InputError(
            f'"{path.name}": found no closed line; draw the outline of the blade as one closed line, '
            "heel on the left, point on the right, edge down."
        )
    best = max(closed, key=lambda line: float(np.hypot(*np.diff(line, axis=0).T).sum()))
    return best[:: max(1, len(best) // _MOST_POINTS)]


def _svg_lines(path: Path) -> list[Array]:
    """Return every line of an SVG, flattened [m]."""
    from svgelements import SVG, Close, Line, Move, Shape
    from svgelements import Path as Drawn

    text = path.read_text("utf-8", errors="replace")
    head = re.search(r"<svg\b[^>]*>", text, re.S)
    size = head and re.search(r'\bwidth\s*=\s*["\']\s*[\d.]+\s*(mm|cm|in|pt|pc|px|m)\b', head.group(0))
    if not size:
        raise InputError(
            f'"{path.name}": the drawing does not say how large it is; save it with a width and height in millimetres '
            'or inches, such as width="240mm".'
        )
    shapes = [Drawn(e) for e in SVG.parse(str(path), ppi=96).elements() if isinstance(e, Shape)]
    found: list[Array] = []
    for shape in shapes:
        shape.reify()
        line: list[tuple[float, float]] = []
        for piece in shape:
            if isinstance(piece, Move):
                found.append(np.array(line).reshape(-1, 2))
                line = [(piece.end.x, -piece.end.y)]
            elif piece.end is not None:
                straight = isinstance(piece, Line | Close)
                count = 1 if straight else int(np.clip(piece.length(error=1e-3) / 0.5, 8, 2000))
                at = piece.npoint(np.linspace(0, 1, count + 1)[1:])
                line += [(float(p[0]), -float(p[1])) for p in at]
        found.append(np.array(line).reshape(-1, 2))
    return [line * _PIXEL for line in found if len(line) > 1]


def _dxf_lines(path: Path) -> list[Array]:
    """Return every line of a DXF's model space, flattened [m]."""
    from ezdxf import path as paths
    from ezdxf import recover
    from ezdxf.units import InsertUnits, conversion_factor

    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
    document, _ = recover.readfile(str(path))
    unit = document.units
    if unit == 0:
        raise InputError(
            f'"{path.name}": the drawing does not say its unit; set it to millimetres or inches ($INSUNITS) and save again.'
        )
    metres = float(conversion_factor(InsertUnits(unit), InsertUnits.Meters))
    found = []
    for entity in document.modelspace():
        try:
            one = paths.make_path(entity)
        except TypeError:
            continue  # texts, dimensions and the like
        points = [(p.x, p.y) for p in one.flattening(_FLAT / metres)]
        if len(points) > 1:
            found.append(np.array(points) * metres)
    return found


def _chained(lines: list[Array]) -> Iterator[Array]:
    """Join lines whose ends meet; yields chains."""
    left = list(lines)
    while left:
        chain = left.pop(0)
        while np.hypot(*(chain[-1] - chain[0])) > _GAP or len(chain) < 3:
            joined = _next_of(chain, left)
            if joined is None:
                break
            chain = joined
        yield chain


def _next_of(chain: Array, left: list[Array]) -> Array | None:
    """Return the chain carried on by the line that begins or ends at its end, taken out of `left`."""
    for k, line in enumerate(left):
        for other in (line, line[::-1]):
            if np.hypot(*(other[0] - chain[-1])) <= _GAP:
                del left[k]
                return np.concatenate([chain, other[1:]])
    return None
