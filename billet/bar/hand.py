"""The hand in a draw: dies and hammers never leave layers quite flat.

Under a bite the metal flows sideways in one place and is squeezed in another; the faces stay flat, the layers between
them wander. The map is area-preserving in every plane y = const: with f(x, y) the flow along the bar, a = df/dx and
P(z) a profile that vanishes on both faces,

    z = z0 + a(x, y) P(z0),   x0 = x + f(x, y) P'(z0),   y0 = y,

which has determinant one exactly (generating function x z0 + f P; hand derivation). Squeezing moves layers on either
side of the middle towards or away from it, so P is odd for the most part; what is not is the bar bent and straightened.
The dies hold the steel that touches them, so P also starts level from both faces, (1 - t^2)^2 with t from -1 to 1: a skin
ground off before a restack leaves the next seam as flat as the die left the face.
Wave lengths and heights are judged by eye from what the trade shows: waves of the dies' and the hammer's size.

A laminar bar carries its hands beside its laminate, each seen from the frame the bar has now, so that layers are still
counted through the thickness; a worked bar takes the map itself.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from billet.bar.columns import between_columns
from billet.bar.maps import PointMap, Pulled

Array = NDArray[Any]
Kind = Literal["rolled", "press", "hammer"]

_WAVES = {"press": ((32e-3, 85e-3), (26e-3, 60e-3)), "hammer": ((14e-3, 34e-3), (13e-3, 30e-3))}
"""Shortest and longest waves along and across the bar [m]; judged by eye."""

_HIGH = {"press": 0.030, "hammer": 0.022}  # rms of the shift of layers over half the thickness; judged by eye
_BENT = 0.2  # share of it that moves both halves one way
_MODES = 10
_FULL = 0.5  # logarithm of the thinning from which a draw leaves all of its waves
_LEAST = 0.25
_MOST_CELLS = 64  # pieces beyond which an old hand is too fine to be seen
_PER_WAVE = 28  # samples of a wave in the table for single points
_FEW = 20_000  # points that are reckoned mode by mode in double precision; more are looked up
_NODES_A_WAVE = 16  # columns of a picture at which a wave is reckoned
_TOP = 16 / 25 / 5**0.5  # greatest value of t (1 - t^2)^2


@dataclass(frozen=True)
class Hand(PointMap):
    """The irregularity one draw left in a bar of a length, width and thickness [m].

    kind: "press" or "hammer"; strength: 1 as usual, 0 none; seed: which bar and step it was.
    """

    length: float
    width: float
    thickness: float
    kind: str
    strength: float
    seed: int
    keeps_order = True

    @cached_property
    def _modes(self) -> tuple[Array, Array, Array, Array, tuple[float, float]]:
        """Wave numbers along and across [1/m], phases across, slopes of the flow, and the even and odd share of P."""
        rng = np.random.default_rng(self.seed)
        along, across = _WAVES[self.kind]
        low, high = (max(1, round(2 * self.length / w)) for w in along[::-1])
        kx = np.pi / self.length * rng.integers(low, max(high, low) + 1, _MODES)
        ky = 2 * np.pi / rng.uniform(*across, _MODES) * rng.choice((-1, 1), _MODES)
        weight = rng.uniform(0.5, 1.0, _MODES)
        weight *= 2 * _HIGH[self.kind] * self.strength / np.sqrt((weight**2).sum())
        even = _BENT * rng.choice((-1, 1))
        return kx, ky, rng.uniform(0, 2 * np.pi, _MODES), weight, (even, float(np.sqrt(1 - even**2)) / _TOP)

    def _in(self, kind: np.dtype[Any]) -> tuple[Any, ...]:
        return tuple(np.asarray(part, kind) for part in self._modes)

    def _along(self, x: Array, what: int) -> Array:
        """The modes' parts along the bar (modes, ...): slopes (0) or flows (1)."""
        kx, _, _, weight, _ = self._in(x.dtype)
        shape = (-1,) + (1,) * x.ndim
        turn = kx.reshape(shape) * (x + x.dtype.type(0.5 * self.length))
        if what == 0:
            return np.asarray(weight.reshape(shape) * np.cos(turn))
        return np.asarray((weight / kx).reshape(shape) * np.sin(turn))

    def _across(self, y: Array) -> Array:
        _, ky, phase, _, _ = self._in(y.dtype)
        shape = (-1,) + (1,) * y.ndim
        return np.asarray(np.cos(ky.reshape(shape) * y + phase.reshape(shape)))

    def _fields(self, x: Array, y: Array, *what: int) -> list[Array]:
        """a(x, y) (0) or f(x, y) [m] (1), or both."""
        if x.ndim == y.ndim == 2 and x.shape[0] == 1 and y.shape[1] == 1:
            real = np.result_type(x.dtype, y.dtype)
            across = self._across(y[:, 0]).T.astype(real)
            return [np.asarray(across @ self._along(x[0], k).astype(real)) for k in what]
        if max(x.size, y.size) <= _FEW and x.dtype == np.float64:
            across = self._across(y)
            return [np.asarray((self._along(x, k) * across).sum(axis=0)) for k in what]
        return self._looked_up(x, y, *what)

    @cached_property
    def _tables(self) -> tuple[Array, Array, int, float, float]:
        """Both fields over the bar and a wave beyond, for many single points."""
        along, across = (w[0] for w in _WAVES[self.kind])
        nx, ny = (int(np.ceil(s / w * _PER_WAVE)) + 8 for s, w in ((self.length, along), (self.width, across)))
        dx, dy = self.length / (nx - 8), self.width / (ny - 8)
        x = (np.arange(nx + 1) - 4) * dx - 0.5 * self.length
        y = (np.arange(ny + 1) - 4) * dy - 0.5 * self.width
        slopes, flows = ((self._across(y).T @ self._along(x, k)).astype(np.float32).ravel() for k in (0, 1))
        return slopes, flows, nx + 1, dx, dy

    def _looked_up(self, x: Array, y: Array, *what: int) -> list[Array]:
        *fields, cols, dx, dy = self._tables
        real, rows = x.dtype.type, len(fields[0]) // cols
        u = np.clip(x * real(1 / dx) + real(0.5 * self.length / dx + 4), 0, real(cols - 1.001))
        v = np.clip(y * real(1 / dy) + real(0.5 * self.width / dy + 4), 0, real(rows - 1.001))
        i, j = u.astype(np.int32), v.astype(np.int32)
        u, v = u - i, v - j
        at = j * cols + i
        return [_straight(fields[k], at, cols, u, v) for k in what]

    def _profile_slope(self, z: Array) -> Array:
        """dP/dz."""
        real, half = z.dtype.type, 0.5 * self.thickness
        even, odd = self._modes[4]
        t = np.clip(z * real(1 / half), real(-1), real(1))
        level = 1 - t * t
        return np.asarray(level * (real(odd) * level - 4 * t * (real(odd) * t + real(even))))

    def height(self, x: Array, y: Array, z: Array, slope: Array | None = None) -> Array:
        """Where points come from, their height alone [m]: z = z0 + a P(z0), solved by Newton's method; slope is a."""
        real, half = z.dtype.type, 0.5 * self.thickness
        even, odd = (real(v) for v in self._modes[4])
        slope = (self._fields(x, y, 0)[0] if slope is None else slope).astype(z.dtype, copy=False)
        t = np.clip(z * real(1 / half), real(-1), real(1))
        level = 1 - t * t
        old = t - slope * (level * level * (odd * t + even))
        for _ in range(4 if z.dtype == np.float64 else 1):
            level = 1 - old * old
            odd_part = old * odd
            odd_part += even
            off = odd_part * level
            steep = level * odd
            odd_part *= old
            odd_part *= 4
            steep -= odd_part
            steep *= level
            steep *= slope
            steep += real(1)
            off *= level
            off *= slope
            off += old
            off -= t
            off /= steep
            old -= off
        old -= t
        old *= real(half)
        old += z
        return np.asarray(old)

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        slope, flow = self._fields(x, y, 0, 1)
        old = self.height(x, y, z, slope)
        return Pulled(x + flow.astype(z.dtype, copy=False) * self._profile_slope(old), y, old)

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """Solved by fixed steps: the flow is small beside its waves."""
        steep, new = self._profile_slope(z), x
        for _ in range(24):
            new = x - self._fields(new, y, 1)[0] * steep
        even, odd = self._modes[4]
        t = np.clip(2 * z / self.thickness, -1, 1)
        return new, y, z + self._fields(new, y, 0)[0] * (1 - t * t) ** 2 * (odd * t + even) * 0.5 * self.thickness


