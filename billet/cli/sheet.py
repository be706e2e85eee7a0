"""billet sheet: the knife on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from billet.cli.answer import print_wrapped
from billet.cli.common import BladeName, Force, RecipeFile, wrote
from billet.cli.record.options import BenchFile, at

if TYPE_CHECKING:
    from render.sheet.whole_sheet import Remembered

Out = Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="Where to; else beside the recipe.")]
Paper = Annotated[
    Literal["a4", "letter"] | None, typer.Option(help="The paper; else A4 for metric recipes, Letter for imperial.")
]
Html = Annotated[bool, typer.Option("--html", help="One HTML file for the phone instead of a PDF.")]
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
        "--card",
        metavar="CARD",
        help="One card only: template, forge, fire, grinder or customer; may be repeated.",
    ),
]


def sheet(
    recipe: RecipeFile, out: Out = None, html: Html = False, paper: Paper = None, card: Only = None,
    outline: Outline = None, stations: Stations = None, blade: BladeName = None, bench: BenchFile = None,
    force: Force = False,
) -> None:  # fmt: skip
    """Print the knife on paper: a template at true size, and cards for forge, fire, grinder and customer.

    Example: billet sheet knife.toml -o knife.pdf --outline knife.dxf
    """
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from render.sheet.sheet_files import check, write
    from render.sheet.whole_sheet import CARDS, sheet_of

    path = out or recipe.with_suffix(".html" if html else ".pdf")
    path = path.with_suffix(".html") if html and path.suffix.lower() == ".pdf" else path
    check(path, outline or [], force)
    book = run(for_blade(load(recipe), blade))
    whole = sheet_of(book, card or CARDS, _remembered(recipe, bench, book.recipe.tables.title), stations)
    files, said = write(whole, path, outline or [], paper, force)
    for file in files:
        wrote(file)
    for line in said:
        print_wrapped(line)


def _remembered(recipe: Path, bench: Path | None, title: str) -> Remembered:
    """What the record near a recipe holds; nothing where there is none."""
    from billet.record.desk import habits_of
    from billet.record.store import all_of
    from billet.record.whose import told_apart
    from render.sheet.whole_sheet import Remembered

    written, recipes = all_of(place := at(bench, recipe))
    entries = told_apart(written, recipes, recipe, title, place.parent)
    return Remembered(entries, tuple(recipes.items()), habits_of(entries, recipes, recipe.parent))
