"""billet steels: what the library knows of the steels smiths stack."""

from __future__ import annotations

from typing import Annotated

import typer

from billet.cli.common import AsJson, print_cautions, print_json, print_table


def steels(
    name: Annotated[str | None, typer.Argument(help="A steel to show in full.")] = None, json: AsJson = False
) -> None:
    """List the steels, or show one with its analysis, limits and cautions.

    Example: billet steels 15N20
    """
    from billet.cli.show_steel import print_steel, steel_json
    from billet.steel.library import find, library

    chosen = [find(name)] if name else list(library().values())
    if json:
        print_json({"steels": [steel_json(s) for s in chosen]})
    elif name:
        print_steel(chosen[0])
        print_cautions("fire")
    else:
        rows = [(s.name, s.designation, f"{s.carbon:.2f}", s.family, s.status) for s in chosen]
        print_table(("steel", "designation", "C %", "family", "figures"), rows, left=(0, 1, 3, 4))
