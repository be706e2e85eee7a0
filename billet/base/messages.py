"""What a step has to say to the smith: warnings and refusals as values, put into words only at the door.

A note keeps its numbers in SI; `say` prints them in the units of the recipe, so physics never formats anything.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from billet.base import furnace
from billet.base.furnace import setting
from billet.base.units import Kind, show


@dataclass(frozen=True)
class Amount:
    """A number with its kind, waiting to be printed: `value` in SI, `fine` for thicknesses (thou, tenths of a millimetre);
    `words` prints it its own way, as a furnace's dial has it for instance."""

    value: float
    kind: Kind = Kind.LENGTH
    fine: bool = False
    words: Callable[[float, str], str] | None = None

    def say(self, units: str) -> str:
        """Print the amount in the recipe's units ("metric" or "imperial")."""
        if self.words is not None:
            return self.words(self.value, units)
        return show(self.value, self.kind, units, fine=self.fine)


@dataclass(frozen=True)
class Note:
    """A sentence with places `{name}` for its amounts; words and counts may be given as plain strings or integers."""

    text: str
    amounts: tuple[tuple[str, Amount | str | int], ...] = ()

    def say(self, units: str = "metric") -> str:
        """The sentence in the recipe's units."""
        words = {name: a.say(units) if isinstance(a, Amount) else str(a) for name, a in self.amounts}
        return self.text.format(**words)


def note(text: str, **amounts: Amount | str | int) -> Note:
    """Build a note; keyword arguments fill the places in `text`."""
    return Note(text, tuple(amounts.items()))


def thin(value: float) -> Amount:
    """A thickness [m] to be printed finely."""
    return Amount(float(value), Kind.LENGTH, fine=True)


def long(value: float) -> Amount:
    """A length or width [m] to be printed plainly."""
    return Amount(float(value), Kind.LENGTH)


def hot(value: float) -> Amount:
    """A temperature [K]."""
    return Amount(float(value), Kind.TEMPERATURE)


def dial(value: float) -> Amount:
    """A temperature [K] to set a furnace to, printed as its dial has it."""
    return Amount(float(value), Kind.TEMPERATURE, words=setting)


def at_most(value: float) -> Amount:
    """A limit of temperature [K], printed at the mark of a dial below it."""
    return Amount(float(value), Kind.TEMPERATURE, words=furnace.at_most)


def given(value: float) -> Amount:
    """A temperature [K] that somebody chose, printed as it was typed."""
    return Amount(float(value), Kind.TEMPERATURE, words=furnace.given)


class RefusedError(Exception):
    """A step cannot be done to this bar; carries the note that says why and what would help."""

    def __init__(self, why: Note) -> None:
        super().__init__(why.say("metric"))
        self.why = why


def refuse(text: str, **amounts: Amount | str | int) -> RefusedError:
    """The refusal to raise: `raise refuse("...", name=thin(0.001))`."""
    return RefusedError(note(text, **amounts))
