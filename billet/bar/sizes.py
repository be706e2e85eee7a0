"""Sizes of a bar through the steps: the same arithmetic for one bar and for thousands of candidates at once.

Every argument is a float or an array, all broadcasting; nothing is checked and nothing written into. The steps check
and call these for one bar, the planner calls them for whole tables of bars.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from billet.base.shop import Shop


class Size(NamedTuple):
    """Length, width and thickness [m]; floats or arrays."""

    length: Any
    width: Any
    thickness: Any

    @property
    def box(self) -> Any:
        """Volume of the block these sizes span [m3]."""
        return self.length * self.width * self.thickness


def pared(size: Size, bottom: Any = 0.0, top: Any = 0.0, sides: Any = 0.0, left: Any = 0.0, right: Any = 0.0) -> Size:
    """The size with so much off bottom and top face, each side, and the left and right end [m]."""
    return Size(size.length - left - right, size.width - 2 * sides, size.thickness - bottom - top)


def scaled(size: Size, depth: Any) -> Size:
    """The size after scale has eaten `depth` [m] off all six faces."""
    return pared(size, bottom=depth, top=depth, sides=depth, left=depth, right=depth)


def scale_depth(size: Size, shop: Shop, temperature: float, seconds: float, factor: float = 1.0) -> Any:
    """Metal lost per face in one heat [m]: temperature [K], soak [s]; the smaller of width and thickness sets the
    heating-up.
    """
    return shop.scale_depth(temperature, seconds, np.minimum(size.width, size.thickness), factor)


def heated(size: Size, shop: Shop, temperature: float, seconds: float, factor: float = 1.0) -> Size:
    """The size after one heat."""
    return scaled(size, scale_depth(size, shop, temperature, seconds, factor))


def drawn(box: Any, width: Any, thickness: Any) -> Size:
    """A block of volume `box` [m3] drawn to a width and thickness [m]; the length follows."""
    return Size(box / (width * thickness), width, thickness)


def part_drawn(start: Any, end: Any, share: Any) -> Any:
    """A width or thickness [m] after a share (0 to 1) of a draw's heats: every heat takes the same ratio."""
    return start ** (1 - share) * end**share


def spread_to(width: Any, before: Any, after: Any, spread: Any) -> Any:
    """Width [m] of a bar drawn from one thickness to another [m] with nothing to hold its sides: it gains by the power
    `spread` of what the thickness loses.
    """
    return width * (before / after) ** spread


def piece_length(length: Any, pieces: Any, kerf: Any) -> Any:
    """Length [m] of each of `pieces` equal pieces of a bar already trimmed, with a kerf between them."""
    return (length - (pieces - 1) * kerf) / pieces


def laid_up(thickness: Any, pieces: Any, clean: Any, spacer: Any = 0.0) -> Any:
    """Height [m] of a stack of pieces whose mating faces have lost `clean` [m] each, with spacers [m] between them."""
    return pieces * thickness - 2 * (pieces - 1) * clean + (pieces - 1) * spacer
