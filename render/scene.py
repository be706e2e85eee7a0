"""Make a scene ready to paint: survey how a view cuts the layers, and choose the table and the precision from that."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.trace import slope, trace
from render.etch import MIXED_BELOW, Look, cell_reflectance
from render.field import Scene
from render.pale import Pale, pale_of
from render.surface import Surface
from render.table import MOST_CELLS, PER_FOOTPRINT, Table, build
from render.views import View, Window

Array = NDArray[np.float64]

_SURVEY = 28  # places looked at each way
_SMALL = 2.0  # percentile that counts as the smallest footprint
_LEVEL = 1e-3  # footprints under this share of the usual are those of a face level with its layers
_COARSER = 3.0  # cells of the table of a picture that follows the hand, over the usual
_STEPS_IN_PIXEL = 128  # single precision must know a place to this part of a pixel
_SINGLE = 2.0**-24  # relative rounding of single precision


@dataclass(frozen=True, eq=False)
class Survey:
    """How a view cuts the layers: the smallest stretch of leaf height a pixel sees [m], and how much thinner layers are
    in the leaf's frame than in the bar.

    thinning[k]: thickness in the leaf over thickness in the bar [-], 1 where leaf k was not met.
    """

    footprint: float
    thinning: Array


def survey(bar: Bar, surface: Surface) -> Survey:
    """Look at a few hundred pixels of a surface."""
    row = (np.arange(_SURVEY) + 0.37) * surface.rows / _SURVEY
    col = (np.arange(_SURVEY) + 0.37) * surface.cols / _SURVEY
    r, c = (a.ravel() for a in np.meshgrid(row, col, indexing="ij"))
    here, right, below = (trace(bar.material, *surface.points(r + i, c + j)) for i, j in ((0, 0), (0, 1), (1, 0)))
    across, down = (np.broadcast_to(other.z - here.z, r.shape) for other in (right, below))
    same = np.broadcast_to((np.asarray(right.key) == here.key) & (np.asarray(below.key) == here.key), r.shape)
    seen = np.hypot(across, down)[same]
    seen = seen[seen > 0]
    at = np.stack([np.broadcast_to(a, r.shape) for a in surface.points(r, c)])[:, :: max(1, len(r) // 100)].astype(
        float
    )
    traced = slope(bar.material, at)
    steep = np.linalg.norm(traced.gradient, axis=0)
    thinning = [
        float(np.median(steep[traced.leaf == k])) if np.any(traced.leaf == k) else 1.0 for k in range(len(bar.leaves))
    ]
    cutting = (
        seen[seen > _LEVEL * np.median(seen)] if len(seen) else seen
    )  # where a face runs level with the layers nothing changes
    return Survey(float(np.percentile(cutting, _SMALL)) if len(cutting) else 0.0, np.array(thinning))


def needs_double(bar: Bar, window: Window, footprint: float) -> bool:
    """Tell whether single precision is too coarse for a window: for places along the bar, or heights in its layers."""
    place = 0.5 * max(bar.length, bar.width) * _SINGLE
    thickest = max(leaf.total for leaf in bar.leaves)
    return place * _STEPS_IN_PIXEL > window.pixel or thickest * PER_FOOTPRINT > 4 * MOST_CELLS * max(footprint, 1e-12)


@dataclass(frozen=True, eq=False)
class Ready:
    """What pictures of one bar share while the blade in it moves: table and pale welds of an etch, for a pixel size."""

    table: Table
    pale: Pale | None
    exact: bool


def ready(bar: Bar, look: Look, first: View, window: Window, *, quick: bool = False) -> Ready:
    """Survey a view (in double precision) and build what its pictures look up; quick ones take a coarser table, that is
    sooner at hand.
    """
    found = survey(bar, first.surface)
    exact = found.footprint > 0 and needs_double(bar, window, found.footprint)
    footprint = found.footprint * (_COARSER if quick else 1.0)
    table = build(bar.leaves, _brightness(bar, look), footprint, mix_below=MIXED_BELOW * found.thinning, exact=exact)
    return Ready(table, pale_of(bar, look), exact)


def prepare(
    bar: Bar, look: Look, view: Callable[[type[np.floating]], View], window: Window, kept: Ready | None = None,
    *, quick: bool = False,
) -> tuple[View, Scene]:  # fmt: skip
    """Return a view and its scene, in double precision where the window needs it; `view` builds the view in a
    precision, `kept` is what an earlier picture of this bar and etch left.
    """
    if kept is None:
        first = view(np.float64)
        kept = ready(bar, look, first, window)
        chosen = first if kept.exact else view(np.float32)
    else:
        chosen = view(np.float64 if kept.exact else np.float32)
    return chosen, Scene(bar.material, chosen.surface, kept.table, chosen.region, kept.pale, quick)


def _brightness(bar: Bar, look: Look) -> list[Array]:
    """Brightness of the cells of every leaf, each laminate reckoned once."""
    once: dict[int, Array] = {}
    for leaf in bar.leaves:
        if id(leaf) not in once:
            once[id(leaf)] = cell_reflectance(leaf, look)
    return [once[id(leaf)] for leaf in bar.leaves]
