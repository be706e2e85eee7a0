"""The knife behind its heel: neck, bolster and tang.

Blade frame: what is behind the heel has x < 0. Bolster and tang are what the forge leaves: flat faces, their edges
broken later by the file.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.blade.bevels import Side
from billet.blade.design import BladeDesign
from billet.blade.geometry import Blade
from billet.blade.transition import reach_of

Array = NDArray[np.float64]

_UNDER_SPINE = 0.12  # of the heel height a stick tang without bolster lies under the spine; from memory, unverified
_SHOULDER = 0.003  # radius in which a stick tang leaves the bolster or the neck [m]; from memory, unverified
_HEIGHTS = 129  # at which the end of the transition is sought
_NARROWS = 0.6  # a stick tang's width at its end over that at the shoulder; from memory, unverified


def kinks(blade: Blade, x: Array, side: Side) -> Array:
    """Return the heights at which a face is not smooth along y where it thickens towards the block, shape (3, n) [m]."""
    front, plunge = blade.front, blade.design.plunge
    low, high = blade.edge_y(np.maximum(x, 0.0)), blade.spine_y(np.maximum(x, 0.0))
    if front is None or plunge is None:
        return np.stack([low] * 3)
    y = low + np.linspace(0, 1, _HEIGHTS)[:, None] * (high - low) * (1 - 1e-12)
    at = np.maximum(x, 0.0)
    bare = blade.ground_half(np.broadcast_to(at, y.shape), y, side)
    away = np.hypot(np.maximum(x - front.x, 0.0), np.maximum(front.low - y, 0.0))
    over = reach_of(np.maximum(front.half - bare, 0.0), plunge.wheel) - away
    turns = (over[1:] > 0) != (over[:-1] > 0)
    some, column = turns.any(axis=0), np.arange(len(x))
    found = [np.clip(np.full_like(x, front.low), low, high)]
    for k in (turns.argmax(axis=0), len(turns) - 1 - turns[::-1].argmax(axis=0)):
        a, b = over[k, column], over[k + 1, column]
        share = np.where(some, a / np.where(a == b, 1.0, a - b), 0.0)
        found.append(np.where(some, y[k, column] + share * (y[k + 1, column] - y[k, column]), low))
    return np.stack(found)


@dataclass(frozen=True)
class Whole:
    """A knife from the end of its tang to its point, as the forge and the grinder leave it; with ``neck_only`` from the
    end of the metal behind its heel that stays bare."""

    blade: Blade
    neck_only: bool = False

    @property
    def design(self) -> BladeDesign:
        """Return the design."""
        return self.blade.design

    @cached_property
    def sizes(self) -> tuple[float, float, float]:
        """Return length, width and thickness of the tang [m]."""
        return self.design.tang.size(self.blade.taper.heel)

    @cached_property
    def places(self) -> tuple[float, float, float]:
        """Return where the neck ends, where the bolster ends, and where the tang ends [m]; none is above zero."""
        neck = -self.design.heel.choil
        bolster = neck - (self.design.bolster.length if self.design.bolster else 0.0)
        return neck, bolster, bolster - self.sizes[0]

    @property
    def behind(self) -> float:
        """Return what lies behind the heel [m]."""
        return -self.places[0 if self.neck_only else 2]

    @cached_property
    def bolster_y(self) -> tuple[float, float]:
        """Return the lower and upper side of the bolster, or of the neck where there is none [m]."""
        top = float(self.blade.spine_y(0.0))
        if self.design.bolster is not None:
            return top - self.design.bolster.width, top
        drop = self.design.heel.drop
        low = self.tang_y[0] if drop is None else drop
        return min(low, self.tang_y[0]), top

    @cached_property
    def tang_y(self) -> tuple[float, float]:
        """Return the lower and upper side of the tang at its thick end [m]."""
        top, width = float(self.blade.spine_y(0.0)), self.sizes[1]
        low = float(self.blade.edge_y(0.0))
        if self.design.tang.kind == "stick":
            if self.design.bolster is not None:
                middle = top - 0.5 * self.design.bolster.width
                return middle - 0.5 * width, middle + 0.5 * width
            top -= _UNDER_SPINE * self.design.heel_height
        return max(top - width, low), top

    def edge_y(self, x: ArrayLike) -> Array:
        """Return the lower side of the knife [m]."""
        return self._side(x, 0)

    def spine_y(self, x: ArrayLike) -> Array:
        """Return the upper side of the knife [m]."""
        return self._side(x, 1)

    def _side(self, x: ArrayLike, which: int) -> Array:
        x = np.asarray(x, dtype=float)
        neck, bolster, end = self.places
        own = (self.blade.edge_y if which == 0 else self.blade.spine_y)(np.clip(x, 0.0, None))
        out = np.where(x < neck, self.bolster_y[which], own)
        if which == 0 and neck < 0:
            deep = np.clip((x - neck) / -neck, 0.0, 1.0)
            heel = float(self.blade.edge_y(0.0))
            out = np.where((x < 0) & (x >= neck), heel + (self.bolster_y[0] - heel) * np.sqrt(1 - deep**2), out)
        return np.where(x < bolster, self._tang_side(x, which, bolster, end), out)

    def _tang_side(self, x: Array, which: int, shoulder: float, end: float) -> Array:
        """Return a side of the tang: a stick leaves its shoulder in a small radius, narrows and ends round; a full
        one is parallel and ends round."""
        low, high = self.tang_y
        length, middle = max(shoulder - end, 1e-9), 0.5 * (low + high)
        along = np.clip((shoulder - x) / length, 0.0, 1.0)
        stick = self.design.tang.kind == "stick"
        half = 0.5 * (high - low) * (1 - (1 - _NARROWS) * along if stick else 1.0)
        tip = 0.5 * (high - low) * (_NARROWS if stick else 1.0)
        round_end = np.clip((end + tip - x) / max(tip, 1e-9), 0.0, 1.0)
        half = half * np.sqrt(1 - round_end**2)
        if stick:
            limit = self.bolster_y[which] - middle
            reach = np.clip(1 - (shoulder - x) / _SHOULDER, 0.0, 1.0)
            fillet = _SHOULDER * (1 - np.sqrt(1 - reach**2))
            half = np.minimum(half + fillet, max(abs(limit), 0.5 * (high - low)))
        return middle + (half if which else -half)

    def half(self, x: ArrayLike, y: ArrayLike, side: Side) -> Array:
        """Return the distance from the mid-plane to the face on a side [m], NaN outside the knife."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        neck, bolster, end = self.places
        blade = self.blade.face_half(np.maximum(x, 0.0), y, side, at=x)
        out = np.where(x < neck, self._block, blade)
        out = np.where(x < bolster, self._tang_half(x, bolster, end), out)
        inside = (x >= -self.behind) & (x <= self.blade.length) & (y >= self.edge_y(x)) & (y <= self.spine_y(x))
        return np.where(inside, out, np.nan)

    @property
    def _block(self) -> float:
        bolster = self.design.bolster
        return 0.5 * (self.blade.taper.heel if bolster is None else bolster.thickness)

    def _tang_half(self, x: Array, shoulder: float, end: float) -> Array:
        thick = 0.5 * self.sizes[2]
        if self.design.tang.kind != "tapered":
            return np.full(np.shape(x), thick)
        along = np.clip((shoulder - x) / max(shoulder - end, 1e-9), 0.0, 1.0)
        return thick * (1 - 2 / 3 * along)

    def volume_behind(self) -> float:
        """Return the volume of neck, bolster and tang [m3], by the midpoint rule over 0.1 mm by 400 heights."""
        x = np.arange(-self.behind, 0.0, 1e-4) + 5e-5
        x = x[x < 0]
        low, high = self.edge_y(x), self.spine_y(x)
        share = (np.arange(400) + 0.5)[:, None] / 400
        y = low + share * (high - low)
        sides: tuple[Side, Side] = ("left", "right")
        thick = sum((np.nan_to_num(self.half(np.broadcast_to(x, y.shape), y, s)) for s in sides), np.zeros(y.shape))
        return float((thick.mean(axis=0) * (high - low)).sum() * 1e-4)
