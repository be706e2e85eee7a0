"""Where the carbon went: the profile through a bar, what contrast is left, the soft skin, and what the cutting edge keeps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Laminar
from billet.bar.carbon_remaining import composition_at, under_faces
from billet.bar.laminate import Laminate
from billet.bar.measure import CLAD, SOFT, hard_faces, jackets, measure
from billet.bar.trace import cell_of, trace
from billet.base.errors import InputError
from billet.base.messages import Amount, Note, hot, note, thin
from billet.base.shop import Shop
from billet.base.units import Kind
from billet.ledger.rows import BarRun, Ledger, Row
from billet.metal.decarburisation import depth_in_profile, surface_carbon
from billet.metal.ferrite_rim import COOLEST_K, HOTTEST_K, ferrite_rim
from billet.metal.partition import STAINLESS_SINK, capped_alloy_factor
from billet.metal.scale import metal_loss
from billet.metal.solve import level_carbon
from billet.metal.sources import Source, sources_of
from billet.metal.substitutional_diffusion import SUBSTITUTIONAL
from billet.steel.library import ELEMENTS

Array = NDArray[np.float64]

_C, _CR, _NI = (ELEMENTS.index(name) for name in ("C", "Cr", "Ni"))
WASHING, WASHED = 0.90, 0.50  # shares of the etching contrast at which the pattern begins to wash out, and is half gone
FUNCTIONAL = 0.70  # wt% carbon under which an edge skin is soft; 90 % of a leaner core
CARBON_EITHER_WAY = 0.03  # wt%
_DEPTH_EITHER_WAY = 0.3  # share of a depth
_NEAR = 0.1e-3  # [m]
_LONG = 300.0  # [s] below 912 C from which on the ferrite under a bare face is worth a word; judgement
_BINDS_CARBON, _NICKEL_METAL = 3.0, 50.0  # wt% chromium and nickel from which on the carbon a layer takes up is a guess


@dataclass(frozen=True)
class Edge:
    """The steel at the blade's mid-plane, where the cutting edge will be: its name, carbon there now and as bought [wt%].

    `layer` is the mean of its whole layer [wt%], `share` how much of the bar (or leaf) that layer is [1].
    """

    steel: str
    carbon: float
    bought: float
    layer: float
    share: float


@dataclass(frozen=True, eq=False)
class CarbonReport:
    """Carbon in a bar after a step.

    height (n,) [m] and carbon, nickel (n,) [wt%] run through the middle of the thickness. skin_92 and skin_50 [m] lie under 92 % and
    half of the mean the metal was bought with, the functional skin (low, likely, high) under 0.70 % (or nine tenths of a leaner mean) from a rich fire to a scaling one.
    washes_out and half_gone are steps, None where the contrast holds. The skins are None under soft jackets, which have none to lose.
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
    sources: tuple[Source, ...]


def report(ledger: Ledger, bar: str | None = None, after: int | None = None) -> CarbonReport:
    """Report on a bar (the last one unless named) after a step (its last unless given). Raises InputError for a bar or step that is not there."""
    run = _run(ledger, bar)
    step = len(run.rows) - 1 if after is None else after
    now = run.after(step)
    m = measure(now)
    height, content = profile(now)
    edge = _at_edge(now, ledger, run)
    ferrite = _ferrite(run.rows[: step + 1], m.soft_skin, m.carbon_had)
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
        _functional(now, m.carbon_had, ledger.recipe.tables.shop.decarb),
        edge,
        washed[0],
        washed[1],
        (
            *_notes(edge, m.carbon),
            *_of_layers(now, m.carbon_had),
            *ferrite,
        ),
        (*_sources(now, ledger.recipe.tables.shop), *(sources_of(ferrite_rim) if ferrite else ())),
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
    thick = lam.thickness[mine]
    mean = float(thick @ lam.composition[mine, _C] / thick.sum())
    steel = lam.steels[lam.steel[cell]]
    return Edge(steel.name, float(lam.composition[cell, _C]), steel.carbon, mean, float(thick.sum() / lam.total))


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


def _functional(bar: Bar, mean: float, decarb: float) -> tuple[float, float, float] | None:
    """Depth under 0.70 % carbon (or nine tenths of a leaner mean) from the worse face [m]; None under jackets.

    Low is a fifth of what a scaling fire does, high what it does and 30 % more; likely is this shop's own.
    """
    level = min(FUNCTIONAL, 0.9 * mean)
    faces = under_faces(bar) if bar.laminate is None else hard_faces(bar.laminate, SOFT * mean)
    if not faces:
        return None
    depth, scaling = (
        min(
            max(depth_in_profile(h, c, _in_this_fire(level, _own(h, c, mean), s)) for h, c in faces),
            0.5 * bar.thickness,
        )
        for s in (1.0, decarb)
    )
    return min(0.2 * scaling, depth), depth, (1.0 + _DEPTH_EITHER_WAY) * scaling


