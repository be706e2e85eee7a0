"""What a heat does inside a laminate: carbon evens out, nickel blurs, and the open faces lose carbon while scale eats
them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from billet.bar.laminate import Array, Ints, Laminate
from billet.metal.decarburisation import surface_carbon
from billet.metal.mesh import Index, merge, refine
from billet.metal.solve import CARBON_MOVES_ABOVE_K, Boundary, diffusion_lengths
from billet.metal.thin_layers import alloy_factor, carbon_on_blocks, spread
from billet.steel.library import ELEMENTS

_CARBON = ELEMENTS.index("C")
_COOLEST_FACE = 1123.15  # [K] below it the face carbon of 850 C is used: the face is ferrite there and the formula ends
_MIXED, _MANY = (
    3e-6,
    10_000,
)  # layers thinner than this are mixed by the heats [m] (from memory): one cell each where there are many,
_MIXED_ANYWAY = 2e-6  # and from here on down always
_NEAR = 4.0  # diffusion lengths in which a face's own carbon is looked for: beyond what earlier heats burnt out
_COARSE = 1.2  # an alloying element spreads exactly, so its cells may be so much larger than for one that is stepped
_STILL = 1 / 80  # an element stays put while its diffusion length is under this share of the thinnest inner layer
_TRACE = 0.06  # elements in which the steels differ by less than this share of their greatest difference are left where they are
_LEVEL = 0.01  # differences in an alloying element under this share of that between the steels are not followed


def even_out(
    laminate: Laminate, temperature: float, seconds: float, recession: float = 0.0, decarb: float = 0.0
) -> tuple[Laminate, float]:
    """The laminate after a heat, and the mass scale took from both faces over a unit of face [kg/m2].

    temperature [K]; seconds [s]; recession [m] of metal eaten from either face; decarb (0 to 1) is how far the faces
    tend from their own carbon to that under scale: 1 in a scaling fire, little in a rich one or under a coating. With
    neither the faces are sealed and the thickness stays.
    """
    if temperature <= CARBON_MOVES_ABOVE_K or seconds <= 0:
        return laminate.skimmed(recession, recession) if recession > 0 else (laminate, 0.0)
    hold = [(temperature, seconds)]
    lengths = diffusion_lengths(hold)
    fine = _resolved(_without_lost_detail(laminate), lengths, recession, decarb > 0)
    faces = [_face(fine, end, temperature, recession, decarb, float(lengths[_CARBON])) for end in (0, -1)]
    composition = _alloy_spread(fine, lengths)
    composition[:, _CARBON] = carbon_on_blocks(
        fine.thickness, composition, _layer_of_each(fine), hold, faces[0], faces[1]
    )
    after, taken = replace(fine, composition=composition), 0.0
    if recession > 0:
        after, taken = after.skimmed(recession, recession)
    return _joined(after), taken


def _without_lost_detail(laminate: Laminate) -> Laminate:
    """Layers that the heats mix anyway as one cell each, the others as they are."""
    tags = _layer_tags(laminate)
    if tags[-1] - tags[0] + 1 == len(tags) or laminate.total > 4 * _MIXED * laminate.distinct:
        return laminate
    thin = np.bincount(tags, laminate.thickness)[tags] < _mixed(laminate)
    starts = np.flatnonzero(~thin | np.r_[True, tags[1:] != tags[:-1]])
    thickness = np.add.reduceat(laminate.thickness, starts)
    content = np.add.reduceat(laminate.thickness[:, None] * laminate.composition, starts, axis=0)
    return _on(laminate, thickness, content / thickness[:, None], starts)


def _mixed(laminate: Laminate) -> float:
    """Thickness [m] under which layers are not followed inside."""
    return _MIXED if laminate.distinct > _MANY else _MIXED_ANYWAY


def _resolved(laminate: Laminate, lengths: Array, recession: float, open_faces: bool) -> Laminate:
    """The laminate with its cells divided where a profile is steep or about to be."""
    apart = laminate.total > _mixed(laminate) * laminate.distinct
    wanted = np.where(np.arange(len(lengths)) == _CARBON, lengths, _COARSE * lengths * apart)
    if not apart and float(laminate.thickness.max()) < 0.1 * lengths[_CARBON]:
        return laminate
    mesh = refine(
        laminate.thickness,
        laminate.composition,
        _layer_tags(laminate),
        wanted,
        open_faces=(open_faces, open_faces),
        recession=(recession, recession),
    )
    return _on(laminate, mesh.thickness, mesh.composition, mesh.parent)


def _alloy_spread(laminate: Laminate, lengths: Array) -> Array:
    """The composition (n, elements) [wt%] with every alloying element that moves enough to matter spread."""
    inner = laminate.layer_thickness[1:-1] if laminate.distinct > 2 else laminate.layer_thickness
    out, between = np.array(laminate.composition, order="F"), np.ptp([s.composition for s in laminate.steels], axis=0)
    between[_CARBON] = 0.0
    for column in np.flatnonzero((between > 0.0) & (between >= _TRACE * between.max())):
        if lengths[column] > _STILL * float(inner.min()) and np.ptp(out[:, column]) > _LEVEL * between[column]:
            out[:, column] = spread(laminate.thickness, out[:, column], float(lengths[column]))
    return out


def _layer_of_each(laminate: Laminate) -> Array:
    """Thickness of the layer each cell is in (n,) [m]."""
    return np.repeat(laminate.layer_thickness, np.diff(np.append(laminate.starts, len(laminate.thickness))))


def _joined(laminate: Laminate) -> Laminate:
    """The laminate with cells of a plate joined where their contents have become the same."""
    tags = _layer_tags(laminate)
    if tags[-1] - tags[0] + 1 == len(tags):
        return laminate
    flat = merge(laminate.thickness, laminate.composition, tags)
    return _on(laminate, flat.thickness, flat.composition, flat.parent)


def _face(
    laminate: Laminate, end: int, temperature: float, recession: float, decarb: float, length: float
) -> Boundary | None:
    """What an outer face meets in the fire; None where it is sealed. Its own carbon is the most that is found near it,
    as the plain austenite of that activity would hold.
    """
    if decarb <= 0 and recession <= 0:
        return None
    depth = laminate.edges[:-1] - laminate.edges[0] if end == 0 else laminate.edges[-1] - laminate.edges[1:]
    near = laminate.composition[depth <= recession + _NEAR * length]
    own = float((near[:, _CARBON] * alloy_factor(near)).max())
    return Boundary(face_carbon(own, temperature, decarb), recession)


def face_carbon(own: float, temperature: float, decarb: float) -> float:
    """Carbon [wt%] a face with its `own` [wt%] is held at in a fire of a temperature [K]: `decarb` (0 to 1) of the way
    to that under scale.
    """
    under_scale = min(float(surface_carbon(max(temperature, _COOLEST_FACE))), own)
    return own + decarb * (under_scale - own)


def _layer_tags(laminate: Laminate) -> Ints:
    """One number for all cells of a plate, another beyond every joint."""
    new = laminate.joint != 0
    new[1:] |= laminate.steel[1:] != laminate.steel[:-1]
    return np.cumsum(new, dtype=np.int32)


def _on(laminate: Laminate, thickness: Array, composition: Array, parent: Index) -> Laminate:
    """The laminate on other cells, each inside its parent; only the lowest cell of a parent keeps the parent's joint."""
    first = np.r_[True, parent[1:] != parent[:-1]]
    joint = np.where(first, laminate.joint[parent], 0).astype(np.int32)
    return replace(laminate, thickness=thickness, composition=composition, steel=laminate.steel[parent], joint=joint)
