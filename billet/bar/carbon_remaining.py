"""How much of its carbon the metal of a worked bar has kept: free skins under its faces, buried ones along its welds."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Joined, Material, Worked
from billet.bar.decarb_layer import Buried
from billet.bar.layer_thinning import welds_under
from billet.bar.maps import Layers
from billet.bar.trace import cell_of, part_of, trace
from billet.steel.library import ELEMENTS

Array = NDArray[np.float64]

_CARBON = ELEMENTS.index("C")
_PLACES, _DEPTHS = 64, 80  # places on a face, and depths under each, at which a skin is looked at
_SHALLOWEST = 5e-6  # [m]
SOUND = 0.98  # share of the carbon from which metal counts as sound


def composition_at(bar: Bar, points: Array) -> Array:
    """Composition (n, elements) [wt%] at points (3, n) [m] of a bar, skins and welds included."""
    n = points.shape[1]
    sample = trace(bar.material, points[0], points[1], points[2])
    leaf, z = np.broadcast_to(sample.leaf, n), np.broadcast_to(sample.z, n)
    out = np.empty((n, len(ELEMENTS)))
    for k, laminate in enumerate(bar.leaves):
        mine = leaf == k
        out[mine] = laminate.composition[cell_of(laminate, z[mine])]
    out[:, _CARBON] *= carbon_left(bar, points)
    return out


def carbon_left(bar: Bar, points: Array) -> Array:
    """Share of their layers' carbon (n,) that points (3, n) [m] of a bar have kept: 1 where nothing burnt out."""
    left = seam_carbon(bar.material, points)
    if not bar.skins.bare:
        for skin, depth in zip(bar.skins, depths(bar, points), strict=True):
            left = left * skin.at(depth)
    return left


def depths(bar: Bar, points: Array) -> tuple[Array, Array, Array, Array]:
    """Depth of points (3, n) [m] under the bottom and top face and the sides at -y and +y.

    Under the rounded corners of a twisted bar the one depth to its outline is told four times, for the deepest skin
    alone.
    """
    size, at = getattr(bar, "form", None), points
    width, thickness = bar.width, bar.thickness
    if size is not None:  # forged to shape: the faces it was forged from
        back = size.pull(points[0], points[1], points[2])
        at, (_, width, thickness) = np.stack([back.x, back.y, back.z]), size.size
    if bar.profile is not None:
        wide, thick, middle = bar.profile.at(points[0])
        y, z = points[1] - middle, points[2]
        return 0.5 * thick + z, 0.5 * thick - z, 0.5 * wide + y, 0.5 * wide - y
    if np.isfinite(bar.corner):
        reach = np.abs(2 * at[1] / width) ** bar.corner + np.abs(2 * at[2] / thickness) ** bar.corner
        under = 0.5 * min(width, thickness) * (1.0 - reach ** (1 / bar.corner))
        beyond = np.full(under.shape, np.inf)
        return under, beyond, beyond, beyond
    y, z = at[1], at[2]
    return 0.5 * thickness + z, 0.5 * thickness - z, 0.5 * width + y, 0.5 * width - y


def seam_carbon(material: Material, points: Array) -> Array:
    """Share of their carbon (n,) that points (3, n) [m] have kept where skins were buried in the welds of worked bars."""
    left = np.ones(points.shape[1])
    if isinstance(material, Worked):
        if isinstance(material.map, Layers) and not _bare(material.buried):
            left = _along(material.buried, np.array(material.map.faces), points[2])
        back = material.map.backward(points).points if welds_under(material.parent) else None
        return left if back is None else left * seam_carbon(material.parent, back)
    if isinstance(material, Joined):
        return _in_join(material, points)
    return left


def _in_join(material: Joined, points: Array) -> Array:
    axis, faces = "xyz".index(material.axis), np.array(material.faces)
    left = np.ones(points.shape[1])
    if not _bare(material.buried):
        left = _along(material.buried, faces, points[axis])
    part = part_of(material, points[axis])
    for k, child in enumerate(material.parts):
        mine = np.flatnonzero(part == k)
        if len(mine) and welds_under(child):
            inside = points[:, mine].copy()
            inside[axis] -= 0.5 * (faces[k] + faces[k + 1])
            left[mine] *= seam_carbon(child, inside)
    return left


def _along(seams: tuple[Buried, ...], faces: Array, at: Array) -> Array:
    """Share left (n,) at heights across some weld planes: each piece is asked up to its middle."""
    middles = 0.5 * (faces[1:] + faces[:-1])
    nearest = np.clip(np.searchsorted(middles, at) - 1, 0, len(seams) - 1)
    left = np.ones(len(at))
    for k, seam in enumerate(seams):
        mine = nearest == k
        left[mine] = seam.at(at[mine] - faces[k + 1])
    return left


def _bare(seams: tuple[Buried, ...]) -> bool:
    return all(seam.bare for seam in seams)


def mean_composition(bar: Bar, points: Array) -> Array:
    """Mean composition (elements,) [wt%] of the sound metal at points (3, n) [m] of a bar."""
    composition, left = composition_at(bar, points), carbon_left(bar, points)
    sound = left >= min(SOUND, float(np.median(left)))
    return np.asarray(composition[sound].mean(axis=0))


def under_faces(bar: Bar) -> list[tuple[Array, Array]]:
    """Cells (m,) [m] and mean carbon (m,) [wt%] under the bottom and the top face of a bar, down to its middle."""
    edges = np.concatenate([[0.0], np.geomspace(_SHALLOWEST, 0.5 * bar.thickness, _DEPTHS)])
    rng = np.random.default_rng(11)
    x, y = (rng.uniform(-0.45, 0.45, (2, _PLACES)) * np.array([[bar.length], [bar.width]]))[:, None, :]
    depth = 0.5 * (edges[1:] + edges[:-1])
    found = []
    for side in (-1.0, 1.0):
        z = side * (0.5 * bar.thickness - depth)[:, None]
        points = np.stack([np.broadcast_to(a, (_DEPTHS, _PLACES)).ravel() for a in (x, y, z)])
        inside = bar.contains(points)
        carbon = np.where(inside, composition_at(bar, points)[:, _CARBON], np.nan).reshape(_DEPTHS, _PLACES)
        some = inside.reshape(_DEPTHS, _PLACES).any(axis=1)
        found.append((np.diff(edges)[some], np.nanmean(carbon[some], axis=1)))
    return found
