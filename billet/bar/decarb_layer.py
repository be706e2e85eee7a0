"""Skins: the carbon burnt out under the free faces of a bar whose layers are no longer flat, and what is left of them
in its welds.

A laminar bar keeps its skins in its laminate, and takes them along inside the leaf when it is first worked; from then
on the leaf is sealed and a `Skin` on each face holds only what burns out later, as a share of the carbon that the leaf
has there. So nothing is counted twice.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def _nothing() -> Array:
    return np.empty(0)


@dataclass(frozen=True, eq=False)
class Skin:
    """Carbon under a face as a share of that of the layers there: cells from the face inwards, thickness (n,) [m] and
    share (n,) [1].

    Below the last cell nothing is missing.
    """

    thickness: Array = field(default_factory=_nothing)
    share: Array = field(default_factory=_nothing)

    @property
    def depth(self) -> float:
        """How deep it reaches [m]."""
        return float(self.thickness.sum())

    @property
    def missing(self) -> float:
        """Depth of metal that would hold the carbon that is missing [m]."""
        return float((self.thickness * (1.0 - self.share)).sum())

    def at(self, depth: Array) -> Array:
        """Share of the carbon left at depths [m] under the face, any shape."""
        edges = np.cumsum(self.thickness)
        return np.append(self.share, 1.0)[np.searchsorted(edges, depth, side="right")]

    def scaled(self, factor: float) -> Skin:
        """The skin of a bar drawn to `factor` times its thickness there."""
        return self if len(self.share) == 0 or factor == 1.0 else Skin(self.thickness * factor, self.share)

    def cut(self, off: float) -> Skin:
        """What is left once `off` [m] has been ground off; less than nothing adds nothing."""
        if off <= 0.0 or len(self.share) == 0:
            return self
        edges = np.concatenate([[0.0], np.cumsum(self.thickness)])
        left = np.maximum(edges[1:], off) - np.maximum(edges[:-1], off)
        return Skin(left[left > 0.0], self.share[left > 0.0])


BARE = Skin()


def deepest(*skins: Skin) -> Skin:
    """The skin that misses most carbon."""
    return max(skins, key=lambda s: s.missing)


class Skins(NamedTuple):
    """The skins of a bar: under its bottom and top face and under its sides at -y (low) and +y (high); its ends are
    cropped and carry none.
    """

    bottom: Skin = BARE
    top: Skin = BARE
    low: Skin = BARE
    high: Skin = BARE

    @property
    def bare(self) -> bool:
        """Whether nothing has burnt out."""
        return all(len(s.share) == 0 for s in self)

    def turned(self, quarters: int) -> Skins:
        """The bar rolled about its length by quarter turns, as `turn` does: a quarter brings the high side to the top."""
        return self if quarters % 4 == 0 else Skins(self.low, self.high, self.top, self.bottom).turned(quarters - 1)

    def end_for_end(self) -> Skins:
        """The bar turned about the upright: its sides change places."""
        return Skins(self.bottom, self.top, self.high, self.low)

    def tipped(self) -> Skins:
        """A piece turned about its width: its faces change places."""
        return Skins(self.top, self.bottom, self.low, self.high)

    def stood(self) -> Skins:
        """The bar on its end: what were its cropped ends are the faces now."""
        return Skins(BARE, BARE, self.low, self.high)

    def alike(self) -> Skins:
        """The deepest on all four sides, for steps that carry the faces round the bar."""
        return Skins(*[deepest(*self)] * 4)

    def scaled(self, across: float, through: float) -> Skins:
        """The bar drawn to these shares of its width and thickness."""
        return Skins(
            self.bottom.scaled(through), self.top.scaled(through), self.low.scaled(across), self.high.scaled(across)
        )

    def cut(self, bottom: float = 0.0, top: float = 0.0, sides: float = 0.0) -> Skins:
        """So much ground off bottom, top and each side [m]."""
        return Skins(self.bottom.cut(bottom), self.top.cut(top), self.low.cut(sides), self.high.cut(sides))


@dataclass(frozen=True, eq=False)
class Buried:
    """Two skins that were welded to one another: below and above the weld plane, each from the plane outwards."""

    below: Skin = BARE
    above: Skin = BARE

    @property
    def bare(self) -> bool:
        """Whether no carbon is missing."""
        return len(self.below.share) == 0 and len(self.above.share) == 0

    def at(self, distance: Array) -> Array:
        """Share of the carbon left at signed distances [m] from the plane, any shape."""
        return np.where(distance < 0.0, self.below.at(-distance), self.above.at(distance))


def buried(below: Skin, above: Skin, reach: tuple[float, float]) -> Buried:
    """The skins either side of a new weld; each may spread to its `reach` [m] into the piece, about to its middle."""
    if len(below.share) == 0 and len(above.share) == 0:
        return Buried()
    return Buried(*(_filled(skin, far) for skin, far in zip((below, above), reach, strict=True)))


def _filled(skin: Skin, reach: float) -> Skin:
    """The skin with sound metal beneath it down to `reach` [m]."""
    room = reach - skin.depth
    return skin if room <= 0.0 else Skin(np.append(skin.thickness, room), np.append(skin.share, 1.0))
