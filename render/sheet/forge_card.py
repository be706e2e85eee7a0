"""The forge card: what to saw, every step with the sizes to reach, and what went wrong there last time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from billet.base.messages import Note
from billet.base.safety import cautions
from billet.base.units import Kind, show
from billet.ledger.rows import BarRun, Ledger, Row
from billet.plan.step_say import size
from billet.recipe.models import BarTable
from billet.recipe.recipe import Recipe
from billet.record.next_card import Card as StageCard
from billet.stages import Stage
from billet.stages.step_words import heats, sentence
from render.sheet.blocks import Block, Card, Cautions, Heading, Task, Tasks, Ticks, Words

_PLAINLY = 0.0254  # from an inch up a thickness is told as a length [m]


def forge_card(book: Ledger, cards: Sequence[StageCard], after: Sequence[Stage]) -> Card:
    """The card of all bars: ``cards`` are those of the bars' stages in order, ``after`` the blade's stages."""
    units = book.recipe.tables.units
    blocks: list[Block] = [Words(_summary(book, units), "lead")]
    first = next((one for card in cards for one in card.lessons), None)
    if first is not None:
        blocks.append(Words(f"Last time: {first.say()}", "lesson"))
    saw = saw_list(book.recipe, units)
    if saw:
        blocks += [Heading("Saw"), Ticks(tuple(saw))]
    for run in book.bars:
        of_bar = [card for card in cards if card.stage.bar == run.name]
        limits = _lines_of(of_bar)
        blocks.append(Heading(f"Bar {run.name}" if len(book.bars) > 1 else "Forge"))
        blocks += (
            [
                Words(
                    "; ".join(one.say(units) for one in limits)[:1].upper()
                    + "; ".join(one.say(units) for one in limits)[1:]
                    + "."
                )
            ]
            if limits
            else []
        )
        tasks = zip(of_bar, run.rows, strict=True)
        blocks.append(Tasks(tuple(_task(card, row, run, book, limits) for card, row in tasks)))
    blocks += [Heading("Then, at the bench"), Ticks(tuple(_then(stage, units) for stage in after))]
    blocks.append(Cautions(tuple(cautions("fire", "press"))))
    return Card("forge", "Forge card", tuple(blocks))


def _summary(book: Ledger, units: str) -> str:
    last, put_in = book.last, sum(run.rows[0].bar.mass for run in book.bars if run.rows[0].do == "stack")
    put_in += sum(row.added for run in book.bars for row in run.rows)
    ends = f"{_plain(last.length, units)} x {_plain(last.width, units)} x {_thick(last.thickness, units)}"
    return (
        f"{show(put_in, Kind.MASS, units)} of steel becomes a bar of {ends}, "
        f"{show(last.mass, Kind.MASS, units)}, {last.layers_counted:,} layers."
    )


def saw_list(recipe: Recipe, units: str) -> list[str]:
    """What to saw, a line for each kind of plate, its thickness as the recipe writes it."""
    lines = []
    for k, table in enumerate(recipe.tables.bar):
        many = plates(table)
        for step in (step for _, step in recipe.steps(k)):
            spacer = getattr(step, "spacer", None)
            if spacer:
                many[f"{spacer} (spacer)"] += getattr(step, "pieces", 2) - 1
        whose = f", for {table.name}" if len(recipe.tables.bar) > 1 else ""
        cut = "" if table.length is None else f", {size(table.width, units)} wide, {size(table.length, units)} long"
        lines += [f"{count} of {plate}{'' if '(spacer)' in plate else cut}{whose}" for plate, count in many.items()]
    return lines


def plates(table: BarTable) -> Counter[str]:
    """How many of each plate a stack holds, in the words of the recipe."""
    many: Counter[str] = Counter()
    for text, count in ((table.base, 1), *((text, table.repeat) for text in table.stack or ()), (table.cap, 1)):
        if text:
            many[text] += count
    return many


def _task(card: StageCard, row: Row, run: BarRun, book: Ledger, lines: Sequence[Note]) -> Task:
    units = book.recipe.tables.units
    table = next(t for t in book.recipe.tables.bar if t.name == run.name)
    what = sentence(row, table, units)
    at = heats(row, units)
    details = [at] if at else []
    details += [one.say(units) for one in card.heats if one not in lines]
    details += [f"Mind: {one.say(units)}" for one in card.mind]
    bar = row.bar
    reach = (
        ("thick", _thick(bar.thickness, units)),
        ("wide", _plain(bar.width, units)),
        ("long", _plain(bar.length, units)),
        ("weight", show(bar.mass, Kind.MASS, units)),
    )
    lesson = " ".join(f"Last time: {one.say()}" for one in card.lessons)
    return Task(str(row.number), what, tuple(details), reach, _gate(card.stage, units), lesson)


def _lines_of(cards: Sequence[StageCard]) -> tuple[Note, ...]:
    """The limits that hold for every heat of a bar."""
    of_heats = [card.heats for card in cards if card.heats]
    return tuple(one for one in of_heats[0] if all(one in heats for heats in of_heats)) if of_heats else ()


def _gate(stage: Stage, units: str) -> str:
    return "; ".join(one.say(units) for one in (*stage.before, *stage.after))


def _then(stage: Stage, units: str) -> str:
    gate = "; ".join(one.say(units) for one in stage.after)
    name = stage.name.capitalize()
    return f"{name}: {stage.what.say(units)}" + (f". Gate: {gate}" if gate else "")


def _plain(metres: float, units: str) -> str:
    return show(metres, Kind.LENGTH, units)


def _thick(metres: float, units: str) -> str:
    return show(metres, Kind.LENGTH, units, fine=metres < _PLAINLY)
