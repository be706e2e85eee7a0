"""What the commands of the record do with the file: find it, learn from it, set it beside the plan."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from billet.base.errors import InputError
from billet.ledger.json import as_json
from billet.ledger.run import run
from billet.recipe.read import load
from billet.record.chains import Passage, passages
from billet.record.compare import Difference, compare, predicted_rows
from billet.record.door import Desk
from billet.record.door.stage import place_of
from billet.record.entry import Entry, Place, latest
from billet.record.recipes import StepFacts, recipe_in, steps_of
from billet.record.store import Bench, open_to_read
from billet.record.take import Knife
from billet.record.units import shop_units
from billet.stages import Stage, stages


def desk_of(knife: Knife, bench: Path) -> Desk:
    """What the reader of a note about ``knife`` knows; ``bench`` is the record's file, which need not be there yet."""
    reached = None
    if bench.is_file():
        with open_to_read(bench) as record:
            places = [entry.place for entry in latest(record.entries(knife.title)) if entry.place is not None]
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
