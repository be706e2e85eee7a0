"""What a heat does inside a laminate: carbon evens out, nickel blurs, and the open faces lose carbon while scale eats them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from billet.laminate import Ints, Laminate
from billet.metal.decarburisation import surface_carbon
from billet.metal.mesh import merge, refine
from billet.metal.thin_layers import diffuse_thin
from billet.metal.solve import CARBON_MOVES_ABOVE_K, Boundary, diffuse, diffusion_lengths
from billet.steels import ELEMENTS

_CARBON = ELEMENTS.index("C")
_COOLEST_FACE = 1123.15  # [K] below it the face carbon of 850 C is used: the face is ferrite there and the formula ends
_MANY, _VERY_MANY = 3000, 20_000  # layers from which thin ones, and all, are no longer resolved one by one
_FLAT = 2e-3  # cells whose contents lie this close [wt%] become one


def even_out(laminate: Laminate, temperature: float, seconds: float, recession: float, decarb: float) -> tuple[Laminate, float]:
    """The laminate after a heat, and the mass scale took from both faces over a unit of face [kg/m2].

    temperature [K]; seconds [s]; recession [m] of metal eaten from either face; decarb (0 to 1) is how far the faces tend
    from their own carbon to that under scale: 1 in a scaling fire, little in a rich one or under a coating.
    """
    if temperature <= CARBON_MOVES_ABOVE_K or seconds <= 0:
        return laminate.skimmed(recession, recession)
    hold = [(temperature, seconds)]
    lengths = diffusion_lengths(hold)
    if _too_thin_to_resolve(laminate, lengths[_CARBON]):
        ends = [_face(laminate, end, temperature, recession, decarb) for end in (0, -1)]
        composition = diffuse_thin(laminate.thickness, laminate.composition, hold, ends[0], ends[1])
        return replace(laminate, composition=composition).skimmed(recession, recession)
    open_faces = decarb > 0
    mesh = refine(
        laminate.thickness, laminate.composition, _layer_tags(laminate), lengths,
        open_faces=(open_faces, open_faces), recession=(recession, recession),
    )
    fine = _on(laminate, mesh.thickness, mesh.composition, mesh.parent)
    faces = [_face(fine, end, temperature, recession, decarb) for end in (0, -1)]
    after = diffuse(fine.thickness, fine.composition, hold, left=faces[0], right=faces[1])
    taken = float((fine.thickness - after.thickness) @ fine.density)
    flat = merge(after.thickness, after.composition, _layer_tags(fine), _FLAT)
    return _on(fine, flat.thickness, flat.composition, flat.parent), taken


def _too_thin_to_resolve(laminate: Laminate, carbon_length: float) -> bool:
    """Whether carbon is level from layer to layer after the hold anyway [m]."""
    layers = laminate.distinct
    return layers > _VERY_MANY or (layers > _MANY and laminate.total / layers < carbon_length / 4)


def _face(laminate: Laminate, end: int, temperature: float, recession: float, decarb: float) -> Boundary:
    """What an outer face meets in the fire."""
    own = float(laminate.composition[end, _CARBON])
    under_scale = min(float(surface_carbon(max(temperature, _COOLEST_FACE))), own)
    return Boundary(own + decarb * (under_scale - own), recession)


def _layer_tags(laminate: Laminate) -> Ints:
    """One number for all cells of a plate, another beyond every joint."""
    new = laminate.joint != 0
    new[1:] |= laminate.steel[1:] != laminate.steel[:-1]
    return np.cumsum(new, dtype=np.int32)


def _on(laminate: Laminate, thickness: np.ndarray, composition: np.ndarray, parent: np.ndarray) -> Laminate:
    """The laminate on other cells, each inside its parent; only the lowest cell of a parent keeps the parent's joint."""
    first = np.r_[True, parent[1:] != parent[:-1]]
    joint = np.where(first, laminate.joint[parent], 0).astype(np.int32)
    return replace(laminate, thickness=thickness, composition=composition, steel=laminate.steel[parent], joint=joint)
