"""billet next: one card for the next stage of a knife."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from billet.cli.answer import print_wrapped, tell
from billet.cli.common import AsJson, RecipeFile, print_json
from billet.cli.record.options import BenchFile, at

if TYPE_CHECKING:
    from billet.record.next_card import Card

StageWords = Annotated[
    list[str] | None, typer.Argument(metavar="[STAGE...]", help="Another stage than the next, such as: second temper.")
]
Full = Annotated[bool, typer.Option("--full", help="All warnings and cautions of the stage.")]

_HANG = 8  # the second line of a row starts under its text
_LESSONS = 2  # that stand before what to do


def next(
    recipe: RecipeFile, stage: StageWords = None, bench: BenchFile = None, full: Full = False, json: AsJson = False
) -> None:
    """Show one card for the next stage: what to do, sizes, heats, gates, and what went wrong there on earlier knives.

    Example: billet next knife.toml
    """
    from billet.base.errors import InputError
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.record.desk import habits_of
    from billet.record.door.which_stage import matching
    from billet.record.next_card import card_of, next_stage
    from billet.record.store import all_of
    from billet.record.whose import told_apart
    from billet.stages import stages

    book = run(load(recipe))
    every, title = stages(book.recipe, book), book.recipe.tables.title
    written, recipes = all_of(place := at(bench, recipe))
    entries = told_apart(written, recipes, recipe, title, place.parent)
    if stage:
        found = matching(" ".join(stage), every)
        if not found:
            raise InputError(f'There is no stage "{" ".join(stage)}" in {recipe.name}; `billet stages` lists them.')
        wanted = found[0]
    else:
        ahead = next_stage(every, entries, title)
        if ahead is None:
            _done(title, json)
            return
        wanted = ahead
    card = card_of(book, wanted, entries, recipes, habits_of(entries, recipes, recipe.parent))
    units = book.recipe.tables.units
    if json:
        print_json(_as_json(card, units))
    else:
        _print(card, units, full)


def _done(title: str, json: bool) -> None:
    if json:
        print_json({"title": title, "stage": None})
    else:
        print(f"{title}: every stage is noted; the knife is done.")


def _print(card: Card, units: str, full: bool) -> None:
    """The card, in twelve lines unless all of it is asked for; what went wrong last time comes first."""
    from billet.base.safety import cautions
    from billet.record.card_text import card_lines
    from billet.record.visible import one_line

    number, count = card.place
    step = f", step {card.stage.number} of {card.stage.bar}" if card.stage.bar else ""
    head = f"{card.knife}: {card.stage.name} is next (stage {number} of {count}{step})"
    last = _rows([("! last", one_line(lesson.say())) for lesson in card.lessons])
    told = _rows(card_lines(card, units, full))
    if not full:
        tell(
            [head, *last[:_LESSONS], *told[:1]], told[1:] + last[_LESSONS:], card.cautions[:1], units=units, hang=_HANG
        )
        return
    for text in (head, *last, *told, *_rows([("!", text) for text in cautions(*card.cautions)])):
        print_wrapped(text, _HANG)


def _rows(rows: list[tuple[str, str]]) -> list[str]:
    """Rows of the card, heads aligned."""
    return [f"  {head:<7} {text}" for head, text in rows]


def _as_json(card: Card, units: str) -> dict[str, Any]:
    from billet.base.safety import cautions

    stage = card.stage
    unit = {"mass": "kg"}
    return {
        "title": card.knife,
        "stage": {"number": stage.number, "name": stage.name, "do": stage.do, "bar": stage.bar, "kind": stage.kind},
        "what": stage.what.say(units),
        "heats": [one.say(units) for one in card.heats],
        "sizes": {f"{name}_{unit.get(name, 'm')}": value for name, value in stage.sizes},
        "before": [one.say(units) for one in stage.before],
        "after": [one.say(units) for one in stage.after],
        "time": card.time.say(units) if card.time else None,
        "warnings": [one.say(units) for one in card.mind],
        "lessons": [vars(lesson) for lesson in card.lessons],
        "cautions": cautions(*card.cautions),
    }
