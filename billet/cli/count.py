"""billet count: layers in a photograph of an etched bar end or bevel."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from billet.cli.answer import print_wrapped
from billet.cli.common import AsJson, Force, print_json, wrote

if TYPE_CHECKING:
    from billet.base.pictures import Photo
    from billet.count import Count


def count(
    photograph: Annotated[
        Path, typer.Argument(help="PNG, JPEG or TIFF of an etched bar end or bevel.", metavar="PHOTOGRAPH")
    ],
    along: Annotated[
        str | None,
        typer.Option(
            help="Line to count along, in pixels: x1,y1,x2,y2. Without it, across the bar's middle.",
            metavar="X1,Y1,X2,Y2",
        ),
    ] = None,
    band: Annotated[float | None, typer.Option(help="Width in pixels to average around --along.")] = None,
    dpi: Annotated[float | None, typer.Option(help="Pixels per inch of steel, for layers per inch.")] = None,
    scale: Annotated[
        str | None, typer.Option(help='Two points of a ruler in the picture: "x1,y1,x2,y2=25 mm".')
    ] = None,
    recipe: Annotated[
        Path | None, typer.Option(help="Compare with the distinct layers of this recipe's last bar.")
    ] = None,
    after: Annotated[
        int | None, typer.Option(help="Compare with the bar after this step; without it, after the last.")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(help="Write the photograph with the counted layers marked, a PNG.")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Count the layers a line across a photograph crosses, with the range the truth should lie in, or say why it cannot
    be told.

    Example: billet count bar-end.jpg --dpi 1200 --recipe knife.toml --picture counted.png
    """
    from billet.base.pictures import read_picture
    from billet.base.safe_files import check_free
    from billet.count import count_layers
    from billet.count.against_recipe import as_json, in_words
    from billet.count.photo_scale import measured_line, pixel_size

    if picture is not None:
        check_free(picture, force, picture=True)
    photo = read_picture(photograph)
    line, pixel_m = measured_line(along, band), pixel_size(photo.pixel_m, dpi, scale)
    found = count_layers(photo.grey, line=line, pixel_m=pixel_m)
    sentences = [] if recipe is None else [_compared(found, recipe, after)]
    if picture is not None:
        _write_picture(picture, photo, found, force)
    if json:
        print_json(as_json(found) | ({"comparison": sentences[0]} if sentences else {}))
    else:
        for text in in_words(found) + sentences:
            print_wrapped(text)


def _compared(found: Count, recipe: Path, after: int | None) -> str:
    """The sentence that sets the count beside the recipe's last bar."""
    from billet.base.errors import InputError
    from billet.count.against_recipe import compare_with_ledger
    from billet.ledger.run import run
    from billet.recipe.read import load

    last = run(load(recipe), diffuse=False).bars[-1]
    if after is not None:
        last.after(after)
    distinct = last.rows[-1 if after is None else after].measures.distinct
    if distinct is None:
        raise InputError(
            f"{recipe}: after this step single layers no longer run through the bar; compare an earlier one with"
            " --after."
        )
    return compare_with_ledger(found, distinct)


def _write_picture(path: Path, photo: Photo, found: Count, force: bool) -> None:
    """The marked photograph, written whole."""
    from billet.base.safe_files import write_whole
    from render.annotate import marked_png

    write_whole(path, marked_png(photo.grey, found), force)
    wrote(path)
