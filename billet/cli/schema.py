"""billet schema: the grammar of a recipe for editors."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from billet.cli.common import Force, print_json, wrote


def schema(
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="Write to this file instead of the terminal.")
    ] = None,
    force: Force = False,
) -> None:
    """Print the JSON Schema of a recipe; a TOML editor can complete and check recipes with it.

    Example: billet schema -o recipe.schema.json, then begin the recipe with the comment "#:schema recipe.schema.json"
    """
    import json

    from billet.base.safe_files import write_whole
    from billet.recipe.models import schema as recipe_schema

    if output is None:
        print_json(recipe_schema())
        return
    wrote(write_whole(output, json.dumps(recipe_schema(), indent=2), force))
