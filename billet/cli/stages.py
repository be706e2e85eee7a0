"""billet stages: the whole life of the knife, gate by gate."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from billet.cli.answer import named, print_wrapped, tell
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
    if full:
        _in_full(found, units)
        print_cautions("fire", "press", "grinder", "acid")
    else:
        _in_short(found, units)


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


_USUAL = "Times are usual ones until the recipe's [stages] gives yours."


def _in_short(found: Any, units: str) -> None:
    """The parts of the work, a line each."""
    from billet.base.units import Kind, show
    from billet.stages.in_short import in_parts

    rows = [
        (
            "" if part.first.bar != part.last.bar else f"  {part.first.number}-{part.last.number}",
            f"{part.name}: {_time(part.minutes, units)}, {show(part.mass, Kind.MASS, units)} left",
        )
        for part in in_parts(found)
    ]
    total = _time(sum(stage.minutes or 0.0 for stage in found), units)
    tell(
        [f"{len(found)} stages from the stack to the sharp edge: {total}", *named(rows)],
        [_USUAL, "What to do and what to look at, stage by stage: --full"],
        ("fire", "grinder", "acid"),
        units=units,
    )


def _time(minutes: float, units: str) -> str:
    from billet.base.units import Kind, show

    return show(60 * minutes, Kind.TIME, units)


def _in_full(found: Any, units: str) -> None:
    """Every stage in a table, then what to do and both gates."""
    from billet.base.units import Kind, show

    rows = [
        (
            f"{s.bar} {s.number}" if s.bar else str(s.number),
            s.name,
            "" if s.minutes is None else _time(s.minutes, units),
            show(s.mass, Kind.MASS, units),
            show(s.lost, Kind.MASS, units) if s.lost else "",
        )
        for s in found
    ]
    print_table(("", "stage", "time", "weight after", "metal taken"), rows, left=(0, 1))
    print_wrapped(f"{_time(sum(s.minutes or 0.0 for s in found), units)} in all. {_USUAL}")
    for s in found:
        print()
        print_wrapped(f"{s.name}: {s.what.say(units)}")
        for head, notes in (("before", s.before), ("after", s.after)):
            for n in notes:
                print_wrapped(f"  {head}: {n.say(units)}", hang=4)
