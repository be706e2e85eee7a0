"""billet stages: the whole life of the knife, gate by gate."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from billet.cli.common import AsJson, BladeName, RecipeFile, print_cautions, print_json, print_table


def stages(
    recipe: RecipeFile,
    blade: BladeName = None,
    json: AsJson = False,
    full: Annotated[bool, typer.Option("--full", help="What to do and what to look at, stage by stage.")] = False,
) -> None:
    """List every stage from the stack to the sharp edge: time, weight, metal taken.

    Example: billet stages knife.toml --full
    """
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from billet.stages import stages as listed
    from billet.stages.metal import weighed

    book = run(for_blade(load(recipe), blade))
    found = weighed(listed(book.recipe, book), book)
    units = book.recipe.tables.units
    if json:
        print_json({"title": book.recipe.tables.title, "stages": [as_data(s, units) for s in found]})
        return
    _print(found, units, full)
    print_cautions("fire", "press", "grinder", "acid")


def as_data(stage: Any, units: str) -> dict[str, Any]:
    """A stage as plain data: SI, the unit in the key."""
    return {
        "number": stage.number,
        "name": stage.name,
        "do": stage.do,
        "kind": stage.kind,
        "bar": stage.bar,
        "what": stage.what.say(units),
        "before": [n.say(units) for n in stage.before],
        "after": [n.say(units) for n in stage.after],
        "minutes": stage.minutes,
        "mass_kg": stage.mass,
        "lost_kg": stage.lost,
        "sizes": dict(stage.sizes),
    }


def _print(found: Any, units: str, full: bool) -> None:
    from billet.base.units import Kind, show

    rows = [
        (
            f"{s.bar} {s.number}" if s.bar else str(s.number),
            s.name,
            "" if s.minutes is None else show(60 * s.minutes, Kind.TIME, units),
            show(s.mass, Kind.MASS, units),
            show(s.lost, Kind.MASS, units) if s.lost else "",
        )
        for s in found
    ]
    print_table(("", "stage", "time", "weight after", "metal taken"), rows, left=(0, 1))
    total = sum(s.minutes or 0.0 for s in found)
    print(
        f"\n{show(60 * total, Kind.TIME, units)} in all; times are usual ones until the recipe's [stages] gives yours"
    )
    if not full:
        print("--full adds what to do at each stage and what to look at before and after it")
        return
    for s in found:
        print(f"\n{s.name}: {s.what.say(units)}")
        for head, notes in (("before", s.before), ("after", s.after)):
            for n in notes:
                print(f"  {head}: {n.say(units)}")
