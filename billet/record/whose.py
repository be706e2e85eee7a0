"""Which knife a note is of: the recipe it was written beside says so before the title does."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from billet.record.entry import Entry
from billet.record.take import kept_path


def told_apart(entries: Iterable[Entry], recipe: Path, title: str, folder: Path) -> tuple[Entry, ...]:
    """The notes as they are seen from a recipe: its own under the title it has now, whatever it was called when they were
    written; those of another recipe of the same title, still there, under that title and its file.

    ``folder`` is the one the bench book lies in. A note that names no recipe, or one that is gone, goes by its title.
    """
    mine = kept_path(recipe, folder)

    def seen(entry: Entry) -> Entry:
        if entry.recipe_path and entry.recipe_path == mine:
            return replace(entry, knife=title)
        if entry.knife == title and entry.recipe_path and (folder / entry.recipe_path).is_file():
            return replace(entry, knife=f"{title} ({entry.recipe_path})")
        return entry

    return tuple(map(seen, entries))
