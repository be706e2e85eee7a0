"""What a heat does to skins and buried skins: a face burns out, a buried one levels with what lies beneath it.

Both are solved on a uniform steel of the bar's mean composition, in which carbon is a share of the bulk's.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.bar.decarb_layer import Buried, Skin
from billet.heating.layer_diffusion import face_carbon
from billet.metal.mesh import merge, refine
from billet.metal.solve import CARBON_MOVES_ABOVE_K, Boundary, diffusion_lengths, level_carbon
from billet.steel.library import ELEMENTS

Array = NDArray[np.float64]
Tags = NDArray[np.intp]

_CARBON, _CHROMIUM = ELEMENTS.index("C"), ELEMENTS.index("Cr")
_BELOW = 6.0  # diffusion lengths of sound metal taken along under a skin
_SOUND = 5e-4  # a share of carbon missing that is no skin
_LIKE = 2e-3  # cells whose shares lie this close become one
_LEAST = 1e-3  # [wt%] a steel with less carbon has none to lose


class Fire(NamedTuple):
    """One heat: `temperature` [K], `seconds` [s], metal eaten off a face [m], and how far faces tend to the carbon
    under scale.
    """

    temperature: float
    seconds: float
    recession: float = 0.0
    decarb: float = 0.0


def heated_skin(skin: Skin, fire: Fire, composition: Array, half: float) -> Skin:
    """A skin after a heat, its face eaten away; `half` [m] is how deep it may reach, half the bar's thickness there.

    `composition` (elements,) [wt%] is the bar's mean. Lower than the solubility of carbon nothing moves and the face is
    only eaten.
    """
    carbon = float(composition[_CARBON])
    if fire.temperature <= CARBON_MOVES_ABOVE_K or fire.seconds <= 0.0 or carbon < _LEAST:
        return skin.cut(fire.recession)
    length = float(diffusion_lengths([(fire.temperature, fire.seconds)])[_CARBON])
    room = min(skin.depth + fire.recession + _BELOW * length, half) - skin.depth
    thickness, share = skin.thickness, skin.share
    if room > 0.0:
        thickness, share = np.append(thickness, room), np.append(share, 1.0)
    if fire.recession >= 0.99 * thickness.sum():
        return Skin()
    face = Boundary(face_carbon(carbon, fire.temperature, fire.decarb), fire.recession) if fire.decarb > 0.0 else None
    after = _levelled(thickness, share, np.zeros(len(share), np.intp), fire, composition, face)
    found = Skin(*after[:2]).cut(fire.recession)
    sound = np.flatnonzero(found.share < 1.0 - _SOUND)
    last = int(sound[-1]) + 1 if len(sound) else 0
    return Skin(found.thickness[:last], found.share[:last])


def heated_seam(seam: Buried, fire: Fire, composition: Array) -> Buried:
    """Two buried skins after a heat of so many seconds in the frame of their weld: they level, and keep their carbon."""
    sides = (seam.below, seam.above)
    if seam.bare or fire.temperature <= CARBON_MOVES_ABOVE_K or fire.seconds <= 0.0 or composition[_CARBON] < _LEAST:
        return seam
    thickness = np.concatenate([sides[0].thickness[::-1], sides[1].thickness])
    share = np.concatenate([sides[0].share[::-1], sides[1].share])
    tags = np.repeat([0, 1], [len(s.share) for s in sides])
    h, c, t = _levelled(thickness, share, tags, fire, composition, None)
    return Buried(Skin(h[t == 0][::-1], c[t == 0][::-1]), Skin(h[t == 1], c[t == 1]))


def _levelled(
    thickness: Array, share: Array, tags: Tags, fire: Fire, composition: Array, face: Boundary | None
) -> tuple[Array, Array, Tags]:
    """Cells, shares and tags after a hold, the first face open to the fire or sealed, the last sealed; eaten cells as
    they were.
    """
    hold, carbon = [(fire.temperature, fire.seconds)], float(composition[_CARBON])
    length = float(diffusion_lengths(hold)[_CARBON])
    eaten = 0.0 if face is None else face.recession_m
    mesh = refine(
        thickness, (share * carbon)[:, None], tags, length, open_faces=(face is not None, False), recession=(eaten, 0.0)
    )
    one = np.ones(len(mesh.thickness))
    after, _ = level_carbon(
        mesh.thickness, mesh.composition[:, 0], one, one * composition[_CHROMIUM], hold, (face, None)
    )
    flat = merge(mesh.thickness, (after / carbon)[:, None], tags[mesh.parent], _LIKE)
    return flat.thickness, flat.composition[:, 0], tags[mesh.parent][flat.parent]
