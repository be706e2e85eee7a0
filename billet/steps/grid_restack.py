"""Tile: cut the bar into lengths and lay them side by side and on one another, turned so that their pictures meet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from billet.bar.bar import Bar, Worked
from billet.bar.laminate import OPEN
from billet.bar.maps import PointMap, Pulled
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import pare
from billet.base.messages import Note, long, note, refuse, thin
from billet.steps.step import Step

Array = NDArray[np.float64]
Ints = NDArray[np.int32]
Order = Literal["pinwheel", "mirror", "same", "quarter turned"]

_ROLLED = tuple(np.array([[1, 0, 0], [0, c, s], [0, -s, c]], float) for c, s in ((1, 0), (0, 1), (-1, 0), (0, -1)))
_OUT_OF_SQUARE = 0.05  # ground off to the square as trim; beyond it the bar wants drawing


@dataclass(frozen=True)
class Tiled(PointMap):
    """Pieces of one bar in a grid of columns (across y) and rows (through z): exact, with jumps at the welds.

    across, through: borders of columns and rows [m]; for each column and row the place of the middle of its ground
    piece in the piece's full section (`aside`, `up`) [m]; for piece k = row * columns + column the place of its middle
    along the bar before (`at`) [m] and its turn, a rotation with before = turn @ after about the piece's middle.
    """

    across: tuple[float, ...]
    through: tuple[float, ...]
    aside: tuple[float, ...]
    up: tuple[float, ...]
    at: tuple[float, ...]
    turns: tuple[tuple[tuple[float, ...], ...], ...]

    @cached_property
    def _turn(self) -> Array:
        return np.array(self.turns)

    @cached_property
    def _middle(self) -> tuple[Array, Array]:
        """What to take off y and z to be in a piece's own section, by column and by row."""
        return _middles(self.across) - np.array(self.aside), _middles(self.through) - np.array(self.up)

    def _cell(self, y: Array, z: Array) -> tuple[Ints, Ints]:
        return _past(y, self.across[1:-1]), _past(z, self.through[1:-1])

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        real = y.dtype
        column, row = self._cell(y, z)
        k = row * np.int32(len(self.aside)) + column
        mid_y, mid_z = (m.astype(real) for m in self._middle)
        u, v = y - mid_y.take(column), z - mid_z.take(row)
        old_x = np.array(self.at, real).take(k) + self._term(0, 0, k, x)
        old_y, old_z = (self._row(axis, k, u, v) for axis in (1, 2))
        sides, floors = _nearest(y, self.across[1:-1]), _nearest(z, self.through[1:-1])
        return Pulled(old_x, old_y, old_z, k, _nearer(sides, floors))

    def _row(self, axis: int, k: Ints, u: Array, v: Array) -> Array:
        """One coordinate before; a place in the section that no piece needs is left out."""
        terms = [self._term(axis, by, k, a) for by, a in ((1, u), (2, v)) if self._turn[:, axis, by].any()]
        return terms[0] if len(terms) == 1 else terms[0] + terms[1]

    def _term(self, axis: int, by: int, k: Ints, a: Array) -> Array:
        factors = self._turn[:, axis, by]
        return a if (factors == 1).all() else factors.astype(a.dtype).take(k) * a

    def slope(self, points: Array) -> Array:
        column, row = self._cell(points[1], points[2])
        return np.moveaxis(self._turn[row * len(self.aside) + column], 0, -1)

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """The piece is found from x: pieces follow one another along the bar before."""
        at = np.array(self.at)
        k = np.abs(x[..., None] - at).argmin(-1)
        back = np.swapaxes(self._turn, 1, 2)[k]
        old = np.stack(np.broadcast_arrays(x - at[k], y, z), axis=-1)
        new = np.einsum("...ij,...j->...i", back, old)
        mid_y, mid_z = self._middle
        row, column = np.divmod(k, len(self.aside))
        return new[..., 0], new[..., 1] + mid_y[column], new[..., 2] + mid_z[row]


