"""Pale weld lines of worked bars: skins that lost carbon in the fire and were welded in.

A laminate keeps such seams among its layers; between pieces of a worked bar they lie across the layers. What they add
to the brightness of steel of some tone is known exactly across each weld; a pixel sees the mean of it over a box as wide
as its footprint across the weld, read off a running sum.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Joined, Laminar, Material, Worked, leaves
from billet.bar.carbon_remaining import seam_carbon
from billet.bar.decarb_layer import Buried
from billet.bar.layer_thinning import welds_under
from billet.bar.maps import to_nearest
from billet.bar.trace import Met, part_of
from billet.steel.library import ELEMENTS
from render.etch import BRIGHTEST, Look, darkening, reflectance
from render.surface import Points

Array = NDArray[np.float64]
Floats = NDArray[np.floating]
Bools = NDArray[np.bool_]

_CARBON = ELEMENTS.index("C")
_LEVELS = 8  # of brightness for which the welds are summed up
_SEEN = 1e-3  # less than this share of full brightness is nothing


@dataclass(frozen=True, eq=False)
class Across:
    """What the welds of one step add to the brightness beside them: planes [m], and running sums [m] of what is added
    to steels of evenly spaced log brightness (places, levels) at places [m] along the axis across the planes.

    reach: how far from a plane anything is added [m]. darkest: log brightness of the last level [-].
    """

    planes: Array
    places: Array
    sums: Array
    reach: float
    darkest: float

    def lay_over(self, brightness: Floats, corners: Floats, jumps: Bools | None, mine: Bools | None) -> None:
        """Brighten pixels in place from the places of their corners; where those came from different sides of a later
        weld, by the mean of the corners' own.
        """
        centre, half = _box(corners)
        near = np.abs(to_nearest(centre, self.planes)) < self.reach + half
        near = near if jumps is None else near | jumps
        chosen = np.broadcast_to(near if mine is None else near & mine, brightness.shape)
        row, col = np.nonzero(chosen)
        if not len(row):
            return
        added = self._mean(_at(centre, row, col), _at(half, row, col))
        if jumps is not None:
            over = np.flatnonzero(np.broadcast_to(jumps, brightness.shape)[row, col])
            thin = np.full(len(over), float(np.median(half)))
            ends = [_at(corners, row[over] + i, col[over] + j) for i in (0, 1) for j in (0, 1)]
            added[over] = np.mean([self._mean(end, thin) for end in ends], axis=0)
        brightness[row, col] += BRIGHTEST * self._for_tone(added, brightness[row, col])

    def _mean(self, centre: Floats, half: Floats) -> Array:
        """Mean over boxes of a half width about their centres, for every level (n, levels)."""
        by = np.maximum(half.astype(float), 1e-9)[:, None]
        return (self._sum(centre + by[:, 0]) - self._sum(centre - by[:, 0])) / (2 * by)

    def _sum(self, at: Array) -> Array:
        at = np.clip(at, self.places[0], self.places[-1])
        k = np.clip(np.searchsorted(self.places, at) - 1, 0, len(self.places) - 2)
        share = (at - self.places[k]) / (self.places[k + 1] - self.places[k])
        return self.sums[k] + share[:, None] * (self.sums[k + 1] - self.sums[k])

    def _for_tone(self, added: Array, brightness: Floats) -> Array:
        """What is added at the level of each brightness."""
        levels = added.shape[1]
        at = np.log(np.maximum(brightness, 1e-6) / BRIGHTEST) / self.darkest * (levels - 1)
        at = np.clip(at, 0, levels - 1)
        k = np.minimum(at.astype(np.intp), levels - 2)
        one, other = (np.take_along_axis(added, (k + i)[:, None], axis=1)[:, 0] for i in (0, 1))
        return np.asarray(one + (at - k) * (other - one))


@dataclass(frozen=True, eq=False)
class Pale:
    """The pale welds of a material: what lies across those of each of its steps, by the step's place in the tree."""

    material: Material
    across: dict[int, Across]

    def lay_over(self, brightness: Floats, corners: Points, met: Met | None = None) -> None:
        """Brighten a block of pixels (rows, columns) in place where welds reach them; corners as of `Surface.grid`, met
        what was met when they were traced.
        """
        self._under(self.material, brightness, corners, None, None, met or {})

    def _under(
        self, node: Material, brightness: Floats, at: Points, jumps: Bools | None, mine: Bools | None, met: Met
    ) -> None:
        """The welds of a node and of all below it, for the pixels that are `mine`."""
        if isinstance(node, Laminar) or not welds_under(node):
            return
        if id(node) in self.across:
            self.across[id(node)].lay_over(brightness, _grid(at[_axis(node)]), jumps, mine)
        if isinstance(node, Joined):
            self._in_parts(node, brightness, at, jumps, mine)
        elif welds_under(node.parent):
            back = met.get(id(node)) or node.map.pull(*at)
            jumps = jumps if back.piece is None else _either(jumps, _crossed(np.asarray(back.piece)))
            self._under(node.parent, brightness, (back.x, back.y, back.z), jumps, mine, met)

    def _in_parts(self, node: Joined, brightness: Floats, at: Points, jumps: Bools | None, mine: Bools | None) -> None:
        """Every pixel from the part its first corner lies in."""
        axis, faces = _axis(node), np.array(node.faces)
        part = part_of(node, _grid(at[axis]))
        jumps = _either(jumps, _crossed(part))
        for k, child in enumerate(node.parts):
            own = _pairs(part)[0] == k  # type: ignore[arg-type]
            if welds_under(child) and np.any(own):
                inside = list(at)
                inside[axis] = at[axis] - at[axis].dtype.type(0.5 * (faces[k] + faces[k + 1]))
                here = own if mine is None else own & mine
                self._under(child, brightness, (inside[0], inside[1], inside[2]), jumps, here, {})


