"""A recipe's target with what is asked for in place of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError

from billet.base.errors import InputError
from billet.base.fields import sentence
from billet.recipe.recipe import Recipe
from billet.recipe.tables import Target

_COUNTS = ("layers", "distinct", "line")  # one of them decides how many


def wanted(recipe: Recipe, asked: Mapping[str, Any], place: Callable[[str], str] = lambda _: "") -> Target:
    """The target; one count asked for puts the recipe's own aside. Raises InputError, `place` says before it which."""
    given = {key: value for key, value in asked.items() if value not in (None, "")}
    try:
        new = Target.model_validate(given, context={"door": True})
    except ValidationError as error:
        one = error.errors()[0]
        raise InputError(place(str(one["loc"][0])) + sentence(dict(one))) from None
    cleared = dict.fromkeys(_COUNTS) if given.keys() & set(_COUNTS) else {}
    return (recipe.tables.target or Target()).model_copy(update=cleared | {k: getattr(new, k) for k in given})
