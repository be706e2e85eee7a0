"""What the commands of the record do with the file: find it, learn from it, set it beside the plan."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

from billet.base.errors import InputError
from billet.base.units import Kind, read
from billet.hardening import advise
from billet.hardening.treatment import layers_of, question_of
from billet.ledger.json import as_json
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import load
from billet.recipe.recipe import Recipe
from billet.record.chains import Passage, passages
from billet.record.compare import Difference, compare, predicted_rows
from billet.record.door import Desk
from billet.record.door.which_stage import place_of
from billet.record.entry import Entry, Place, latest
from billet.record.habits import Habits, learn_habits
from billet.record.lessons import Lesson, lessons
from billet.record.next_card import next_stage
from billet.record.recipes import StepFacts, recipe_in, steps_of
from billet.record.shop_units import shop_units
from billet.record.store import Bench, all_of
from billet.record.take import Knife
from billet.record.two_knives import Side
from billet.record.whose import own, told_apart
from billet.stages import Stage, stages


def desk_of(knife: Knife, bench: Path) -> Desk:
    """What the reader of a note about ``knife`` knows; ``bench`` is the record's file, which need not be there yet."""
    reached = None
    if bench.is_file():
        mine = own(*all_of(bench), knife.path, knife.title, bench.parent)
        places = [entry.place for entry in latest(mine) if entry.place is not None]
        reached = (places[-1].bar, places[-1].number) if places else None
    return replace(desk_of_text(knife.text, knife.path, ""), reached=reached)


def desk_of_text(text: str, path: Path, units: str) -> Desk:
    """The same from a recipe's text alone; ``path`` is where it, or the record, lies. No units: those of the recipe."""

    @cache
    def known() -> tuple[Stage, ...]:
        try:
            return stages(recipe_in(text, path.parent))
        except InputError:
            return ()  # the note is worth more than its stage

    return Desk(known, units or shop_units([Entry("", "", recipe_sha256="x")], {"x": text}))


def stage_place(knife: Knife, name: str) -> Place:
    """Where a note at the stage of that name is put; a recipe that cannot be read gives the name alone."""
    known = desk_of_text(knife.text, knife.path, "").stages()
    return next((place_of(stage) for stage in known if stage.name == name), Place("", 0, name))


def beside_plan(recipe: Path, bench: Bench) -> tuple[tuple[Difference, ...], int]:
    """What was measured of a knife beside what its recipe foresees as it stands now, and how many notes were left out.

    Left out are notes taken when the recipe had other steps: their numbers no longer mean the same.
    """
    now = load(recipe)
    steps = [facts.place for facts in steps_of(now)]
    notes = [entry for entry in latest(bench.entries(now.tables.title)) if entry.place is not None]
    fitting = [entry for entry in notes if entry.place in steps]
    return compare(predicted_rows(as_json(run(now))), fitting), len(notes) - len(fitting)


def all_passages(bench: Bench) -> tuple[tuple[Passage, ...], tuple[str, ...]]:
    """Every passage in the record, and a sentence for each recipe kept with it that can no longer be read."""
    steps: dict[str, tuple[StepFacts, ...]] = {}
    troubles = []
    for sha256, text in bench.recipes().items():
        try:
            steps[sha256] = steps_of(recipe_in(text, bench.path.parent))
        except InputError as error:
            troubles.append(f"a recipe kept with the record can no longer be read and was left out ({error})")
    return passages(bench.entries(), steps), tuple(troubles)


def remember(recipe: Recipe, bench: Path, names: Sequence[str]) -> Lesson | None:
    """The first lesson for the named stages of a knife, without names for its next stage; None where there is none."""
    if not bench.is_file():
        return None
    written, recipes = all_of(bench)
    title = recipe.tables.title
    entries = written if recipe.path is None else told_apart(written, recipes, recipe.path, title, bench.parent)
    every = stages(recipe)
    ahead = [next_stage(every, entries, recipe.tables.title)] if not names else []
    wanted = [stage for stage in every if stage.do in names] or [stage for stage in ahead if stage is not None]
    found = (lessons(entries, recipes, recipe.tables.title, stage, recipe.text) for stage in wanted)
    return next((few[0] for few in found if few), None)


def side_of(recipe: Path, bench: Bench) -> Side:
    """One knife for the comparison of two: its recipe run forwards, and its notes. Raises ``InputError``."""
    now = load(recipe)
    return Side(now.tables.title, now.text, stages(now, run(now)), bench.entries(now.tables.title))


def habits_of(entries: Sequence[Entry], recipes: Mapping[str, str], folder: Path) -> Habits:
    """This shop's habits from its notes; a recipe is only run where a hardness noted with it asks for its forecast."""

    @cache
    def book(sha256: str) -> Ledger | None:
        try:
            return run(recipe_in(recipes.get(sha256, ""), folder))
        except InputError:
            return None

    def forecast(sha256: str) -> float | None:
        known = book(sha256)
        if known is None:
            return None
        try:
            asked = advise(layers_of(known), question_of(known)).temper.asked
        except InputError:
            return None
        return None if asked is None else asked.likely

    asked = {sha256: heat for sha256, text in recipes.items() if (heat := _temper_heat(text)) is not None}
    return learn_habits(entries, asked, forecast)


def _temper_heat(text: str) -> float | None:
    """The heat [K] a recipe's text asks of its tempers, None where it says nothing."""
    try:
        temper = tomllib.loads(text)["hardening"]["temper"]
        return read(temper.get("temperature", temper.get("heat")), Kind.TEMPERATURE, "temperature")  # version 2 or 1
    except (ValueError, KeyError, TypeError, AttributeError, InputError):
        return None
