"""One step of a bar in a sentence for the forge: what is done and to which sizes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from billet.base.furnace import given
from billet.base.messages import Note
from billet.base.units import Kind, show
from billet.ledger.rows import Row
from billet.plan.step_say import say
from billet.recipe.models import BarTable

_LONGEST_TURN = 8  # plates that may repeat together


@dataclass(frozen=True, eq=False)
class Work(Note):
    """What is done in a step that was run: its sizes, and its heats."""

    row: Row | None = None
    table: BarTable | None = None

    def say(self, units: str = "metric") -> str:
        """The sentence in the recipe's units."""
        if self.row is None or self.table is None:
            return super().say(units)
        return work(self.row, self.table, units)


def work(row: Row, table: BarTable, units: str) -> str:
    """What is done in a step of a bar, with its heats; those alone where its sentence is no more than its name."""
    said, at = sentence(row, table, units), heats(row, units)
    return at if at and said.lower() == row.do else "; ".join(part for part in (said, at) if part)


def sentence(row: Row, table: BarTable, units: str) -> str:
    """What is done in a step of a bar, without its heats."""
    if row.step is None:
        return _joined(table) if table.join is not None else _laid(table)
    return say(row, units, heats=False)


def heats(row: Row, units: str) -> str:
    """Temperature, soak and number of heats of a step done hot; empty for one done cold."""
    step = row.step
    heat, soak, count = (getattr(step, name, None) for name in ("temperature", "soak", "heats"))
    if heat is None:
        return ""
    many = f", {count} heats" if count and count > 1 else ""
    held = f", soak {show(soak, Kind.TIME, units)} once the core is up" if soak else ""
    return f"{given(heat, units)}{held}{many}"


def _laid(table: BarTable) -> str:
    """How the plates lie, lowest first, what repeats told once."""
    plates = [text for text in (table.base, *(table.stack or ()) * table.repeat, table.cap) if text]
    return "Stack, lowest first: " + "; ".join(_repeats(plates))


def _repeats(plates: list[str]) -> Iterator[str]:
    """Runs of plates: the longest that repeats from each place on, the plates between as they lie."""
    alone: list[str] = []
    at = 0
    while at < len(plates):
        covered, period = max((_covers(plates, at, period), -period) for period in range(1, _LONGEST_TURN + 1))
        if covered == 0:
            alone.append(plates[at])
            at += 1
            continue
        if alone:
            yield ", ".join(alone)
            alone = []
        turn = plates[at : at - period]
        many = covered // -period
        yield f"{many} of {turn[0]}" if len(turn) == 1 else f"{many} times ({', '.join(turn)})"
        at += covered
    if alone:
        yield ", ".join(alone)


def _covers(plates: list[str], at: int, period: int) -> int:
    """How many plates from a place on are the same few over and over, in whole turns; 0 where they come but once."""
    turn = plates[at : at + period]
    many = 0
    while len(turn) == period and plates[at + many : at + many + period] == turn:
        many += period
    return many if many > period else 0


def _joined(table: BarTable) -> str:
    how = "on one another, lowest first" if table.as_ == "layers" else "side by side"
    names = [item.bar + (f" (turned {item.flip})" if item.flip else "") for item in table.items]
    return f"Join {how}: {', '.join(names)}"