def pale_of(bar: Bar, look: Look) -> Pale | None:
    """Return the pale welds of a bar for an etch; None where there are none or `look.seams` is 0."""
    if look.seams == 0 or not welds_under(bar.material):
        return None
    steels = _steels(bar, look)
    across = {id(node): _across(node, steels, look) for node in _nodes(bar.material) if _buried(node)}
    return Pale(bar.material, across)


def _nodes(material: Material) -> list[Worked | Joined]:
    if isinstance(material, Laminar):
        return []
    under = [material.parent] if isinstance(material, Worked) else list(material.parts)
    return [material, *(node for child in under for node in _nodes(child))]


def _buried(node: Worked | Joined) -> bool:
    return any(not seam.bare for seam in node.buried)


def _axis(node: Worked | Joined) -> int:
    return 2 if isinstance(node, Worked) or node.axis == "z" else 1


def _steels(bar: Bar, look: Look) -> tuple[Array, Array]:
    """Log brightness of evenly spaced levels (n,), and the mean composition (n, elements) [wt%] of the bar's metal about
    each.
    """
    once = {id(leaf): leaf for leaf in bar.leaves}.values()
    composition = np.concatenate([leaf.composition for leaf in once])
    weight = np.concatenate([leaf.thickness / leaf.total for leaf in once])
    tone = np.log(reflectance(composition, look.strength) / BRIGHTEST)
    levels = np.linspace(0, float(tone.min()), _LEVELS)
    apart = np.abs(tone - levels[:, None]) / max(abs(levels[1]), 1e-9)
    near = weight * np.maximum(1 - apart, 1e-6 / (1 + apart**4))
    return levels, near @ composition / near.sum(axis=1)[:, None]


def _across(node: Worked | Joined, steels: tuple[Array, Array], look: Look) -> Across:
    """What a step's welds add: carbon missing is scaled by `look.seams`, then every level's steel darkens the less."""
    faces = np.array(node.map.faces if isinstance(node, Worked) else node.faces)  # type: ignore[attr-defined]
    places = np.unique(np.concatenate([faces, 0.5 * (faces[1:] + faces[:-1]), *_borders(node.buried, faces)]))
    places = places[(places >= faces[0]) & (places <= faces[-1])]
    share = _share(node, 0.5 * (places[1:] + places[:-1]))
    levels, steel = steels
    made = np.repeat(steel[None], len(share) + 1, axis=0)
    made[1:, :, _CARBON] *= np.clip(1 - 2 * look.seams * (1 - share), 0, 1)[:, None]
    dark = darkening(made).astype(float)
    added = np.exp(levels * dark[1:] / np.maximum(dark[0], 1e-12)) - np.exp(levels)
    seen = added.max(axis=1) > _SEEN
    middle = np.abs(to_nearest(places, faces[1:-1]))
    reach = float(np.maximum(middle[1:], middle[:-1])[seen].max()) if seen.any() else 0.0
    sums = np.concatenate([np.zeros((1, len(levels))), np.cumsum(added * np.diff(places)[:, None], axis=0)])
    return Across(faces[1:-1], places, sums, reach, float(levels[-1]))


def _borders(seams: tuple[Buried, ...], faces: Array) -> list[Array]:
    """Where the cells of buried skins meet."""
    out = []
    for seam, plane in zip(seams, faces[1:-1], strict=True):
        out += [plane - np.cumsum(seam.below.thickness), plane + np.cumsum(seam.above.thickness)]
    return out


def _share(node: Worked | Joined, at: Array) -> Array:
    """Share of the carbon left at places across a step's own welds."""
    alone = Laminar(next(leaves(node)))
    own = replace(node, parent=alone) if isinstance(node, Worked) else replace(node, parts=(alone,) * len(node.parts))
    points = np.zeros((3, len(at)))
    points[_axis(node)] = at
    return seam_carbon(own, points)


def _grid(a: Floats) -> Floats:
    """A coordinate with two axes, either of which may be short."""
    return a.reshape((1,) * (2 - a.ndim) + a.shape)


def _pairs(a: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """The four corners of every pixel; a short axis stays short."""
    rows = (a[:-1], a[1:]) if a.shape[0] > 1 else (a, a)
    (p, q), (r, s) = (((b[:, :-1], b[:, 1:]) if b.shape[1] > 1 else (b, b)) for b in rows)
    return p, q, r, s


def _either(a: Bools | None, b: Bools) -> Bools:
    return b if a is None else a | b


def _box(corners: Floats) -> tuple[Floats, Floats]:
    """Centres of pixels along a coordinate, and half the width of the box that spreads as their footprint."""
    p, q, r, s = _pairs(corners)
    across, down = 0.5 * (q - p + s - r), 0.5 * (r - p + s - q)
    return 0.25 * (p + q + r + s), 0.5 * np.hypot(across, down)


def _at(corners: Floats, row: NDArray[np.intp], col: NDArray[np.intp]) -> Floats:
    """A coordinate at some corners."""
    return corners[row if corners.shape[0] > 1 else 0, col if corners.shape[1] > 1 else 0] + np.zeros(len(row))


def _crossed(piece: NDArray[np.integer]) -> Bools:
    """Pixels whose corners lie in different pieces."""
    p, q, r, s = _pairs(_grid(piece))  # type: ignore[arg-type]
    return np.asarray((p != q) | (p != r) | (p != s))
