"""Split: part the bar hot with a wedge, lay the halves together again. With a turn on end it makes the feather.

How far a real wedge drags the layers depends on its shape and the heat; this is an adjustable likeness that keeps the
volume.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from billet.bar.bar import Bar, Worked
from billet.bar.laminate import OPEN, Laminate
from billet.bar.maps import PointMap, Pulled
from billet.bar.outcome import Bench, Outcome
from billet.bar.trace import slope
from billet.base.fields import Length
from billet.base.messages import Note, long, note, refuse, thin
from billet.steps.warm import Warm

Array = NDArray[np.float64]
Along = Literal["width", "thickness"]

_MUCH = 0.5  # share of the height dragged past which little of the stack is left (common practice, no source)
_TEARS = 3.0  # shear past which layers tend to tear apart (from memory, as for twists)
_COLUMNS = 4001


@dataclass(frozen=True)
class Wedged(PointMap):
    """Each half sheared along the cut by -drag (1 - s)^2, s the distance from the cut over the reach; nothing moves
    past the reach.

    drag, reach, clean (ground off each cut face) [m]. The wedge parts the width and travels toward -z, or parts the
    thickness and travels toward -y. The determinant is exactly 1.
    """

    drag: float
    reach: float
    clean: float = 0.0
    along: Along = "width"

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        across, down = (y, z) if self.along == "width" else (z, y)
        real = across.dtype.type
        apart = across + np.copysign(real(self.clean), across)
        back = down + (real(self.drag) * self._fade(apart) - real(0.5 * self.drag))
        old = (apart, back) if self.along == "width" else (back, apart)
        return Pulled(x, *old, _side(across), across)

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        across, down = (y, z) if self.along == "width" else (z, y)
        real = across.dtype.type
        ahead = down - (real(self.drag) * self._fade(across) - real(0.5 * self.drag))
        closed = across - np.copysign(real(self.clean), across)
        return (x, closed, ahead) if self.along == "width" else (x, ahead, closed)

    def slope(self, points: Array) -> Array:
        across, down = (1, 2) if self.along == "width" else (2, 1)
        side = np.copysign(1.0, points[across])
        left = np.maximum(1 - (np.abs(points[across]) + self.clean) / self.reach, 0.0)
        out = np.repeat(np.eye(3)[:, :, None], points.shape[1], axis=2)
        out[down, across] = -2 * self.drag / self.reach * left * side
        return out

    def _fade(self, across: Array) -> Array:
        """Share of the drag at a distance from the cut: 1 on it, falling to 0 with zero slope at the reach."""
        left = np.maximum(1 - np.abs(across) * across.dtype.type(1 / self.reach), 0)
        return left * left


def _side(across: Array) -> NDArray[np.int32]:
    return 1 - np.signbit(across).astype(np.int32)


class Split(Warm):
    """Split the bar along its middle with a wedge, which drags the layers with it: a feather, once it is welded.

    The layers are dragged by `drag` at the cut, less and less out to `reach`. along = "width": the cut is the plane y = 0 and the wedge travels through the thickness, from the top face (toward
    -z); along = "thickness": the cut is the plane z = 0 and the wedge travels across the width (toward -y). The cut
    faces are cleaned, and the drag is dressed off both ends of the wedge's way, so that much of the bar is trimmed. A
    weld follows.
    """

    do: Literal["split"] = "split"
    lays_up: ClassVar[bool] = True
    drag: Length = Field(description='How far the layers are dragged along at the cut; example "12 mm".')
    reach: Length = Field(description='How far from the cut the drag is still felt; example "18 mm".')
    along: Along = Field(
        "width",
        description='What the wedge stands across: the middle of the width, driven through the thickness; or the middle of the thickness, driven through the width. Default "width"; example "thickness".',
    )

    @model_validator(mode="after")
    def _sizes(self) -> Split:
        for name in ("drag", "reach"):
            if getattr(self, name) <= 0:
                raise ValueError(f'{name}: must be more than nothing, such as {name} = "8 mm"')
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        if np.isfinite(bar.corner):
            raise refuse("the bar's corners are round; draw it square before it is split")
        bar, lost = self.heated(bar, bench)
        high, wide = (bar.thickness, bar.width) if self.along == "width" else (bar.width, bar.thickness)
        clean = bench.shop.face_cleanup
        if self.drag >= high:
            raise refuse(
                "drag: the wedge would drag the layers {drag} down a bar {high} high, and nothing is left "
                "between its dressed ends; drag less or stack higher",
                drag=long(self.drag),
                high=long(high),
            )
        if 2 * clean >= wide:
            raise refuse(
                "face_cleanup: cleaning {clean} off either side of the cut leaves nothing of a bar {wide} across",
                clean=thin(clean),
                wide=thin(wide),
            )
        by = Wedged(self.drag, self.reach, clean, self.along)
        notes = (*self._limits(high, wide), *_lying(bar, self.along))
        new = self._dressed(bar, by)
        cleaned = bar.mass * 2 * clean / wide
        return Outcome(new, lost.plus(cleanup=cleaned, trim=bar.mass - new.mass - cleaned), notes=notes)

    def _dressed(self, bar: Bar, by: Wedged) -> Bar:
        """The halves laid together, both ends dressed flat."""
        width, thickness = bar.width - 2 * by.clean, bar.thickness - self.drag
        if self.along == "thickness":
            width, thickness = bar.width - self.drag, bar.thickness - 2 * by.clean
        new = replace(bar, width=width, thickness=thickness, material=Worked(bar.material, by, OPEN), welded=False)
        if bar.laminate is None:
            return new
        return replace(new, mean_density=_kept(bar.laminate, new, by) / new.area)

    def _limits(self, high: float, wide: float) -> tuple[Note, ...]:
        out = []
        if self.drag > _MUCH * high:
            out.append(
                note(
                    "the drag of {drag} is more than half of a stack {high} high, and as much is dressed off it; "
                    "a blunter push wastes less",
                    drag=long(self.drag),
                    high=long(high),
                )
            )
        if self.reach > 0.5 * wide:
            out.append(
                note(
                    "the drag reaches {reach} and each half is only {half} wide: the barbs do not run out into "
                    "straight lines",
                    reach=long(self.reach),
                    half=long(0.5 * wide),
                )
            )
        if 2 * self.drag / self.reach > _TEARS:
            out.append(
                note(
                    "at the cut the layers are sheared by {shear}, and past {most} they tend to come apart; less "
                    "drag or more reach",
                    shear=f"{2 * self.drag / self.reach:.1f}",
                    most=f"{_TEARS:g}",
                )
            )
        return tuple(out)


def _kept(laminate: Laminate, new: Bar, by: Wedged) -> float:
    """Mass left of flat layers, a length of the bar, column by column [kg/m]."""
    below = np.r_[0.0, np.cumsum(laminate.thickness * laminate.density)]
    if by.along == "width":
        y = (np.arange(_COLUMNS) + 0.5) / _COLUMNS * (0.5 * new.width)
        low, high = (by.pull(y[:1], y, np.full(1, 0.5 * s * new.thickness)).z for s in (-1, 1))
        return (
            float((np.interp(high, laminate.edges, below) - np.interp(low, laminate.edges, below)).mean()) * new.width
        )
    gone = np.interp([-by.clean, by.clean], laminate.edges, below)
    return float(below[-1] - (gone[1] - gone[0])) * new.width


def _lying(bar: Bar, along: Along) -> tuple[Note, ...]:
    """Warn when the wedge would travel along the layers instead of across them."""
    points = np.array([[0.0], [0.05], [0.05]]) * np.array([[bar.length], [bar.width], [bar.thickness]])
    _, across, through = np.abs(slope(bar.material, points).gradient[:, 0])
    down, aside = (through, across) if along == "width" else (across, through)
    if down >= aside:
        return ()
    return (
        note(
            "the wedge travels along the layers and drags them nowhere; turn the bar by a quarter so that it "
            "goes through them"
        ),
    )
