"""A laminate: everything there is to know about a bar whose layers are still flat.

Cells lie bottom to top through the thickness. A layer may be several cells (where its carbon varies), and every cell
knows its steel, its composition and which step welded its lower face to the cell beneath.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from billet.steel.library import ELEMENTS, Steel

Array = NDArray[np.float64]
Ints = NDArray[np.int32]

SAME_PLATE = 0  # the lower face of this cell is no weld: it lies inside one plate
OPEN = -1  # the lower face of this cell meets the cell beneath but has not been welded yet
_GONE = 1e-12  # cells thinner than this share of the whole are rounding, not metal
_SUBSTITUTIONAL = slice(1, None)  # every element but carbon
_CARBON = ELEMENTS.index("C")


@dataclass(frozen=True, eq=False)
class Laminate:
    """Cells through the thickness, bottom to top.

    thickness (n,) [m]; steel (n,) index into `steels`; composition (n, elements) [wt%] in the order of
    `billet.steel.library.ELEMENTS`; joint (n,) number of the step that welded the cell's lower face, 0 inside a plate, -1 open.
    """

    thickness: Array
    steel: Ints
    composition: Array
    joint: Ints
    steels: tuple[Steel, ...]

    @cached_property
    def total(self) -> float:
        """Thickness of the whole laminate [m]."""
        return float(self.thickness.sum())

    @cached_property
    def edges(self) -> Array:
        """Heights of the cell faces above the middle (n + 1,) [m], from -total/2 to +total/2."""
        out = np.empty(len(self.thickness) + 1)
        out[0] = 0.0
        np.cumsum(self.thickness, out=out[1:])
        out -= 0.5 * out[-1]
        return out

    @cached_property
    def density(self) -> Array:
        """Density of each cell (n,) [kg/m3]."""
        return np.array([s.density for s in self.steels])[self.steel]

    @cached_property
    def areal_mass(self) -> float:
        """Mass over a unit of face [kg/m2]."""
        return float(np.einsum("i,i->", self.thickness, self.density))  # a threaded product would wait for its threads

    @cached_property
    def starts(self) -> NDArray[np.intp]:
        """First cell of each distinct layer: neighbours of one steel count as one layer."""
        return np.flatnonzero(np.r_[True, self.steel[1:] != self.steel[:-1]])

    @property
    def distinct(self) -> int:
        """Runs of one steel through the thickness."""
        return len(self.starts)

    @cached_property
    def layer_thickness(self) -> Array:
        """Thickness of each distinct layer, bottom to top [m]."""
        return np.add.reduceat(self.thickness, self.starts)

    def shares(self) -> dict[str, float]:
        """Share of each steel by mass."""
        mass = np.bincount(self.steel, self.thickness * self.density, len(self.steels)) / self.areal_mass
        out: dict[str, float] = {}
        for steel, share in zip(self.steels, mass, strict=True):
            out[steel.name] = out.get(steel.name, 0.0) + float(share)
        return out

    @cached_property
    def varied(self) -> NDArray[np.intp]:
        """Elements in which cells may differ: carbon, and those in which the steels do."""
        differs = np.ptp([s.composition for s in self.steels], axis=0) > 0
        differs[_CARBON] = True
        return np.flatnonzero(differs)

    def mean(self) -> Array:
        """Mean composition by mass (elements,) [wt%]."""
        share = self.thickness * self.density / self.areal_mass
        out = np.array(self.steels[0].composition, float)
        out[self.varied] = [np.einsum("i,i->", share, self.composition[:, k]) for k in self.varied]
        return out

    def deviation(self, skin: float = 0.0) -> tuple[float, float]:
        """Root mean square deviation over the thickness of carbon, and of all other elements together [wt%].

        `skin` [m] is left out at either face, where the fire and not the layers made the difference.
        """
        weight = self._inside(skin)
        square = np.zeros(self.composition.shape[1])
        for k in self.varied:
            off = self.composition[:, k] - np.einsum("i,i->", weight, self.composition[:, k])
            square[k] = np.einsum("i,i,i->", weight, off, off)
        return float(np.sqrt(square[_CARBON])), float(np.sqrt(square[_SUBSTITUTIONAL].sum()))

    def deviation_as_laid(self, skin: float = 0.0) -> tuple[float, float]:
        """The same as `deviation` with the plates' contents as bought [wt%]."""
        share = np.bincount(self.steel, self._inside(skin), len(self.steels))
        plates = np.array([s.composition for s in self.steels], float)
        square = share @ (plates - share @ plates) ** 2
        return float(np.sqrt(square[_CARBON])), float(np.sqrt(square[_SUBSTITUTIONAL].sum()))

    def _inside(self, skin: float) -> Array:
        """Share of each cell in the thickness between the skins (n,)."""
        if not skin:
            return self.thickness / self.total
        depth = self.edges - self.edges[0]
        inside = np.maximum(np.minimum(depth[1:], depth[-1] - skin) - np.maximum(depth[:-1], skin), 0.0)
        return np.asarray(inside / inside.sum())

    def scaled(self, factor: float) -> Laminate:
        """The laminate drawn to `factor` times its thickness; nothing else changes."""
        return replace(self, thickness=self.thickness * factor)

    def to(self, total: float) -> Laminate:
        """The laminate drawn to a total thickness [m]."""
        return self.scaled(total / self.total)

    def turned_over(self) -> Laminate:
        """Upside down. The joint of a cell is its lower face, so the joints move by one place."""
        joint = np.r_[np.int32(OPEN), self.joint[:0:-1]].astype(np.int32)
        return replace(
            self,
            thickness=self.thickness[::-1],
            steel=self.steel[::-1],
            composition=self.composition[::-1],
            joint=joint,
        )

    def skimmed(self, bottom: float, top: float) -> tuple[Laminate, float]:
        """Take metal off the two faces [m]; returns what is left and the mass taken per unit of face [kg/m2].

        Raises ValueError when nothing would be left.
        """
        if bottom + top >= self.total * (1 - _GONE):
            raise ValueError("nothing left")
        height = self.edges - self.edges[0]
        sliver, upper = _GONE * height[-1], height[-1] - top
        first = int(np.searchsorted(height, bottom + sliver, side="right")) - 1
        last = min(int(np.searchsorted(height, upper - sliver, side="left")), len(self.thickness))
        left = self.thickness[first:last].copy()
        off_bottom, off_top = max(bottom - height[first], 0.0), max(height[last] - upper, 0.0)
        left[0] -= off_bottom
        left[-1] -= off_top
        density = self.density
        gone = self.thickness[:first] @ density[:first] + self.thickness[last:] @ density[last:]
        taken = float(gone + off_bottom * density[first] + off_top * density[last - 1])
        return replace(
            self,
            thickness=left,
            steel=self.steel[first:last],
            composition=self.composition[first:last],
            joint=self.joint[first:last],
        ), taken

    def take(self, cells: NDArray[np.intp], thickness: Array) -> Laminate:
        """The named cells with new thicknesses."""
        return replace(
            self,
            thickness=thickness,
            steel=self.steel[cells],
            composition=self.composition[cells],
            joint=self.joint[cells],
        )

    def welded(self, step: int) -> Laminate:
        """Every open joint has been welded by `step`."""
        return replace(self, joint=np.where(self.joint == OPEN, np.int32(step), self.joint).astype(np.int32))


