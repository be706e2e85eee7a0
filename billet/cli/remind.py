"""One line from the record: what went wrong at this stage last time."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from billet.recipe.recipe import Recipe
    from billet.record.habits import Habits


def reminder(recipe: Recipe, path: Path, *names: str, bench: Path | None = None) -> str:
    """What went wrong at the named stages on earlier knives, without names at the next stage; empty where nothing did.

    It never stops the command that asks: a record that cannot be read reminds of nothing.
    """
    from billet.base.errors import InputError
    from billet.cli.record.options import at
    from billet.record.desk import remember
    from billet.record.visible import one_line

    try:
        lesson = remember(recipe, at(bench, path), names)
    except InputError:
        return ""
    return one_line(f"last time: {lesson.say()}") if lesson else ""


def shop_habits(path: Path) -> Habits:
    """What the record near a recipe has taught of this shop; nothing where there is none or it cannot be read."""
    from billet.base.errors import InputError
    from billet.cli.record.options import at
    from billet.record.desk import habits_of
    from billet.record.habits import Habits
    from billet.record.store import all_of

    try:
        return habits_of(*all_of(at(None, path)), path.parent)
    except InputError:
        return Habits()
