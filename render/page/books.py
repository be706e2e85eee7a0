"""Ledgers that are kept: a recipe's text is read and run once, however many ask."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from billet.bar.bar import Bar
from billet.base.errors import InputError
from billet.ledger.rows import MARKS, Ledger
from billet.ledger.run import run
from billet.recipe.read import build, plain
from billet.recipe.recipe import Recipe
from billet.recipe.several import for_blade
from billet.recipe.shop_file import SHOP
from render.kept import Shelf
from render.page.edit import Edit, edited_data


@dataclass(frozen=True, eq=False)
class Told:
    """A recipe run as far as it goes: the ledger, and the sentence that says why it stops where it does."""

    ledger: Ledger | None
    trouble: str = ""


class Books:
    """Recipes and ledgers of a folder by their text."""

    def __init__(self) -> None:
        self._recipes, self._ledgers = Shelf(48), Shelf()

    def recipe(self, path: Path, text: str) -> Recipe:
        """The recipe of a text. Raises InputError."""
        return self._recipes.get((path, text, shop_of(path)), lambda: _inside(build(plain(text, path), text, path)))

    def ledger(self, path: Path, text: str, *, diffuse: bool = True) -> Ledger:
        """The ledger of a text. Raises InputError."""
        if diffuse:
            told = self.told(path, text)
            if told.trouble or told.ledger is None:
                raise InputError(told.trouble)
            return told.ledger
        recipe = self.recipe(path, text)
        return self._ledgers.get((path, text, shop_of(path), "quick"), lambda: run(recipe, diffuse=False))

    def told(self, path: Path, text: str) -> Told:
        """The ledger, or as much of it as can be run. Raises InputError for a text that cannot be read."""
        recipe = self.recipe(path, text)
        return self._ledgers.get((path, text, shop_of(path), "told"), lambda: _as_far_as_it_goes(recipe))

    def reached(self, path: Path, text: str) -> Ledger:
        """The ledger as far as it can be run. Raises InputError where not even the first stack can."""
        told = self.told(path, text)
        if told.ledger is None:
            raise InputError(told.trouble)
        return told.ledger

    def of_blade(self, path: Path, text: str, blade: str | None, *, diffuse: bool = True) -> Ledger:
        """The ledger as one for a blade of a name. Raises InputError."""
        book = self.ledger(path, text, diffuse=diffuse)
        return replace(book, recipe=for_blade(book.recipe, blade or None))

    def wished(self, path: Path, text: str, edits: Sequence[Edit], blade: str | None, *, quick: bool) -> Ledger:
        """The ledger with unsaved edits done. An edit of blade, etch or stages alone runs nothing again. Raises InputError."""
        if not edits:
            return self.of_blade(path, text, blade)
        key = (path, text, shop_of(path), json.dumps([dict(e) for e in edits], sort_keys=True))
        recipe = self._recipes.get(key, lambda: self._edited(path, text, edits))
        looks = {"blade", "etch", "hardening", "target", "stages", "title", "units"}
        if not _differs(self.recipe(path, text), recipe, looks) and not _forged(recipe):
            book = self.ledger(path, text)
        else:
            book = self._ledgers.get((*key, quick), lambda: run(recipe, diffuse=not quick))
        return replace(book, recipe=for_blade(recipe, blade or None))

    @staticmethod
    def _edited(path: Path, text: str, edits: Sequence[Edit]) -> Recipe:
        """The recipe with edits done to its plain data alone: quick, for a picture that follows the hand."""
        return _inside(build(edited_data(plain(text, path), edits), text, path))


def _inside(recipe: Recipe) -> Recipe:
    """A recipe whose outlines and pictures lie in its folder: what the page shows is asked for from outside too. Raises
    InputError for one that names a file elsewhere.
    """
    tables = recipe.tables
    designs = recipe.blades or ((tables.blade,) if tables.blade else ())
    steps = [step for bar in tables.bar for step in bar.step]
    named = [*(getattr(d, "points", None) for d in designs), *(getattr(step, "image", None) for step in steps)]
    root = (recipe.path.parent if recipe.path else Path()).resolve()
    for name in named:
        if name and not Path(os.path.realpath(root / str(name).replace("\\", "/"))).is_relative_to(root):
            raise InputError(f'"{str(name)[:60]}" leads out of this folder; copy the file into it')
    return recipe


def _as_far_as_it_goes(recipe: Recipe) -> Told:
    """Run a recipe; where a step cannot be done, the bars and steps before it."""
    reached = [0, -1]

    def seen(bar: Bar, mark: int) -> Bar:
        reached[:] = divmod(mark, MARKS)
        return bar

    try:
        return Told(run(recipe, each=seen))
    except InputError as error:
        trouble = str(error)
    k, number = reached
    if k == 0 and number < 0:
        return Told(None, trouble)
    try:
        return Told(run(_cut(recipe, k, number)), trouble)
    except InputError:
        return Told(None, trouble)


def _cut(recipe: Recipe, k: int, number: int) -> Recipe:
    """The recipe up to a bar and a step of it."""
    bars = list(recipe.tables.bar[: k + 1])
    done = [place for place, _ in recipe.steps(k)]
    bars[k] = bars[k].model_copy(update={"step": bars[k].step[: done[number] if number < len(done) else len(done)]})
    return replace(recipe, tables=recipe.tables.model_copy(update={"bar": tuple(bars)}))


def _differs(one: Recipe, other: Recipe, left_out: set[str]) -> bool:
    """Whether two recipes differ in more than some tables."""
    names = set(type(one.tables).model_fields) - left_out
    return any(getattr(one.tables, name) != getattr(other.tables, name) for name in names)


def _forged(recipe: Recipe) -> bool:
    """Whether the bar is forged to the shape of the blade, so that another blade is another bar."""
    return any(step.forges_to_blade for k in range(len(recipe.tables.bar)) for _, step in recipe.steps(k))


def shop_of(path: Path) -> str:
    """The shop file beside a recipe, as text."""
    shop = path.parent / SHOP
    try:
        return shop.read_text("utf-8-sig") if shop.is_file() else ""
    except (OSError, UnicodeDecodeError):
        return ""