def plate(steel: Steel, thickness: float) -> Laminate:
    """One plate of one steel [m]."""
    return Laminate(
        np.array([thickness], float),
        np.zeros(1, np.int32),
        np.array([steel.composition], float),
        np.full(1, OPEN, np.int32),
        (steel,),
    )


def stacked(parts: Sequence[Laminate]) -> Laminate:
    """Lay laminates on one another, bottom first; the joints between them are open."""
    steels, index = _common_steels(parts)
    joint = np.concatenate([np.r_[np.int32(OPEN), p.joint[1:]] for p in parts]).astype(np.int32)
    return Laminate(
        np.concatenate([p.thickness for p in parts]),
        np.concatenate([i[p.steel] for i, p in zip(index, parts, strict=True)]).astype(np.int32),
        np.concatenate([p.composition for p in parts]),
        joint,
        steels,
    )


def _common_steels(parts: Sequence[Laminate]) -> tuple[tuple[Steel, ...], list[Ints]]:
    """One list of steels for all parts, and where each part's steels stand in it."""
    if all(p.steels is parts[0].steels for p in parts):
        same = np.arange(len(parts[0].steels), dtype=np.int32)
        return parts[0].steels, [same] * len(parts)
    names: list[str] = []
    steels: list[Steel] = []
    index = []
    for part in parts:
        for steel in part.steels:
            if steel.name not in names:
                names.append(steel.name)
                steels.append(steel)
        index.append(np.array([names.index(s.name) for s in part.steels], np.int32))
    return tuple(steels), index
