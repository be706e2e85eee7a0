"""billet check: is the recipe sound, does the bar hold the blade, and what will go wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from billet.cli.common import AsJson, RecipeFile, print_cautions, print_json
from billet.cli.remind import reminder

if TYPE_CHECKING:
    from billet.blade.need import Fits
    from billet.ledger.rows import Ledger


def check(recipe: RecipeFile, json: AsJson = False) -> None:
    """Check a recipe: the three answers (length, heel height, thickness), and every warning.

    Leaves with exit code 1 when the bar does not hold the blade. Example: billet check knife.toml
    """
    from billet.ledger.recipe_warnings import holding, ready_bar, uncertain_faces
    from billet.ledger.run import band, run
    from billet.recipe.read import load

    book = run(load(recipe))
    ready_bar(book)
    three = holding(book) if book.recipe.tables.blade is not None else None
    doubts = uncertain_faces(book, *band(book.recipe))
    last = reminder(book.recipe, recipe)
    if json:
        print_json({**_as_json(book, three, doubts), "reminder": last or None})
    else:
        _print(book, three, doubts)
        print(f"\n  {last}" if last else "", end="\n" if last else "")
        print_cautions("fire", "press", "grinder")
    if three is not None and not three.enough:
        raise typer.Exit(1)


def _lines(book: Ledger, doubts: tuple[Any, ...]) -> list[str]:
    from billet.ledger.recipe_warnings import of_recipe

    units = book.recipe.tables.units
    of_steps = [
        f"{run.name} step {row.number} ({row.do}): {n.say(units)}"
        for run in book.bars
        for row in run.rows
        for n in row.notes
    ]
    return of_steps + [n.say(units) for n in (*of_recipe(book), *doubts)]


def _as_json(book: Ledger, three: Fits | None, doubts: tuple[Any, ...]) -> dict[str, Any]:
    from billet.base.safety import cautions

    answers = (
        {}
        if three is None
        else {
            name: {"needed_m": fit.needed, "available_m": fit.available, "surplus_m": fit.surplus, "enough": fit.enough}
            for name, fit in (
                ("length", three.length),
                ("heel_height", three.heel_height),
                ("thickness", three.thickness),
            )
        }
    )
    return {
        "title": book.recipe.tables.title,
        "holds_the_blade": None if three is None else three.enough,
        "answers": answers,
        "warnings": _lines(book, doubts),
        "old_spellings": {word.old: word.new for word in book.recipe.old_words},
        "cautions": cautions("fire", "press", "grinder"),
    }


def _print(book: Ledger, three: Fits | None, doubts: tuple[Any, ...]) -> None:
    from billet.base.units import Kind, show
    from billet.ledger.recipe_warnings import lost_share
    from billet.recipe.blade import blade_of

    units = book.recipe.tables.units
    print(book.recipe.tables.title)
    if three is not None:
        blade = blade_of(book.recipe)
        print(
            f"\n  finished blade {show(blade.mass(), Kind.MASS, units)} without tang, {show(blade.volume(), Kind.VOLUME, units)}; does the bar hold it?"
        )
        for what, fit, fine in (
            ("length", three.length, False),
            ("heel height", three.heel_height, False),
            ("thickness", three.thickness, True),
        ):
            need, have, over = (
                show(abs(v), Kind.LENGTH, units, fine=fine) for v in (fit.needed, max(fit.available, 0.0), fit.surplus)
            )
            print(
                f"  {what:<12} {'yes' if fit.enough else 'NO ':<4} needs {need}, has {have}, {over} {'over' if fit.enough else 'SHORT'}"
            )
    print(f"\n  {100 * lost_share(book):.0f} % of the steel put in is still in the bar")
    lines = _lines(book, doubts)
    print("\n  no warnings" if not lines else "")
    for line in lines:
        print(f"  - {line}")
    if book.recipe.old_words:
        print("\n  Older words of this recipe and today's (both are read):")
        print("  " + ", ".join(f"{word.old} is now {word.new}" for word in book.recipe.old_words))
