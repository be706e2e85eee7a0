"""From a recipe to the blade it asks for."""

from __future__ import annotations

from pathlib import Path

from billet.base.errors import InputError
from billet.blade.geometry import Blade, read_blade
from billet.recipe.recipe import Recipe


def blade_of(recipe: Recipe, state: str = "finished") -> Blade:
    """The blade of a recipe. Raises InputError when it has none or its outline cannot be read."""
    design = recipe.tables.blade
    if design is None:
        raise InputError(
            f'{recipe.place(())}there is no [blade] in this recipe; add one with at least length and heel_height, such as length = "240 mm"'
        )
    try:
        blade = read_blade(design, recipe.path.parent if recipe.path else Path())
        hard = blade.in_state("hardening")
    except InputError as error:
        raise InputError(f"{recipe.place(('blade',))}{error}") from None
    return hard if state == "hardening" else blade
