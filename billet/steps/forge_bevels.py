"""Shape: forge bevels, taper and point by a share, so that the layers follow the surface; the rest is ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from billet.bar.bar import Bar, Worked
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Share
from billet.base.messages import Note, long, note, refuse, thin
from billet.forming.blade_forging import ROUNDING, Forged
from billet.steps.warm import Warm

Array = NDArray[np.float64]

_THINNEST = 20.0  # bar over forged thickness past which one step is no likeness of forging


@dataclass(frozen=True, eq=False)
class ForgedBar(Bar):
    """A bar forged towards the blade: its sizes are those of the box round it, `fill` its share of the box, `form` the
    way back to the bar it was forged from. Only heats, surface and trim may follow."""

    fill: float = 1.0
    form: Forged | None = None

    @property
    def volume(self) -> float:
        """Volume of the metal, not of the box [m3]."""
        return self.area * self.length * self.fill

    def contains(self, points: Array) -> NDArray[np.bool_]:
        """Which points (3, n) [m] lie in the bar's metal."""
        boxed = super().contains(points)
        if self.form is None:
            return boxed
        back = self.form.pull(*points)
        inside = [np.abs(p) <= 0.5 * s for p, s in zip((back.x, back.y, back.z), self.form.size, strict=True)]
        return np.asarray(boxed & inside[0] & inside[1] & inside[2])


class ForgeBevels(Warm):
    """Forge the blade's bevels, taper and point, wholly or in part; the rest is ground.

    The knife is that of [blade] at hardening. The bar's sizes become those of the box round the forging. It is the last
    working step of the last bar.
    """

    do: Literal["forge_bevels"] = "forge_bevels"
    forges_to_blade: ClassVar[bool] = True
    share: Share = Field(
        description="How far the forging goes: 0 leaves the bar as it is, 1 leaves only the grinding allowance; example 0.7."
    )
    lengthen: Share = Field(
        0.5,
        description="How much of the metal that the thinning frees goes into length, from 0 (all into width) to 1. Default 0.5; example 0.6.",
    )

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        if bench.blade is None:
            raise refuse("shape forges towards the blade: it belongs to the last bar, and the recipe needs a [blade]")
        if np.isfinite(bar.corner):
            raise refuse("the bar's corners are round; draw it flat before it is forged to shape")
        bar, lost = self.heated(bar, bench)
        by = Forged((bar.length, bar.width, bar.thickness), bench.blade, self.share, self.lengthen)
        _check(by)
        length, width, thickness = by.sizes
        new = ForgedBar(
            bar.name,
            length,
            width,
            thickness,
            Worked(bar.material, by, bench.number),
            bar.layers_counted,
            bar.welded,
            bar.mass / bar.volume,
            fill=bar.volume / (length * width * thickness),
            form=by,
            skins=bar.skins,
        )
        return Outcome(new, lost, notes=_short(by))


def _check(by: Forged) -> None:
    """Refuse a bar thinner than the blade, and one so thick that no one step tells how it flows."""
    knife, thickness = by.knife, by.size[2]
    x = np.linspace(0, knife.length * (1 - 1e-9), 257)
    y = np.maximum(knife.spine_y(x) - 1e-9, knife.edge_y(x))
    spine = float(np.nanmax(knife.half(x, y, "left") + knife.half(x, y, "right")))
    if by.share > 0 and spine > thickness * ROUNDING:
        raise refuse(
            "the blade is {blade} thick at hardening and the bar only {bar}; forging to shape makes nothing "
            "thicker, draw the bar less thin",
            blade=thin(spine),
            bar=thin(thickness),
        )
    thinnest = by.thinnest(knife.placement(*by.size[:2]))
    if thickness > _THINNEST * thinnest:
        raise refuse(
            "share: a bar {bar} thick would be forged to {thin} in one go; draw it thinner before it is forged "
            "to shape",
            bar=thin(thickness),
            thin=thin(thinnest),
        )


def _short(by: Forged) -> tuple[Note, ...]:
    """Warn where the forging does not hold the outline."""
    knife, place, length = by.knife, by.place, by.sizes[0]
    x = np.linspace(0, knife.length, 201)
    there = x + place.heel_x
    half = by.half_width(there)
    over = np.maximum(knife.spine_y(x) + place.edge_y - half, -half - (knife.edge_y(x) + place.edge_y))
    over = np.where(np.abs(there) <= 0.5 * length, over, -np.inf)
    out = []
    past = max(there[-1] - 0.5 * length, -0.5 * length - there[0])
    if past > 1e-6:
        out.append(
            note(
                "forged to shape the bar is {length} long and the blade runs {past} past its end",
                length=long(length),
                past=long(float(past)),
            )
        )
    if over.max() > 1e-6:
        out.append(
            note(
                "forged to shape the bar is too narrow for the blade {at} from the heel, by {short}; a wider bar "
                "or less lengthen",
                at=long(float(x[over.argmax()])),
                short=long(float(over.max())),
            )
        )
    return tuple(out)
