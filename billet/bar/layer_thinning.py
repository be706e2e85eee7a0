"""How much thinner the layers and welds of a worked bar lie in it than in the frame they are known in."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Joined, Laminar, Material, Worked
from billet.bar.trace import part_of, slope

Array = NDArray[np.float64]


class Steepness(NamedTuple):
    """Mean length of the gradient of height [1], one over the mean thinning: per laminate and per welded node, by `id`;
    `mean` of all layers.
    """

    mean: float
    leaf: dict[int, float]
    weld: dict[int, float]


def steepness(bar: Bar, points: Array) -> Steepness:
    """Looked at in points (3, n) [m] scattered through the bar; a leaf no point met is taken to be as the others."""
    traced = slope(bar.material, points)
    length = np.linalg.norm(traced.gradient, axis=0)
    sums: dict[int, list[float]] = {}
    for k, laminate in enumerate(bar.leaves):
        mine = length[traced.leaf == k]
        entry = sums.setdefault(id(laminate), [0.0, 0.0])
        entry[0] += float(mine.sum())
        entry[1] += len(mine)
    welds: dict[int, list[float]] = {}
    _walk(bar.material, points, np.repeat(np.eye(3)[:, :, None], points.shape[1], axis=2), welds)
    return Steepness(float(length.mean()), _means(sums), _means(welds))


def _means(sums: dict[int, list[float]]) -> dict[int, float]:
    return {key: total / count for key, (total, count) in sums.items() if count}


def _walk(material: Material, points: Array, here: Array, welds: dict[int, list[float]]) -> None:
    """Enter the steepness of every node with skins in its welds; `here` (3, 3, n) is d(coordinates here)/d(bar)."""
    if isinstance(material, Laminar) or points.shape[1] == 0:
        return
    if material.buried:
        axis = 1 if isinstance(material, Joined) and material.axis == "y" else 2
        entry = welds.setdefault(id(material), [0.0, 0.0])
        entry[0] += float(np.linalg.norm(here[axis], axis=0).sum())
        entry[1] += points.shape[1]
    if isinstance(material, Worked):
        if welds_under(material.parent):
            back = material.map.backward(points).points
            _walk(material.parent, back, np.einsum("ijn,jkn->ikn", material.map.slope(points), here), welds)
        return
    axis = "xyz".index(material.axis)
    part, faces = part_of(material, points[axis]), material.faces
    for k, child in enumerate(material.parts):
        mine = part == k
        inside = points[:, mine].copy()
        inside[axis] -= 0.5 * (faces[k] + faces[k + 1])
        _walk(child, inside, here[:, :, mine], welds)


def welds_under(material: Material) -> bool:
    """Whether any weld of a material, its own included, has skins in it."""
    if isinstance(material, Laminar):
        return False
    if any(not seam.bare for seam in material.buried):
        return True
    parts = (material.parent,) if isinstance(material, Worked) else material.parts
    return any(welds_under(part) for part in parts)
