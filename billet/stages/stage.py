"""One stage in the life of a knife, as a value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from billet.base.messages import Note

Kind = Literal["bar", "blade"]


@dataclass(frozen=True)
class Stage:
    """A stage: a step of a bar, or one of the blade's after the last bar is forged.

    ``number`` is the one the ledger prints for a bar's step (0 the stack); the blade's go on where the last bar ends.
    ``name`` tells stages apart in words ("second weld", "first temper"), ``do`` is what is done ("weld", "temper");
    ``bar`` is empty for the blade's. ``what`` says what to do, ``before`` and ``after`` what should be true at either
    gate; ``sizes`` [m, kg] are what the piece should then measure, by name, as far as it is known. ``minutes`` is the
    time it takes, None where nothing is known about it; ``mass`` what the piece then weighs and ``lost`` what the stage
    took [kg], None before they are weighed.
    """

    number: int
    name: str
    do: str
    kind: Kind
    what: Note
    bar: str = ""
    before: tuple[Note, ...] = ()
    after: tuple[Note, ...] = ()
    sizes: tuple[tuple[str, float], ...] = ()
    minutes: float | None = None
    mass: float | None = None
    lost: float | None = None

    @property
    def key(self) -> tuple[str, int]:
        """Bar and number, which no two stages of a knife share."""
        return self.bar, self.number

    def __str__(self) -> str:
        return f"{self.bar} {self.number} ({self.do})" if self.bar else self.name
