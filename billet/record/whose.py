"""Which knife a note is of: the recipe it was written beside, as long as that is the same knife still; else who has its title."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from difflib import SequenceMatcher
from functools import cache
from pathlib import Path

from billet.base.errors import InputError
from billet.record.entry import Entry
from billet.record.photos import kept_path
from billet.record.take import Knife, read_knife


def told_apart(
    entries: Iterable[Entry], recipes: Mapping[str, str], recipe: Path, title: str, folder: Path
) -> tuple[Entry, ...]:
    """The notes as they are seen from a recipe: its own under the title it has now, those of another recipe of the same
    title under that title and its file.

    A note belongs to the recipe it was written beside while that has the title the note names. Where that has another
    title now, the knife was renamed, or another was put in its file: then it belongs to the one among it and those of the
    old title whose text is nearest to the one kept with the note, in ``recipes`` by its name. ``folder`` is the one the
    bench book lies in. A note that names no recipe, or one that is gone, goes by its title.
    """
    mine = kept_path(recipe, folder)

    @cache
    def read(path: str) -> Knife | None:
        return _read(folder / path) if path else None

    @cache
    def owner(path: str, name: str, sha256: str) -> str | None:
        there = read(path)
        if there is None or there.title == name:
            return path if there else None
        beside = {kept_path(one, folder) for one in (*folder.glob("*.toml"), *recipe.parent.glob("*.toml"))}
        likely = {path: there.text} | {
            one: knife.text for one in sorted(beside) if (knife := read(one)) and knife.title == name
        }
        return max(likely, key=lambda one: _alike(recipes.get(sha256, ""), likely[one]))

    def seen(entry: Entry) -> Entry:
        whose = owner(entry.recipe_path, entry.knife, entry.recipe_sha256)
        if whose == mine:
            return replace(entry, knife=title)
        return entry if whose is None or entry.knife != title else replace(entry, knife=f"{title} ({whose})")

    return tuple(map(seen, entries))


def own(
    entries: Iterable[Entry], recipes: Mapping[str, str], recipe: Path, title: str, folder: Path
) -> tuple[Entry, ...]:
    """The notes of a recipe alone, under its present title."""
    return tuple(entry for entry in told_apart(entries, recipes, recipe, title, folder) if entry.knife == title)


def _read(path: Path) -> Knife | None:
    """The knife of a recipe; None where it is gone or cannot be read."""
    try:
        return read_knife(path)
    except (InputError, RecursionError):
        return None


@cache
def _alike(one: str, other: str) -> float:
    """How much of two recipes is the same but for their titles, 0 to 1."""
    first, second = ([line for line in text.splitlines() if not line.startswith("title")] for text in (one, other))
    return SequenceMatcher(None, first, second, autojunk=False).ratio()
