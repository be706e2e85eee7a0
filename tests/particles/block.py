"""A bar as a cloud of points: where each is, which seed it came from, and the size of the bar they lie in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Block:
    """Points (3, n) in the bar's frame [m], their seeds (n,), length, width and thickness [m], and the exponent of the
    section's corners (infinite when sharp). profile: sections along a bar that is drawn out in part.
    """

    points: Array
    seed: NDArray[np.int64]
    size: tuple[float, float, float]
    corner: float = float("inf")
    profile: Any = None

    def at(self, x: Array, y: Array, z: Array) -> Block:
        """The same points elsewhere."""
        return replace(self, points=np.stack([x, y, z]))

    def only(self, kept: NDArray[np.bool_]) -> Block:
        """The points that are kept."""
        return replace(self, points=self.points[:, kept], seed=self.seed[kept])

    def sized(self, length: float, width: float, thickness: float) -> Block:
        """The same points in a bar of another size, those outside it gone [m]."""
        half = 0.5 * np.array([[length], [width], [thickness]])
        return replace(self.only((np.abs(self.points) <= half).all(0)), size=(length, width, thickness))


def pared(block: Block, x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> Block:
    """So much off the low and the high end of each axis [m]; what is left lies round the origin."""
    off = np.array([x, y, z])
    moved = replace(block, points=block.points - 0.5 * (off[:, :1] - off[:, 1:]))
    return moved.sized(*(s - a - b for s, (a, b) in zip(block.size, off, strict=True)))


def together(blocks: list[Block], size: tuple[float, float, float]) -> Block:
    """Blocks that lie in one frame as one bar."""
    points = np.concatenate([b.points for b in blocks], axis=1)
    return Block(points, np.concatenate([b.seed for b in blocks]), size)
