"""What every step of a recipe is: a value that knows what it does to a bar.

A step is a frozen model with the craft's verb as its `do`. `apply` says what the bar becomes (forwards); where a point of
the new bar came from (backwards) is the map it puts over the material. Adding a step touches three files: its own, its row in
the table of examples that the laws run over, and the manual.
"""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field

from billet.bar.bar import Bar
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Heats, Soak, Temperature


class Step(BaseModel):
    """Base of all steps."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    kinds: ClassVar[dict[str, type[Step]]] = {}
    # What the ledger must know of a step; each is false of a new step until its file says otherwise.
    welds: ClassVar[bool] = False  # closes open joints
    takes_unwelded: ClassVar[bool] = False  # may be done to a stack whose joints are open
    takes_round: ClassVar[bool] = False  # may be done to a bar still round from a twist
    lays_up: ClassVar[bool] = False  # lays cut pieces to one another: their weld planes are named for it
    stacks_loose: ClassVar[bool] = False  # leaves pieces loose on top of one another, which may tip
    eats_faces: ClassVar[bool] = False  # scale or grinding may take a whole outer layer
    forges_to_blade: ClassVar[bool] = False  # forges the bar to the shape of its blade
    follows_forging: ClassVar[bool] = False  # may be done after the bar is forged to the shape of its blade
    follows_draw_out: ClassVar[bool] = False  # may be done to a bar of which a part is drawn out
    refines_grain: ClassVar[bool] = False  # hot without forging: makes new grains when it is hot enough

    @classmethod
    def __pydantic_init_subclass__(cls, **options: Any) -> None:
        """Make a step known, once it is whole: others may look in from another thread meanwhile."""
        super().__pydantic_init_subclass__(**options)
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

    eats_faces: ClassVar[bool] = True

    temperature: Temperature = Field(description='How hot the bar is worked or held; example "1150 C".')
    soak: Soak = Field(
        description='How long it stays that hot, counted once the core is as hot as the skin; example "10 min".'
    )
    heats: Heats = Field(1, description="How many times it goes back to the fire for this step. Default 1; example 2.")
