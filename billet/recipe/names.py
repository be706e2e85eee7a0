"""Names of bars: copies of earlier bars, joins of earlier bars, each there once."""

from __future__ import annotations

from typing import Any

from billet.base.errors import InputError
from billet.recipe.recipe import Recipe


def copied_bars(data: dict[str, Any], shell: Recipe) -> dict[str, Any]:
    """`like = "a"` in a bar copies that earlier bar; its own keys win."""
    bars = data.get("bar")
    if not isinstance(bars, list):
        return data
    out: list[Any] = []
    for k, bar in enumerate(bars):
        if isinstance(bar, dict) and "like" in bar:
            model = next((b for b in out if isinstance(b, dict) and b.get("name") == bar["like"]), None)
            if model is None:
                raise InputError(
                    f'{shell.place(("bar", k, "like"))}like: found "{bar["like"]}", wanted the name of an earlier bar'
                )
            bar = {**model, **{key: v for key, v in bar.items() if key != "like"}}
        out.append(bar)
    return {**data, "bar": out}


def check_names(recipe: Recipe) -> None:
    """Bars have names of their own, and joins name earlier bars, each once."""
    seen: list[str] = []
    used: set[str] = set()
    for k, bar in enumerate(recipe.tables.bar):
        place = recipe.place(("bar", k, "name"))
        if bar.name in seen:
            raise InputError(f'{place}name: there already is a bar "{bar.name}"; give this one a name of its own')
        for item in {i.bar for i in bar.items}:
            where = recipe.place(("bar", k, "join"))
            if item == bar.name:
                raise InputError(f'{where}join: bar "{bar.name}" names itself; it can only join earlier bars')
            if item not in seen:
                later = any(b.name == item for b in recipe.tables.bar)
                why = (
                    f'bar "{item}" comes later in the file; move it up'
                    if later
                    else f'there is no bar "{item}"; earlier bars are {", ".join(seen) or "none"}'
                )
                raise InputError(f"{where}join: {why}")
            if item in used:
                raise InputError(
                    f'{where}join: bar "{item}" has already been joined into another bar; a bar is there only once'
                )
            used.add(item)
        seen.append(bar.name)
