"""What every step of a recipe is: a value that knows what it does to a bar.

A step is a frozen model with the craft's verb as its `do`. `apply` says what the bar becomes (forwards); where a point of
the new bar came from (backwards) is the map it puts over the material. Adding a step touches three files: its own, its row in
the table of examples that the laws run over, and the manual.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, ClassVar, NamedTuple

import numpy as np
from pydantic import BaseModel, ConfigDict

from billet.bar.bar import Bar, Laminar, corner_share, worked
from billet.bar.maps import moved, stretch
from billet.bar.sizes import Size, pared
from billet.base.fields import Duration, Heats, Temperature
from billet.base.messages import Note, long, refuse, thin
from billet.base.shop import Shop


class Lost(NamedTuple):
    """Where metal went in one step [kg]."""

    scale: float = 0.0
    kerf: float = 0.0
    cleanup: float = 0.0
    trim: float = 0.0
    grinding: float = 0.0

    def plus(self, **more: float) -> Lost:
        """The same with more lost under the named headings."""
        return self._replace(**{k: getattr(self, k) + v for k, v in more.items()})

    @property
    def total(self) -> float:
        """All that was lost [kg]."""
        return float(sum(self))


@dataclass(frozen=True)
class Outcome:
    """What a step made of a bar: the bar, what was lost, what was added (spacers) [kg], and what the smith should know."""

    bar: Bar
    lost: Lost = field(default_factory=Lost)
    added: float = 0.0
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True)
class Bench:
    """Where a step is done: the shop, the running number of the step in the whole recipe, and how strong the scale is (1 as computed)."""

    shop: Shop
    number: int = 1
    scale_factor: float = 1.0
    steels: Any = None  # the recipe's own bars by name, for spacers
    diffuse: bool = True
    folder: Path = Path()  # where the recipe lies, for the files it names
    blade: Any = None  # the knife at hardening, for the bar it is ground from when that bar is forged to shape


class Step(BaseModel):
    """Base of all steps."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    kinds: ClassVar[dict[str, type[Step]]] = {}
    needs_weld: ClassVar[bool] = True
    takes_round: ClassVar[bool] = False

    def __init_subclass__(cls, **options: Any) -> None:
        super().__init_subclass__(**options)
        verb = cls.__annotations__.get("do")
        if verb is not None:
            Step.kinds[cls.__name__] = cls

    @property
    def verb(self) -> str:
        """The trade's word for the step."""
        return str(getattr(self, "do"))  # noqa: B009 - declared by the subclasses

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        """What the bar becomes. Raises `RefusedError` where the step cannot be done."""
        raise NotImplementedError

    def unfolded(self) -> tuple[Step, ...]:
        """The step as single rows of the ledger; a cycle with its own weld, draw and times gives many."""
        return (self,)


class Hot(Step):
    """A step done hot."""

    heat: Temperature
    time: Duration
    heats: Heats = 1


def pare(
    bar: Bar,
    *,
    bottom: float = 0.0,
    top: float = 0.0,
    sides: float = 0.0,
    left: float = 0.0,
    right: float = 0.0,
    near: float = 0.0,
) -> tuple[Bar, float]:
    """Take metal off a bar: depths [m] from bottom and top face, from each side, from the left (-x) and right (+x) end;
    `near` [m] is how much more than `sides` comes off the edge side (-y), and less off the other.

    Returns the bar and the mass taken [kg]. Raises `RefusedError` when nothing would be left.
    """
    length, width, thickness = pared(Size(bar.length, bar.width, bar.thickness), bottom, top, sides, left, right)
    for size, had, what in (
        (length, bar.length, "length"),
        (width, bar.width, "width"),
        (thickness, bar.thickness, "thickness"),
    ):
        if size <= 1e-9 * had:
            raise refuse(
                "nothing is left of the bar: {taken} would come off a {what} of {had}; start with more metal or take off less",
                taken=thin(had - size),
                what=what,
                had=thin(had),
            )
    share = corner_share(bar.corner)
    if bar.laminate is not None:
        laminate, areal = bar.laminate.skimmed(bottom, top)
        laminate = replace(laminate, thickness=laminate.thickness * (thickness / laminate.total))
        taken = share * (
            areal * bar.length * bar.width + laminate.areal_mass * (bar.length * bar.width - length * width)
        )
        material = Laminar(laminate)
        density = laminate.areal_mass / laminate.total
        return replace(
            bar, length=length, width=width, thickness=thickness, material=material, mean_density=density
        ), taken
    off_centre = moved((left - right) / 2, near, (bottom - top) / 2)
    material_after = worked(bar.material, off_centre) if near or left != right or bottom != top else bar.material
    skins = bar.skins.cut(bottom, top, sides)
    new = replace(bar, length=length, width=width, thickness=thickness, material=material_after, skins=skins)
    return new, (bar.volume - new.volume) * bar.mean_density


def reshape(bar: Bar, length: float, width: float, thickness: float, number: int = 0) -> Bar:
    """Forge a bar to new sizes [m] of the same volume; a laminate only changes its thickness, anything else gets an affine map."""
    if bar.laminate is not None:
        return replace(
            bar, length=length, width=width, thickness=thickness, material=Laminar(bar.laminate.to(thickness))
        )
    by = stretch(length / bar.length, width / bar.width, thickness / bar.thickness)
    skins = bar.skins.scaled(width / bar.width, thickness / bar.thickness)
    return replace(
        bar, length=length, width=width, thickness=thickness, material=worked(bar.material, by, number), skins=skins
    )


def check_positive(value: float, what: str) -> None:
    """Refuse a size that is zero."""
    if not np.isfinite(value) or value <= 0:
        raise refuse("the {what} must be more than nothing, found {found}", what=what, found=long(value))
