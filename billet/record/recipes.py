"""What the record asks of a recipe: its steps, numbered as the ledger does, and what each does to a bar's size."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from billet.base.errors import InputError
from billet.recipe.read import build, plain
from billet.recipe.recipe import Recipe
from billet.record.entry import Place
from billet.steel.plate import read_plate
from billet.steps.restack import Fold, Restack
from billet.steps.step import Hot, Step

HOT = ("weld", "heat", "draw")


@dataclass(frozen=True)
class StepFacts:
    """A step of a bar as the fit needs it: planned ``heats``, ``pieces`` it is cut into, ``kerf`` and ``spacer`` [m].

    ``plain`` is False for a step whose losses the fit has no formula for; such a step breaks the chain.
    """

    place: Place
    heats: int = 0
    pieces: int = 1
    kerf: float = 0.0
    spacer: float = 0.0
    plain: bool = True


def steps_of(recipe: Recipe) -> tuple[StepFacts, ...]:
    """Every step of every bar; number 0 is the stack or the join."""
    return tuple(facts for bar in range(len(recipe.tables.bar)) for facts in _of_bar(recipe, bar))


def recipe_in(text: str, folder: Path) -> Recipe:
    """A recipe from the text kept with a note, and the shop file that lies in ``folder`` now. Raises ``InputError``."""
    try:
        return build(plain(text, folder / "recipe"), text)
    except InputError as error:
        raise InputError(f"A recipe kept with the record, or the shop file, cannot be used ({error}).") from error


def places(steps: Sequence[StepFacts]) -> tuple[Place, ...]:
    """The names and numbers of the steps alone."""
    return tuple(step.place for step in steps)


def _of_bar(recipe: Recipe, bar: int) -> Iterator[StepFacts]:
    table = recipe.tables.bar[bar]
    yield StepFacts(Place(table.name, 0, "stack" if table.join is None else "join"))
    for number, (_, step) in enumerate(recipe.steps(bar), 1):
        yield _facts(Place(table.name, number, step.verb), step, recipe)


def _facts(place: Place, step: Step, recipe: Recipe) -> StepFacts:
    if isinstance(step, Hot) and step.verb in HOT:
        return StepFacts(place, heats=step.heats)
    if isinstance(step, Restack):
        spacer = 0.0 if step.spacer is None else read_plate(step.spacer, recipe.own_steels, "spacer")[1]
        return StepFacts(place, pieces=step.pieces, kerf=recipe.tables.shop.kerf, spacer=spacer)
    if isinstance(step, Fold):
        return StepFacts(place, pieces=2)
    return StepFacts(place, plain=False)
