"""billet sheet: the knife on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from billet.cli.common import BladeName, Force, RecipeFile, wrote
from billet.cli.record.options import BenchFile, at

if TYPE_CHECKING:
    from render.sheet.pdf import Made
    from render.sheet.sheet import Remembered

Out = Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="Where to; else beside the recipe.")]
Paper = Annotated[
    Literal["a4", "letter"] | None, typer.Option(help="The paper; else A4 for metric recipes, Letter for imperial.")
]
Outline = Annotated[
    list[Path] | None,
    typer.Option(metavar="FILE", help="The outline alone for the laser, .svg or .dxf; may be repeated."),
]
Stations = Annotated[
    Path | None, typer.Option(metavar="FILE", help="Measured stations for the grinder card, as for billet grind.")
]
Only = Annotated[
    list[str] | None,
    typer.Option(
        "--card", metavar="CARD", help="One card only: template, forge, fire, grinder or customer; may be repeated."
    ),
]


def sheet(
    recipe: RecipeFile, out: Out = None, paper: Paper = None, card: Only = None, outline: Outline = None,
    stations: Stations = None, blade: BladeName = None, bench: BenchFile = None, force: Force = False,
) -> None:  # fmt: skip
    """Print the knife on paper: a template at true size, and cards for forge, fire, grinder and customer.

    Example: billet sheet knife.toml -o knife.pdf --outline knife.dxf
    """
    from billet.base.safe_files import check_free, write_whole
    from billet.ledger.run import run
    from billet.recipe.blade import blade_of
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from render.sheet.outline_files import check_outline, write_outline
    from render.sheet.pdf import as_pdf, paper_for
    from render.sheet.sheet import CARDS, sheet_of

    path, lines = out or recipe.with_suffix(".pdf"), outline or []
    check_free(path, force)
    for file in lines:
        check_outline(file, force)
    book = run(for_blade(load(recipe), blade))
    made = as_pdf(
        sheet_of(book, card or CARDS, _remembered(recipe, bench), stations),
        paper or paper_for(book.recipe.tables.units),
    )
    wrote(write_whole(path, made.data, force))
    for file in lines:
        wrote(write_outline(file, blade_of(book.recipe), book.recipe.tables.title, force))
    _print(made)


def _remembered(recipe: Path, bench: Path | None) -> Remembered:
    """What the record near a recipe holds; nothing where there is none."""
    from billet.record.desk import habits_of
    from billet.record.store import open_to_read
    from render.sheet.sheet import Remembered

    where = at(bench, recipe)
    if not where.is_file():
        return Remembered()
    with open_to_read(where) as record:
        entries, recipes = record.entries(), record.recipes()
    return Remembered(tuple(entries), tuple(recipes.items()), habits_of(entries, recipes, recipe.parent))


def _print(made: Made) -> None:
    """What was set, and the one thing to do with it."""
    pages = ", ".join(f"{name} {count}" for name, count in made.pages)
    print(f"{sum(count for _, count in made.pages)} pages: {pages}")
    if any(name == "template" for name, _ in made.pages):
        print("print at 100 %, not fitted to the page, and measure the two bars before you cut")