def _straight(table: Array, at: Array, cols: int, u: Array, v: Array) -> Array:
    """Straight between the four samples about each place, (u, v) on from the one `at`."""
    low, low_next, high, high_next = (table.take(at + k) for k in (0, 1, cols, cols + 1))
    low_next -= low
    low_next = u * low_next
    low_next += low
    high_next -= high
    high_next = u * high_next
    high_next += high
    high_next -= low_next
    return np.asarray(low_next + v * high_next)


@dataclass(frozen=True, eq=False)
class Wave:
    """A hand seen from the frame a laminar bar has now.

    cells (n, 8): for each piece that carries it, between heights low and high [m]: low, high, and the factors and shifts
    that take x, y, z to the frame of the draw. Between and beyond the pieces nothing moves.
    """

    hand: Hand
    cells: Array

    @property
    def shortest(self) -> float:
        """The shortest wave along the bar, as it is now [m]."""
        return float(_WAVES[self.hand.kind][0][0] / np.abs(self.cells[:, 2]).max())

    def height(self, x: Array, y: Array, z: Array) -> Array:
        """Heights [m] before the hand."""
        if len(self.cells) == 1:
            return self._in_cell(x, y, z)
        if z.ndim == 2 and x.ndim == y.ndim == 2 and x.shape[0] == 1 and y.shape[1] == 1:
            return self._in_rows(x, y, z)
        return self._in_cells(x, y, z)

    def _in_cell(self, x: Array, y: Array, z: Array) -> Array:
        low, high, ax, bx, ay, by, az, bz = (z.dtype.type(v) for v in self.cells[0])
        old = (self.hand.height(ax * x + bx, ay * y + by, az * z + bz) - bz) / az
        return np.where((z > low) & (z < high), old, z)

    def _in_cells(self, x: Array, y: Array, z: Array) -> Array:
        shape = np.broadcast_shapes(x.shape, y.shape, z.shape)
        x, y, z = (np.broadcast_to(a, shape) for a in (x, y, z))
        cells = self.cells.astype(z.dtype)
        k = np.clip(np.searchsorted(cells[:, 0], z, side="right") - 1, 0, len(cells) - 1)
        low, high, ax, bx, ay, by, az, bz = (np.take(cells[:, i], k) for i in range(8))
        old = (self.hand.height(ax * x + bx, ay * y + by, az * z + bz) - bz) / az
        return np.where((z > low) & (z < high), old, z)

    def _in_rows(self, x: Array, y: Array, z: Array) -> Array:
        """A block of a picture: every piece asked for the rows it shows in."""
        out = np.array(np.broadcast_to(z, (z.shape[0], max(x.shape[1], z.shape[1]))))
        least, most = z.min(axis=1), z.max(axis=1)
        for low, high, ax, bx, ay, by, az, bz in self.cells.astype(z.dtype):
            rows = np.flatnonzero((most > low) & (least < high))
            if not len(rows):
                continue
            own = slice(int(rows[0]), int(rows[-1]) + 1)
            here = z[own]
            old = self.hand.height(ax * x + bx, ay * y[own if y.shape[0] > 1 else slice(None)] + by, az * here + bz)
            old -= bz
            old /= az
            np.copyto(out[own], old, where=(here > low) & (here < high))
        return out

    def seen(self, scale: Sequence[float], shift: Sequence[float]) -> Wave:
        """The wave in a new frame, from which the present one is scale * p + shift (x, y, z)."""
        cells = self.cells.copy()
        for k in range(3):
            factor, at = 2 + 2 * k, 3 + 2 * k
            cells[:, at] += cells[:, factor] * shift[k]
            cells[:, factor] *= scale[k]
        cells[:, :2] = np.sort((cells[:, :2] - shift[2]) / scale[2], axis=1)
        return replace(self, cells=cells[np.argsort(cells[:, 0])])


