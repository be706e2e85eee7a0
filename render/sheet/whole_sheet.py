"""Everything that goes on paper for one knife, gathered once: both writers set the same sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from billet.base.errors import InputError
from billet.blade.geometry import Blade
from billet.ledger.rows import Ledger
from billet.recipe.blade import blade_of
from billet.record.entry import Entry
from billet.record.habits import Habits
from billet.record.lessons import lessons
from billet.record.next_card import Card as StageCard
from billet.record.next_card import card_of
from billet.stages import stages
from render.sheet.blocks import Card, Words
from render.sheet.customer_card import customer_card
from render.sheet.fire_page import fire_page
from render.sheet.forge_card import forge_card
from render.sheet.grinder_card import grinder_card
from render.sheet.template import Drawing, drawn

CARDS = ("template", "forge", "fire", "grinder", "customer")


@dataclass(frozen=True)
class Remembered:
    """What the bench record holds for a sheet: its notes, the recipes kept with them, the shop's habits."""

    entries: tuple[Entry, ...] = ()
    recipes: tuple[tuple[str, str], ...] = ()
    habits: Habits = field(default_factory=Habits)


@dataclass(frozen=True, eq=False)
class Sheet:
    """The sheet of a knife: the template where there is a blade, the cards, and what could not be made and why."""

    title: str
    units: str
    cards: tuple[Card, ...]
    template: Drawing | None = None
    blade: Blade | None = None
    missing: tuple[str, ...] = ()


def sheet_of(
    book: Ledger, wanted: Sequence[str] = CARDS, record: Remembered | None = None, stations: Path | None = None
) -> Sheet:
    """The sheet of a knife with the cards wanted; a card that cannot be made says why in its place."""
    unknown = [key for key in wanted if key not in CARDS]
    if unknown:
        raise InputError(f'--card: found "{unknown[0]}", wanted one of {", ".join(CARDS)}')
    units = book.recipe.tables.units
    blade, missing = _blade(book)
    kept = record or Remembered()
    makers = {
        "forge": lambda: _forge(book, kept),
        "fire": lambda: fire_page(book, _lesson(book, kept, "harden", "temper")),
        "grinder": lambda: grinder_card(book, stations),
        "customer": lambda: customer_card(book),
    }
    cards = []
    for key in (key for key in CARDS if key in wanted and key != "template"):
        try:
            cards.append(makers[key]())
        except InputError as error:
            cards.append(Card(key, f"{key.capitalize()} card", (Words(str(error), "lead"),)))
    template = drawn(blade, units) if blade is not None and "template" in wanted else None
    return Sheet(
        book.recipe.tables.title, units, tuple(cards), template, blade,
        missing if "template" in wanted else (),
    )  # fmt: skip


def _blade(book: Ledger) -> tuple[Blade | None, tuple[str, ...]]:
    try:
        return blade_of(book.recipe), ()
    except InputError as error:
        return None, (f"No template: {error}",)


def _lesson(book: Ledger, record: Remembered, *wanted: str) -> str:
    """The first thing that went wrong at some stages of earlier knives; empty where nothing did."""
    recipe = book.recipe
    for stage in stages(recipe, book):
        if stage.do in wanted:
            found = lessons(record.entries, dict(record.recipes), recipe.tables.title, stage, recipe.text)
            if found:
                return found[0].say()
    return ""


def _forge(book: Ledger, record: Remembered) -> Card:
    every = stages(book.recipe, book)
    cards: list[StageCard] = [
        card_of(book, stage, record.entries, dict(record.recipes), record.habits)
        for stage in every
        if stage.kind == "bar"
    ]
    return forge_card(book, cards, [stage for stage in every if stage.kind == "blade"])
