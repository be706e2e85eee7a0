"""Weld: the open joints of a stack close."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

from billet.bar.bar import Bar, Joined, Laminar, Material
from billet.bar.laminate import OPEN
from billet.bar.maps import Affine
from billet.bar.outcome import Bench, Outcome
from billet.base.messages import Note, hot, note
from billet.heating.heats import heats
from billet.steps.step import Hot

COLD = 1173.15  # [K], 900 C: smiths weld at some 1150 to 1260 C (common practice, no source), a dry weld a little lower


class Weld(Hot):
    """Forge-weld the stack.

    The model closes every joint; whether a weld holds only the smith can tell.
    """

    do: Literal["weld"] = "weld"
    takes_round: ClassVar[bool] = True
    welds: ClassVar[bool] = True
    takes_unwelded: ClassVar[bool] = True

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, lost = heats(bar, bench, self.temperature, self.soak, self.heats)
        return Outcome(
            replace(bar, material=closed(bar.material, bench.number), welded=True), lost, notes=_cold(self.temperature)
        )


def _cold(heat: float) -> tuple[Note, ...]:
    """Say when a heat is so low that it can only be a slip of the pen."""
    if heat >= COLD:
        return ()
    return (
        note(
            "{heat} is far colder than smiths weld at; the joints are counted as closed all the same, so look at the figure again",
            heat=hot(heat),
        ),
    )


def closed(material: Material, number: int) -> Material:
    """The material with its open seams welded by step `number`: those of a laminate, and the last map that jumped."""
    if isinstance(material, Laminar):
        return replace(material, laminate=material.laminate.welded(number))
    if material.step == OPEN:
        return replace(material, step=number)
    if isinstance(material, Joined) or not isinstance(material.map, Affine):
        return material
    return replace(material, parent=closed(material.parent, number))
