"""What a card says, apart from how it is set: blocks of words, rows, boxes to tick and pictures.

Both writers, PDF and HTML, walk these values; what is decided here is the same on paper and on the phone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Tone = Literal["lead", "plain", "small", "lesson"]


@dataclass(frozen=True)
class Words:
    """A paragraph."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Heading:
    """A heading inside a card."""

    text: str


@dataclass(frozen=True)
class Ticks:
    """Lines with a box to tick."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Task:
    """One numbered piece of work: what to do, what goes with it, the sizes to reach and what is to be written down.

    ``reach`` are pairs of a name and a size; beside each what was measured is to be written.
    """

    number: str
    what: str
    details: tuple[str, ...] = ()
    reach: tuple[tuple[str, str], ...] = ()
    gate: str = ""
    lesson: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its sizes."""
        return tuple(name for name, _ in self.reach)


@dataclass(frozen=True)
class Tasks:
    """Numbered work, in order."""

    tasks: tuple[Task, ...]


@dataclass(frozen=True)
class Table:
    """Rows under heads; ``shares`` are the widths of the columns over the width of the page, an empty cell is one to be
    written in. ``left`` are the columns set to the left."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]
    left: tuple[int, ...] = (0,)


@dataclass(frozen=True)
class Signs:
    """What is to be read from a distance: a name and what it says, as large as the page allows."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Picture:
    """A picture, as PNG, and the words under it."""

    png: bytes
    width: int
    height: int
    caption: str = ""


@dataclass(frozen=True)
class Cautions:
    """The cautions that belong to a card, in full."""

    lines: tuple[str, ...]


Block = Words | Heading | Ticks | Tasks | Table | Signs | Picture | Cautions


@dataclass(frozen=True)
class Card:
    """One card: its name, whose it is, and what it says. A ``poster`` is set on one page, as large as it fits."""

    key: str
    title: str
    blocks: tuple[Block, ...] = field(default=())
    poster: bool = False
