"""billet solid: the knife in three dimensions."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from billet.cli.answer import tell
from billet.cli.common import BladeName, Force, RecipeFile, wrote

Out = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="FILE", help="Where to write the .glb; left out, beside the recipe."),
]
Width = Annotated[int, typer.Option("--width", help="Width in pixels of the pictures laid over its faces.")]


def solid(
    recipe: RecipeFile, out: Out = None, blade: BladeName = None, width: Width = 2400, force: Force = False
) -> None:
    """Write the finished knife as a solid at true size, its etched faces on it: a glTF file that 3-D programs open.

    Example: billet solid knife.toml -o knife.glb
    """
    from billet.base.errors import InputError
    from billet.base.safe_files import check_free, write_whole
    from billet.base.units import Kind, show
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from render.request import check_size
    from render.solid.glb import as_glb
    from render.solid.glb import solid as made

    path = out or (recipe.with_suffix(".glb") if blade is None else recipe.with_name(f"{recipe.stem}-{blade}.glb"))
    if path.suffix.lower() != ".glb":
        raise InputError(f"--output: found {path.name}, and a solid is written as .glb; give it a name ending in .glb")
    check_size(width, 0.6 * width)
    check_free(path, force)
    read = for_blade(load(recipe), blade)
    mesh = made(run(read), width)
    write_whole(path, as_glb(mesh), force)
    units = read.tables.units
    long, high, thick = (show(float(v), Kind.LENGTH, units) for v in mesh.extents)
    volume = show(float(mesh.volume), Kind.VOLUME, units)
    tell(
        [
            f"Whole knife {long} long, {high} high, {thick} thick; {volume} of steel",
            "True size in metres; the point lies along X, the spine up along Y, the right face towards Z.",
        ]
    )
    wrote(path)
