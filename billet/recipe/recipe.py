"""A recipe that has been read: its values, and the line of the file that each stands on."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from billet.base.errors import InputError
from billet.blade.design import BladeDesign
from billet.recipe.models import RecipeTables
from billet.recipe.old_spellings import Respelt, place_now, respelt
from billet.recipe.toml_lines import index_lines, line_of
from billet.steel.library import Steel, from_certificate
from billet.steps import Step


@dataclass(frozen=True)
class Recipe:
    """A recipe that has been read: its tables, the file it came from, and where its keys stand."""

    tables: RecipeTables
    path: Path | None = None
    text: str = ""
    blades: tuple[BladeDesign, ...] = ()  # all of them, where several are cut from one bar
    table: tuple[str, ...] = ()  # the table that all of the text is, where it is not a whole recipe

    @property
    def folder(self) -> Path:
        """Where the files it names lie."""
        return self.path.parent if self.path else Path()

    @cached_property
    def lines(self) -> dict[tuple[str | int, ...], int]:
        """Line of every key."""
        found = index_lines(self.text)
        return {place_now((*self.table, *place))[len(self.table) :]: line for place, line in reversed(found.items())}

    @cached_property
    def old_words(self) -> tuple[Respelt, ...]:
        """The old spellings that stand in the file, each with the word that took its place."""
        return respelt(tomllib.loads(self.text))[1]

    @cached_property
    def own_steels(self) -> dict[str, Steel]:
        """The steels this recipe defines itself."""
        own = {}
        for name, table in self.tables.steels.items():
            try:
                own[name] = from_certificate(name, table)
            except InputError as error:
                raise InputError(f"{self.place(('steels', name))}{error}") from None
        return own

    def place(self, path: tuple[str | int, ...]) -> str:
        """ "knife.toml line 12: " for a key, as far as it can be told."""
        line = line_of(self.lines, place_now(path)[len(self.table) :])
        name = self.path.name if self.path else "recipe"
        return f"{name} line {line}: " if line else f"{name}: "

    def steps(self, bar: int) -> Iterator[tuple[int, Step]]:
        """The steps of a bar as single rows, each with the place of its table in the file."""
        for place, step in enumerate(self.tables.bar[bar].step):
            for one in step.unfolded():
                yield place, one