Waves = tuple[Wave, ...]


def lifted(waves: Waves, x: Array, y: Array, z: Array) -> Array:
    """Heights [m] in the laminate of points of a laminar bar, the last hand taken back first.

    Points of a picture (a row of x, a column of y) are lifted in every so many columns and between those by cubics, see
    `between_columns`.
    """
    if not waves:
        return z
    if z.ndim == 2 and x.shape == (1, z.shape[1]) and y.shape == (z.shape[0], 1):
        far = min(wave.shortest for wave in waves) / _NODES_A_WAVE
        return between_columns(lambda *at: _lifted(waves, *at) - at[2], x, y, z, far) + z
    return _lifted(waves, x, y, z)


def _lifted(waves: Waves, x: Array, y: Array, z: Array) -> Array:
    for wave in reversed(waves):
        z = wave.height(x, y, z)
    return z


def seen(waves: Waves, scale: Sequence[float] = (1, 1, 1), shift: Sequence[float] = (0, 0, 0)) -> Waves:
    """Waves in a new frame, from which the present one is scale * p + shift (x, y, z)."""
    return tuple(wave.seen(scale, shift) for wave in waves)


def laid_up(pieces: Sequence[tuple[Waves, float]]) -> Waves:
    """The waves of pieces laid on one another, each in its own frame and so thick [m], lowest first.

    Hands that have come to lie in very many thin pieces are left away.
    """
    total = sum(thick for _, thick in pieces)
    floor, hands, cells = -0.5 * total, {}, {}  # type: ignore[var-annotated]
    for waves, thick in pieces:
        for wave in seen(waves, shift=(0, 0, -(floor + 0.5 * thick))):
            own = wave.cells.copy()
            own[:, :2] = np.clip(own[:, :2], floor, floor + thick)
            hands[id(wave.hand)] = wave.hand
            cells.setdefault(id(wave.hand), []).append(own)
        floor += thick
    found = [(hands[k], np.concatenate(own)) for k, own in cells.items()]
    return tuple(Wave(hand, own[np.argsort(own[:, 0])]) for hand, own in found if len(own) <= _MOST_CELLS)


def hand_of(
    kind: Kind, strength: float, name: str, number: int, length: float, width: float, thickness: float, before: float
) -> Hand | None:
    """The hand of a draw from a thickness `before` [m], seeded from the bar's name and the step's number; None for
    rolls.
    """
    if kind == "rolled" or strength == 0:
        return None
    share = float(np.clip(np.log(before / thickness) / _FULL, _LEAST, 1.0)) if before > thickness else _LEAST
    return Hand(length, width, thickness, kind, strength * share, zlib.crc32(f"{name}:{number}".encode()))


def fresh(hand: Hand) -> Wave:
    """A hand in the bar it has just worked."""
    half = 0.5 * hand.thickness
    return Wave(hand, np.array([[-half, half, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0]]))
