"""billet new: a starter recipe."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from billet.cli.common import Force, wrote


def new(
    recipe: Annotated[Path, typer.Argument(help="The file to write.", metavar="RECIPE")],
    imperial: Annotated[bool, typer.Option("--imperial", help="Inches, thou and Fahrenheit.")] = False,
    force: Force = False,
) -> None:
    """Write a starter recipe: a laminate of two steels for a 210 mm chef's knife, every line explained.

    Example: billet new knife.toml
    """
    from importlib.resources import files

    from billet.base.safe_files import write_whole
    from billet.recipe.shop_file import named_as_knife

    name = "starter_imperial.toml" if imperial else "starter_metric.toml"
    wrote(write_whole(named_as_knife(recipe), files("billet").joinpath(name).read_text("utf-8"), force))
