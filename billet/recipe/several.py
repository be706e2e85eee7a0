"""Several knives from one bar: `[[blade]]` more than once, each with a name, laid one behind the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from billet.base.errors import InputError
from billet.blade.design import BladeDesign
from billet.recipe.recipe import Recipe
from billet.recipe.text_errors import sentences


def first_of_several(data: dict[str, Any], shell: Recipe) -> tuple[dict[str, Any], list[Any]]:
    """The data with one blade, and all that were given where there are several. Raises InputError for names amiss."""
    given = data.get("blade")
    if not isinstance(given, list):
        return data, []
    if not given:
        return {k: v for k, v in data.items() if k != "blade"}, []
    names: list[str] = []
    for k, one in enumerate(given):
        name = one.get("name") if isinstance(one, dict) else None
        if len(given) > 1 and (not isinstance(name, str) or not name):
            raise InputError(
                f'{shell.place(("blade", k))}blade number {k + 1} has no name; where several are cut from one bar each needs its own, such as name = "petty"'
            )
        if name in names:
            raise InputError(
                f'{shell.place(("blade", k, "name"))}name: there already is a blade "{name}"; give this one its own'
            )
        names.append(str(name))
    return {**data, "blade": given[0]}, given if len(given) > 1 else []


def with_several(recipe: Recipe, given: Sequence[Any], door: bool) -> Recipe:
    """The recipe with all its blades laid along the bar, the first one chosen."""
    if not given:
        return recipe
    read: list[BladeDesign] = []
    for k, one in enumerate(given):
        try:
            read.append(BladeDesign.model_validate(one, context={"door": True} if door else None))
        except ValidationError as error:
            lines = [line.replace("blade:", f'blade "{one.get("name", k + 1)}":') for line in sentences(error, recipe)]
            raise InputError("\n".join(dict.fromkeys(lines))) from None
    if (
        any(step.forges_to_blade for _, step in recipe.steps(len(recipe.tables.bar) - 1))
        if recipe.tables.bar
        else False
    ):
        raise InputError(
            f"{recipe.place(('blade', 1))}several blades are cut from this bar, and it is forged to the shape of one; leave the step out or give each blade a bar of its own"
        )
    laid = laid_along(read, recipe.tables.shop.kerf)
    return replace(recipe, tables=recipe.tables.model_copy(update={"blade": laid[0]}), blades=laid)


def laid_along(designs: Sequence[BladeDesign], kerf: float) -> tuple[BladeDesign, ...]:
    """The designs one behind the other from the handle end, each tang towards that end, a kerf between them; all together
    lie in the middle of the bar's length."""
    long = [design.length + design.behind for design in designs]
    total = sum(long) + kerf * (len(designs) - 1)
    return tuple(
        design.laid(sum(long[:k]) + kerf * k, total) if design.heel_at is None else design
        for k, design in enumerate(designs)
    )


def for_blade(recipe: Recipe, name: str | None) -> Recipe:
    """The recipe as one for the blade of a name; None leaves it as it is. Raises InputError for a name it does not have."""
    if name is None:
        return recipe
    known = {d.name: d for d in recipe.blades or ((recipe.tables.blade,) if recipe.tables.blade else ())}
    if name not in known:
        offer = ", ".join(n for n in known if n) or "none with a name"
        raise InputError(f'--blade: found "{name}", wanted one of the recipe\'s blades: {offer}')
    return replace(recipe, tables=recipe.tables.model_copy(update={"blade": known[name]}))


def share_of_bar(recipe: Recipe) -> float:
    """The share of the bar's used length that the chosen one of several blades is cut from; one for a blade alone."""
    chosen = recipe.tables.blade
    if not recipe.blades or chosen is None:
        return 1.0
    lengths = {d.name: d.length + d.behind for d in recipe.blades}
    return lengths[chosen.name] / sum(lengths.values())
