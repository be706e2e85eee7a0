"""billet where: what is this line?"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from billet.cli.answer import print_wrapped, tell
from billet.cli.common import AsJson, BladeName, RecipeFile, print_cautions, print_json

At = Annotated[
    str | None, typer.Argument(metavar="SPOT", help='From the heel and from the edge line, such as "43 mm, 12 mm".')
]
FaceOf = Annotated[Literal["left", "right"], typer.Option("--face", help="The face looked at.")]
Picture = Annotated[
    Path | None, typer.Option("--picture", help="A picture drawn by billet preview; then --pixel says where in it.")
]
Pixel = Annotated[str | None, typer.Option("--pixel", help='A place in the picture, from its upper left, "812, 340".')]
Full = Annotated[bool, typer.Option("--full", help="The whole way back, step by step.")]


def where(
    recipe: RecipeFile,
    spot: At = None,
    face: FaceOf = "right",
    picture: Picture = None,
    pixel: Pixel = None,
    full: Full = False,
    blade: BladeName = None,
    json: AsJson = False,
) -> None:
    """Follow one spot of the knife back to its plate, and name the weld nearest to it.

    Example: billet where knife.toml "43 mm, 12 mm" --face left
    """
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from billet.where import look
    from billet.where.asked import asked
    from billet.where.words import as_data, if_open, moving, told, way_words

    side, x, y = asked(spot, face, picture, pixel)
    book = run(for_blade(load(recipe), blade), diffuse=False)
    found = look(book, side, x, y)
    if json:
        print_json(as_data(found, book))
        return
    units = book.recipe.tables.units
    if not full:
        tell([*told(found, book)], [*moving(found, units)], ("kitchen",), last=[*if_open(found)], units=units)
        return
    for line in (*told(found, book), *moving(found, units), *if_open(found), "The way back:"):
        print_wrapped(line)
    for line in way_words(found, book):
        print_wrapped(f"  {line}", hang=4)
    print_cautions("kitchen")
