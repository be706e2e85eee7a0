"""What a step is given and what it gives back: the bench it is done at, the bar afterwards, and where metal went."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from billet.bar.bar import Bar
from billet.base.messages import Note
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
