"""Miter: cut the bar on the slant, turn one half over, lay the slant faces together again. Lines meet at an angle: a
chevron."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from billet.bar.bar import Bar, Worked
from billet.bar.laminate import OPEN
from billet.bar.maps import PointMap, Pulled
from billet.bar.outcome import Bench, Outcome
from billet.bar.trace import slope
from billet.base.fields import Angle, Length
from billet.base.messages import Note, note, refuse, thin
from billet.steps.warm import Warm

Array = NDArray[np.float64]

_STEEPEST = np.radians((5.0, 85.0))  # outside these there is hardly a slant, or hardly a bar left
_WASTEFUL = 0.45  # share of the metal kept below which it is said; a corner-to-corner cut keeps half at best


@dataclass(frozen=True)
class Mitred(PointMap):
    """Two slabs from either side of a slant cut through the bar's middle, the new x along the cut, the new y across it.
    Exact.

    angle [rad] between cut and bar; gap [m] from the middle of the cut to each ground face; middle [m] of the lower
    slab along the cut. The upper slab is turned over about the upright of its cut face, so it lies at minus that.
    """

    angle: float
    gap: float
    middle: float

    @cached_property
    def _axes(self) -> Array:
        """Columns: along the cut, across it, through."""
        c, s = np.cos(self.angle), np.sin(self.angle)
        return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        real = y.dtype.type
        upper = y >= 0
        sign = np.where(upper, real(-1), real(1))
        along, across = sign * (x + real(self.middle)), y - sign * real(self.gap)
        c, s = real(np.cos(self.angle)), real(np.sin(self.angle))
        return Pulled(c * along - s * across, s * along + c * across, sign * z, upper.astype(np.int32), y)

    def slope(self, points: Array) -> Array:
        sign = np.where(points[1] >= 0, -1.0, 1.0)
        out = np.repeat(self._axes[:, :, None], points.shape[1], axis=2)
        out[:, 0] *= sign
        out[:, 2] *= sign
        return out

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        c, s = np.cos(self.angle), np.sin(self.angle)
        along, across = c * x + s * y, c * y - s * x
        sign = np.where(across >= 0, -1.0, 1.0)
        return sign * along - self.middle, across + sign * self.gap, sign * z


class Miter(Warm):
    """Cut the bar in two at a slant, turn one half over and lay the cut faces together: lines meet in a chevron.

    The cut goes through the bar's middle, straight through its thickness; one half turns about the upright of its cut.

    Of both halves the largest slab along the cut is kept: its corners are cut square, which is trim. The new length
    lies along the cut, the seam in the middle of the new width. Lines that ran along the bar meet the seam at the angle
    on either side; a later draw turns tan(angle) by width ratio over length ratio. A weld follows.
    """

    do: Literal["miter"] = "miter"
    lays_up: ClassVar[bool] = True
    angle: Angle = Field(description='Angle of the cut to the length of the bar; example "30 deg".')
    kerf: Length | None = Field(
        None, description='Metal the saw takes. Left out, the shop\'s own kerf; example "2 mm".'
    )

    @model_validator(mode="after")
    def _slant(self) -> Miter:
        low, high = _STEEPEST
        if not low <= self.angle <= high:
            raise ValueError(
                f"angle: found {np.degrees(self.angle):.4g} degrees, wanted 5 to 85 degrees between the cut and the "
                'length of the bar, such as angle = "45 deg"'
            )
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        if np.isfinite(bar.corner):
            raise refuse("the bar's corners are round; draw it square before it is cut on the slant")
        bar, lost = self.heated(bar, bench)
        kerf, clean = bench.shop.kerf if self.kerf is None else self.kerf, bench.shop.face_cleanup
        gap = 0.5 * kerf + clean
        length, depth, middle = largest_slab(bar.length, bar.width, self.angle, gap)
        if depth <= 0:
            raise refuse(
                "angle: kerf and cleanup of {gap} on either side of the cut leave nothing of a bar {wide} wide; "
                "a wider bar or another angle",
                gap=thin(gap),
                wide=thin(bar.width),
            )
        by = Mitred(self.angle, gap, middle)
        new = replace(
            bar,
            length=length,
            width=2 * depth,
            material=Worked(bar.material, by, OPEN),
            welded=False,
            layers_counted=2 * bar.layers_counted,
            mean_density=bar.mass / bar.volume,
            skins=bar.skins.alike(),
        )
        low, high = _chord(bar.length, bar.width, self.angle, 0.0)
        sawn, cleaned = (wide * bar.thickness * new.mean_density for wide in (kerf * (high - low), 2 * clean * length))
        lost = lost.plus(kerf=sawn, cleanup=cleaned, trim=bar.mass - new.mass - sawn - cleaned)
        return Outcome(new, lost, notes=(*_lying(bar), *_yield(bar, new, self.angle)))


def _chord(length: float, width: float, angle: float, across: float) -> tuple[float, float]:
    """Both ends, along the cut, of the line at a distance across it inside the bar [m]; the first above the second when
    there is none."""
    c, s = np.cos(angle), np.sin(angle)
    low = max((-0.5 * length + across * s) / c, (-0.5 * width - across * c) / s)
    high = min((0.5 * length + across * s) / c, (0.5 * width - across * c) / s)
    return low, high


def largest_slab(length: float, width: float, angle: float, gap: float) -> tuple[float, float, float]:
    """Length along the cut, depth from it and middle along it [m] of the largest rectangle in the lower half of a bar
    cut at an angle [rad], its one side `gap` below the cut; depth 0 when there is none."""
    far = 0.5 * (length * np.sin(angle) + width * np.cos(angle)) - gap
    if far <= 0:
        return 0.0, 0.0, 0.0

    def ends(depth: float) -> tuple[float, float]:
        near, off = _chord(length, width, angle, -gap), _chord(length, width, angle, -gap - depth)
        return max(near[0], off[0]), min(near[1], off[1])

    def left_out(depth: float) -> float:
        low, high = ends(depth)
        return -depth * (high - low)

    from scipy.optimize import minimize_scalar  # slow to load, and most recipes never come here

    depth = float(minimize_scalar(left_out, bounds=(0.0, far), method="bounded", options={"xatol": 1e-10}).x)
    low, high = ends(depth)
    return (high - low, depth, 0.5 * (low + high)) if high > low else (0.0, 0.0, 0.0)


def _lying(bar: Bar) -> tuple[Note, ...]:
    """Warn when the layers lie flat: the cut then crosses no line that could be turned."""
    points = np.array([[0.05], [0.05], [0.05]]) * np.array([[bar.length], [bar.width], [bar.thickness]])
    along, across, through = np.abs(slope(bar.material, points).gradient[:, 0])
    if np.hypot(along, across) >= through:
        return ()
    return (
        note(
            "the layers lie flat, and a slant cut turns only lines that show on the face; turn the bar by a "
            "quarter or stand it first"
        ),
    )


def _yield(bar: Bar, new: Bar, angle: float) -> tuple[Note, ...]:
    kept = new.volume / bar.volume
    if kept >= _WASTEFUL:
        return ()
    percent, best = f"{100 * kept:.0f} %", thin(bar.width / np.tan(angle))
    return (
        note(
            "only {kept} of the bar is left between the squared corners; a bar {best} long, cut from corner to "
            "corner, keeps most",
            kept=percent,
            best=best,
        ),
    )
