"""billet check: is the recipe sound, does the bar hold the blade, and what will go wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from billet.cli.answer import Full, print_wrapped, tell
from billet.cli.common import AsJson, RecipeFile, print_cautions, print_json
from billet.cli.remind import reminder

if TYPE_CHECKING:
    from billet.blade.need import Fit, Fits
    from billet.ledger.rows import Ledger


def check(recipe: RecipeFile, json: AsJson = False, full: Full = False) -> None:
    """Check a recipe: length, heel height and thickness of the bar against the blade, and every warning.

    Exits with code 1 if the bar is too small for the blade.

    Example: billet check knife.toml
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
    elif full:
        _print(book, three, doubts)
        if last:
            print_wrapped(last)
        print_cautions("fire", "press", "grinder")
    else:
        _answer(book, three, _lines(book, doubts), last)
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

    answers = {} if three is None else {name: fit.as_data() for name, fit in three.named.items()}
    return {
        "title": book.recipe.tables.title,
        "holds_the_blade": None if three is None else three.enough,
        "answers": answers,
        "warnings": _lines(book, doubts),
        "old_spellings": {word.old: word.new for word in book.recipe.old_words},
        "cautions": cautions("fire", "press", "grinder"),
    }


def _answer(book: Ledger, three: Fits | None, warnings: list[str], last: str) -> None:
    """Whether the bar holds the blade, the warnings that matter most, today's spelling of old words."""
    head = [book.recipe.tables.title]
    if three is not None:
        head += [
            "The bar holds the blade:" if three.enough else "The bar is too small for the blade:",
            *_three(book, three),
        ]
    many = len(warnings)
    head.append("No warnings." if not many else f"{many} warning{'s' if many > 1 else ''}:")
    old = [line for line in (last, _old_words(book) if book.recipe.old_words else "") if line]
    tell(head, [*(f"- {line}" for line in warnings), *_each(book)], ("figures", "fire"), last=old)


def _old_words(book: Ledger) -> str:
    """The old spellings of a recipe and today's, in one sentence."""
    words = ", ".join(f"{word.old} is now {word.new}" for word in book.recipe.old_words)
    return f"Old words in this recipe: {words}."


def _each(book: Ledger) -> list[str]:
    """Every blade of an order in a line: what it leaves to spare of height and thickness."""
    from billet.base.units import Kind, show
    from billet.ledger.recipe_warnings import each_holding

    def left(fit: Fit, fine: bool) -> str:
        return show(abs(fit.surplus), Kind.LENGTH, book.recipe.tables.units, fine=fine) + (
            "" if fit.enough else " SHORT"
        )

    return [
        f"{name}: heel height {left(f.heel_height, False)}, thickness {left(f.thickness, True)} to spare"
        for name, f in each_holding(book).items()
    ]


def _three(book: Ledger, three: Fits) -> list[str]:
    """The three answers, a line each."""
    from billet.base.units import Kind, show

    units = book.recipe.tables.units
    out = []
    for name, fit in three.named.items():
        what = name.replace("_", " ")
        need, have, over = (
            show(abs(v), Kind.LENGTH, units, fine=fit is three.thickness)
            for v in (fit.needed, max(fit.available, 0.0), fit.surplus)
        )
        out.append(f"  {what:<12}{have} of {need} wanted, {over} {'to spare' if fit.enough else 'SHORT'}")
    return out


def _print(book: Ledger, three: Fits | None, doubts: tuple[Any, ...]) -> None:
    """Everything: the three answers, what is left of the steel, every warning."""
    from billet.base.units import Kind, show
    from billet.ledger.recipe_warnings import lost_share
    from billet.recipe.blade import blade_of

    units = book.recipe.tables.units
    print_wrapped(book.recipe.tables.title)
    if three is not None:
        blade = blade_of(book.recipe)
        mass, volume = show(blade.mass(), Kind.MASS, units), show(blade.volume(), Kind.VOLUME, units)
        print_wrapped(f"The finished blade weighs {mass} without its tang ({volume}). The bar gives it:")
        print("\n".join([*_three(book, three), *_each(book)]))
    print_wrapped(f"{100 * lost_share(book):.0f} % of the steel put in is still in the bar.")
    lines = _lines(book, doubts)
    print("\nNo warnings." if not lines else "\nWarnings:")
    for line in lines:
        print_wrapped(f"- {line}")
    if book.recipe.old_words:
        print_wrapped(_old_words(book))
