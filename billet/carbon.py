"""Where the carbon went: the profile through a bar, what contrast is left, the soft skin, and what the cutting edge keeps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar import Bar, Laminar
from billet.carbon_left import composition_at, under_faces
from billet.errors import InputError
from billet.laminate import Laminate
from billet.ledger import BarRun, Ledger
from billet.measure import measure
from billet.metal.decarburisation import depth_in_profile
from billet.notes import Note, note
from billet.steels import ELEMENTS
from billet.trace import cell_of, trace

Array = NDArray[np.float64]

_C, _NI = ELEMENTS.index("C"), ELEMENTS.index("Ni")
WASHING, WASHED = 0.90, 0.50  # shares of the etching contrast at which the pattern begins to wash out, and is half gone
FUNCTIONAL = 0.70  # wt% carbon under which an edge skin is soft; 90 % of a leaner core
CARBON_EITHER_WAY = 0.03  # wt%


@dataclass(frozen=True)
class Edge:
    """The steel at the blade's mid-plane, where the cutting edge will be: its name, carbon now and as bought [wt%]."""

    steel: str
    carbon: float
    bought: float


@dataclass(frozen=True, eq=False)
class CarbonReport:
    """Carbon in a bar after a step.

    height (n,) [m] and carbon, nickel (n,) [wt%] run through the middle of the thickness. skin_92 and skin_50 [m] lie under 92 % and
    half of the mean, the functional skin (low, likely, high) under 0.70 % (or nine tenths of a leaner mean) from a rich fire to a scaling one.
    washes_out and half_gone are steps, None where the contrast holds.
    """

    step: int
    height: Array
    carbon: Array
    nickel: Array
    mean: float
    carbon_contrast: float | None
    alloy_contrast: float | None
    skin_92: float | None
    skin_50: float | None
    functional_skin: tuple[float, float, float] | None
    edge: Edge
    washes_out: int | None
    half_gone: int | None
    notes: tuple[Note, ...]


def report(ledger: Ledger, bar: str | None = None, after: int | None = None) -> CarbonReport:
    """Report on a bar (the last one unless named) after a step (its last unless given). Raises InputError for a bar or step that is not there."""
    run = _run(ledger, bar)
    step = len(run.rows) - 1 if after is None else after
    now = run.after(step)
    m = measure(now)
    height, content = profile(now)
    edge = _at_edge(now, ledger, run)
    washed = [_first(run, step, share) for share in (WASHING, WASHED)]
    return CarbonReport(
        step,
        height,
        content[:, _C],
        content[:, _NI],
        m.carbon,
        m.carbon_contrast,
        m.alloy_contrast,
        m.soft_skin,
        m.half_carbon,
        _functional(now, m.carbon),
        edge,
        washed[0],
        washed[1],
        _notes(edge, m.carbon),
    )


def _run(ledger: Ledger, name: str | None) -> BarRun:
    if name is None:
        return ledger.bars[-1]
    for run in ledger.bars:
        if run.name == name:
            return run
    raise InputError(
        f'--bar: there is no bar "{name}" in this recipe; there are {", ".join(r.name for r in ledger.bars)}'
    )


def profile(bar: Bar, samples: int = 4000) -> tuple[Array, Array]:
    """Heights (n,) [m] and composition (n, elements) [wt%] on the upright through the middle of a bar."""
    if bar.laminate is not None:
        lam = bar.laminate
        return np.repeat(lam.edges, 2)[1:-1], np.repeat(lam.composition, 2, axis=0)
    z = np.linspace(-0.5, 0.5, samples) * bar.thickness * (1 - 1e-9)
    return z, composition_at(bar, np.stack([np.zeros(samples), np.zeros(samples), z]))


def _at_edge(bar: Bar, ledger: Ledger, run: BarRun) -> Edge:
    """The steel at the blade's mid-plane; where layers are fine, one among them."""
    design = ledger.recipe.tables.blade
    height = design.offset if design is not None and run is ledger.bars[-1] else 0.0
    lam = _leaf_at(bar, height)
    z = (
        float(np.clip(height, lam.edges[0], lam.edges[-1]))
        if isinstance(bar.material, Laminar)
        else float(np.ravel(trace(bar.material, np.zeros(1), np.zeros(1), np.array([height])).z)[0])
    )
    cell = int(cell_of(lam, np.array([z]))[0])
    layer = np.searchsorted(lam.starts, cell, side="right") - 1
    ends = np.append(lam.starts, len(lam.thickness))
    mine = slice(int(ends[layer]), int(ends[layer + 1]))
    carbon = float(lam.thickness[mine] @ lam.composition[mine, _C] / lam.thickness[mine].sum())
    steel = lam.steels[lam.steel[cell]]
    return Edge(steel.name, carbon, steel.carbon)


def _leaf_at(bar: Bar, height: float) -> Laminate:
    sample = trace(bar.material, np.zeros(1), np.zeros(1), np.array([height]))
    return bar.leaves[int(np.ravel(sample.leaf)[0])]


def _first(run: BarRun, last: int, share: float) -> int | None:
    """First step up to `last` after which less than a share of the etching contrast is left."""
    for row in run.rows[: last + 1]:
        contrast = row.measures.alloy_contrast
        if contrast is not None and contrast < share:
            return row.number
    return None


def _functional(bar: Bar, mean: float) -> tuple[float, float, float]:
    """Depth under 0.70 % carbon (or nine tenths of a leaner mean) from the worse face [m]: a fifth of it in a rich or coated fire, all in a scaling one."""
    level = min(FUNCTIONAL, 0.9 * mean)
    faces = under_faces(bar)
    if bar.laminate is not None:
        lam, carbon = bar.laminate, bar.laminate.composition[:, _C]
        faces = [(lam.thickness, carbon), (lam.thickness[::-1], carbon[::-1])]
    depth = min(max(depth_in_profile(h, c, level) for h, c in faces), 0.5 * bar.thickness)
    return 0.2 * depth, depth, 1.3 * depth


def _notes(edge: Edge, mean: float) -> tuple[Note, ...]:
    lost = edge.bought - edge.carbon
    if lost <= CARBON_EITHER_WAY or edge.bought <= mean:
        return ()
    return (
        note(
            "the {steel} at the edge has given {lost} % carbon to its neighbours ({was} bought, {now} now); a shim that held carbon back entirely would save that much and no more",
            steel=edge.steel,
            lost=f"{lost:.2f}",
            was=f"{edge.bought:.2f}",
            now=f"{edge.carbon:.2f}",
        ),
    )