def _past(a: Array, planes: tuple[float, ...]) -> Ints:
    """How many of a few planes lie at or below each coordinate; quicker than a search."""
    out = np.zeros(a.shape, np.int32)
    for plane in planes:
        out += a >= a.dtype.type(plane)
    return out


def _nearest(a: Array, planes: tuple[float, ...]) -> Array:
    """Signed distance to the nearest of a few planes [m]."""
    out = a - a.dtype.type(planes[0])
    for plane in planes[1:]:
        out = _nearer(out, a - a.dtype.type(plane))
    return out


def _nearer(one: Array, other: Array) -> Array:
    return np.where(np.abs(one) < np.abs(other), one, other)


def _middles(borders: tuple[float, ...]) -> Array:
    return 0.5 * (np.array(borders[1:]) + np.array(borders[:-1]))


def same(grid: int, column: int, row: int) -> Array:
    """Every piece lies as it was cut."""
    return np.eye(3)


def mirror(grid: int, column: int, row: int) -> Array:
    """Every second column turned end for end about z, every second row end over end about y: each joint sees its mirror
    image."""
    y, z = (-1.0 if k % 2 else 1.0 for k in (column, row))
    return np.diag([y * z, y, z])


def quarter_turned(grid: int, column: int, row: int) -> Array:
    """Every second piece, as on a chessboard, rolled by a quarter."""
    return _ROLLED[(column + row) % 2]


def pinwheel(grid: int, column: int, row: int) -> Array:
    """Each piece rolled by a quarter more than its neighbour around the middle: four by four is two by two done twice,
    and in three by three the middle piece stays as it is."""
    quarters = {(-1, -1): 0, (0, -1): 0, (1, -1): 1, (1, 0): 1, (1, 1): 2, (0, 1): 2, (-1, 1): 3, (-1, 0): 3, (0, 0): 0}
    if grid % 2:
        return _ROLLED[quarters[column - 1, row - 1]]
    return _ROLLED[quarters[2 * (column % 2) - 1, 2 * (row % 2) - 1]]


_ORDERS: dict[Order, Callable[[int, int, int], Array]] = {
    "pinwheel": pinwheel,
    "mirror": mirror,
    "same": same,
    "quarter turned": quarter_turned,
}


