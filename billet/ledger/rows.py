"""What a recipe run forwards is: a row a step, the rows of a bar, the bars of a knife."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from billet.bar.bar import Bar
from billet.bar.measure import Measures, measure
from billet.bar.outcome import Lost
from billet.base.errors import InputError
from billet.base.messages import Note
from billet.recipe.recipe import Recipe
from billet.steps.step import Step

MARKS = 100_000  # steps of one bar; a weld is known by bar * MARKS + step


@dataclass(frozen=True, eq=False)
class Row:
    """One step of one bar: what was done, the bar afterwards, and where the metal went [kg]."""

    number: int
    do: str
    bar: Bar
    lost: Lost = field(default_factory=Lost)
    added: float = 0.0
    notes: tuple[Note, ...] = ()
    step: Step | None = None

    @cached_property
    def measures(self) -> Measures:
        """Shares, carbon, layers and skin of the bar after this step."""
        return measure(self.bar)


@dataclass(frozen=True, eq=False)
class BarRun:
    """All rows of one bar; row 0 is the stack or the join."""

    name: str
    rows: tuple[Row, ...]

    @property
    def last(self) -> Bar:
        """The bar after its last step."""
        return self.rows[-1].bar

    def after(self, number: int) -> Bar:
        """The bar after a step; raises InputError for a step that is not there."""
        if not 0 <= number < len(self.rows):
            raise InputError(
                f'--after: bar "{self.name}" has steps 0 (the stack) to {len(self.rows) - 1}, found {number}'
            )
        return self.rows[number].bar


@dataclass(frozen=True, eq=False)
class Ledger:
    """A recipe run forwards."""

    recipe: Recipe
    bars: tuple[BarRun, ...]

    @property
    def last(self) -> Bar:
        """The bar the blade is cut from: the last one, after its last step."""
        return self.bars[-1].last

    def title(self, mark: int) -> str:
        """Which step a weld's number stands for, in words."""
        run = self.bars[mark // MARKS]
        row = run.rows[mark % MARKS]
        return f"{run.name}, step {row.number} ({row.do})" if len(self.bars) > 1 else f"step {row.number} ({row.do})"