def _own(thickness: Array, carbon: Array, mean: float) -> float:
    """The most carbon [wt%] near a face: within twice its soft skin, and a little more."""
    reach = 2.0 * depth_in_profile(thickness, carbon, SOFT * mean) + _NEAR
    return float(carbon[np.cumsum(thickness) - thickness <= reach].max())


def _in_this_fire(level: float, own: float, decarb: float) -> float:
    """The carbon [wt%] this fire leaves where one that draws the face all the way would leave `level` [wt%].

    What is missing goes with how far the face is drawn; `own` [wt%] is what nothing burnt out of.
    """
    return own - decarb * (own - level) if own > level else level


def _notes(edge: Edge, mean: float) -> tuple[Note, ...]:
    """What a core has given to its jackets, and the most that a shim could save."""
    lost = edge.bought - edge.layer
    if lost <= CARBON_EITHER_WAY or edge.bought <= mean or edge.share < CLAD:
        return ()
    return (
        note(
            "the {steel} core has given {lost} % carbon to its neighbours and the fire ({was} bought, {now} now over its thickness, within {within}); a shim that held all of it back would save that much and no more; put a nickel shim into the stack to see what it keeps",
            steel=edge.steel,
            lost=f"{lost:.2f}",
            was=f"{edge.bought:.2f}",
            now=f"{edge.layer:.2f}",
            within=f"{CARBON_EITHER_WAY:.2f}",
        ),
    )


def _of_layers(bar: Bar, mean: float) -> list[Note]:
    """Jackets, which have no skin to grind off, and layers whose own carbon is a guess."""
    out = []
    if bar.laminate is not None:
        soft = {s.name: s for s in jackets(bar.laminate, SOFT * mean) if s is not None}
        out += [
            note(
                "{steel} outside is a jacket bought with {carbon} % carbon: it is soft by itself, so no soft skin is told under that face",
                steel=s.name,
                carbon=f"{s.carbon:.2f}",
            )
            for s in soft.values()
        ]
    for steel in {s.name: s for leaf in bar.leaves for s in leaf.steels}.values():
        if steel.composition[_CR] > _BINDS_CARBON:
            text = "{steel} binds carbon in its chromium and draws it from the steel beside it for as long as it is hot: what that steel loses is told to a quarter; between two stainless steels less moves than is told"
            out.append(note(text, steel=steel.name))
        elif steel.composition[_NI] > _NICKEL_METAL:
            out.append(note("how little carbon {steel} takes up is known within a factor 1.5", steel=steel.name))
    return out


def _ferrite(rows: tuple[Row, ...], skin: float | None, carbon: float) -> list[Note]:
    """Long heats below 912 C since the last hotter one: a face without carbon turns to ferrite there."""
    cool, squares = 0.0, np.zeros(2)
    for row in rows:
        heat, time = getattr(row.step, "temperature", None), getattr(row.step, "soak", None)
        if heat is None or time is None:
            continue
        if heat >= HOTTEST_K:
            cool, squares = 0.0, np.zeros(2)  # it is austenite again, and takes up carbon from beneath
        elif heat > COOLEST_K:
            one, times = ferrite_rim(heat, time, carbon), getattr(row.step, "heats", 1)
            cool, squares = cool + time * times, squares + times * np.square([one.low, one.high])
    if skin is None or cool < _LONG:
        return []
    low, high = np.sqrt(squares)
    text = "{time} in the fire below {hot} turn a face left bare to soft ferrite {low} to {high} deep, less under a coating or in a rich fire; the soft skin above is told without it: leave that much more to grind"
    return [note(text, time=Amount(cool, Kind.TIME), hot=hot(HOTTEST_K), low=thin(low), high=thin(high))]


def _sources(bar: Bar, shop: Shop) -> tuple[Source, ...]:
    """What stands behind the figures: carbon, the elements in which the steels differ, the faces, the scale."""
    steels = np.array([s.composition for leaf in bar.leaves for s in leaf.steels])
    differ = np.ptp(steels, axis=0) > 0.0
    rows = [row.source for name, row in SUBSTITUTIONAL.items() if differ[ELEMENTS.index(name)]]
    scale = () if shop.scale_per_heat is not None else sources_of(metal_loss)
    sink = (STAINLESS_SINK,) if steels[:, _CR].max() > _BINDS_CARBON else ()
    return tuple(dict.fromkeys((*sink, *sources_of(level_carbon, capped_alloy_factor, surface_carbon), *rows, *scale)))