class GridRestack(Step):
    """Crop the ends, cut the bar up, grind the mating faces and lay the pieces in a square grid, bottom row first, each row from the edge side.

    Pieces are turned, never reflected. "pinwheel" and "quarter turned" need a bar drawn square. A weld follows.
    """

    do: Literal["grid_restack"] = "grid_restack"
    lays_up: ClassVar[bool] = True
    grid: Literal[2, 3, 4] = Field(
        2, description="Pieces along each side of the square grid: 2, 3 or 4. Default 2; example 3."
    )
    order: Order = Field(
        "pinwheel", description='How the pieces are turned against each other. Default "pinwheel"; example "mirror".'
    )

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        if np.isfinite(bar.corner):
            raise refuse("the bar's corners are round; draw it square before it is cut into tiles")
        shop, pieces = bench.shop, self.grid**2
        bar, trimmed = pare(bar, left=shop.trims[0], right=shop.trims[1])
        bar, ground = self._squared(bar)
        length = (bar.length - (pieces - 1) * shop.kerf) / pieces
        if length <= 0:
            raise refuse(
                "grid: the bar is {have} long after its trims, and {pieces} pieces with {kerf} of kerf between "
                "them need more; a smaller grid or a longer bar",
                have=long(bar.length),
                pieces=pieces,
                kerf=long(shop.kerf),
            )
        if min(bar.width, bar.thickness) <= 2 * shop.face_cleanup:
            raise refuse(
                "face_cleanup: grinding {clean} off each mating face leaves nothing of a bar {have} thick",
                clean=thin(shop.face_cleanup),
                have=thin(bar.thickness),
            )
        by, masses = self._laid(bar, length, shop.kerf, shop.face_cleanup)
        sawn = (pieces - 1) * shop.kerf * bar.mass / bar.length
        cleaned = bar.mass * (pieces * length / bar.length) - sum(masses)
        new = _finish(bar, by, length, sum(masses), pieces)
        return Outcome(new, Lost(kerf=sawn, cleanup=cleaned, trim=trimmed + ground), notes=self._meeting(bar))

    def _squared(self, bar: Bar) -> tuple[Bar, float]:
        """Grind a nearly square bar square where pieces are rolled by quarters; returns the mass taken [kg]."""
        spare = bar.width - bar.thickness
        if self.order in ("same", "mirror") or abs(spare) <= 1e-12:
            return bar, 0.0
        if abs(spare) > _OUT_OF_SQUARE * max(bar.width, bar.thickness):
            raise refuse(
                "order: rolled pieces only fit one another in a square bar, and this one is {wide} by {thick}; "
                "draw it to the same width and thickness first",
                wide=thin(bar.width),
                thick=thin(bar.thickness),
            )
        return pare(bar, sides=0.5 * spare) if spare > 0 else pare(bar, bottom=-0.5 * spare, top=-0.5 * spare)

    def _laid(self, bar: Bar, length: float, kerf: float, clean: float) -> tuple[Tiled, list[float]]:
        """The map of the grid and the mass of every ground piece [kg]."""
        grid, order = self.grid, _ORDERS[self.order]
        low, high = (clean * inner.astype(float) for inner in (np.arange(grid) > 0, np.arange(grid) < grid - 1))
        at = -0.5 * bar.length + 0.5 * length + np.arange(grid * grid) * (length + kerf)
        turns = [order(grid, k % grid, k // grid) for k in range(grid * grid)]
        masses = [_mass(bar, length, t, low, high, k % grid, k // grid) for k, t in enumerate(turns)]
        across, through = (np.r_[0.0, np.cumsum(size - low - high)] for size in (bar.width, bar.thickness))
        lift = tuple(0.5 * (low - high))
        plain = tuple(tuple(tuple(map(float, row)) for row in turn) for turn in turns)
        return Tiled(
            tuple(across - 0.5 * across[-1]), tuple(through - 0.5 * through[-1]), lift, lift, tuple(at), plain
        ), masses

    def _meeting(self, bar: Bar) -> tuple[Note, ...]:
        """Warn where two layers of one steel meet."""
        if bar.laminate is None or self.order not in ("same", "mirror"):
            return ()
        bottom, top = (bar.laminate.steels[k].name for k in bar.laminate.steel[[0, -1]])
        if self.order == "same" and bottom != top:
            return ()
        return (note("{steel} meets {steel} where the rows join: each seam shows as one bold layer", steel=top),)


def _mass(bar: Bar, length: float, turn: Array, low: Array, high: Array, column: int, row: int) -> float:
    """Mass of one piece with its mating faces ground [kg]; the faces are those of the grid, the layers those of the
    piece."""
    ground = {(-1, 0): low[column], (1, 0): high[column], (0, -1): low[row], (0, 1): high[row]}
    here = turn[1:, 1:].T
    left, right, bottom, top = (ground[tuple((here @ d).astype(int))] for d in ((-1, 0), (1, 0), (0, -1), (0, 1)))
    return pare(replace(bar, length=length), bottom=bottom, top=top, sides=0.5 * (left + right))[0].mass


def _finish(bar: Bar, by: Tiled, length: float, mass: float, pieces: int) -> Bar:
    width, thickness = by.across[-1] - by.across[0], by.through[-1] - by.through[0]
    return replace(
        bar,
        length=length,
        width=width,
        thickness=thickness,
        material=Worked(bar.material, by, OPEN),
        layers_counted=bar.layers_counted * pieces,
        welded=False,
        mean_density=mass / (length * width * thickness),
        skins=bar.skins.alike(),
    )
