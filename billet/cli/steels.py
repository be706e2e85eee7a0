"""billet steels: what the library knows of the steels smiths stack."""

from __future__ import annotations

from typing import Annotated

import typer

from billet.cli.answer import Full, print_wrapped, tell
from billet.cli.common import AsJson, print_cautions, print_json, print_table


def steels(
    name: Annotated[str | None, typer.Argument(help="A steel to show.")] = None,
    imperial: Annotated[bool, typer.Option("--imperial", help="Fahrenheit.")] = False,
    json: AsJson = False,
    full: Full = False,
) -> None:
    """List the steels, or show one with its analysis, limits and cautions.

    Example: billet steels 15N20
    """
    from billet.cli.show_steel import steel_json, steel_lines
    from billet.steel.library import find, library

    chosen = [find(name)] if name else list(library().values())
    if json:
        print_json({"steels": [steel_json(s) for s in chosen]})
    elif name:
        lines = steel_lines(chosen[0], "imperial" if imperial else "metric")
        if full:
            for line in lines:
                print_wrapped(line)
            print_cautions("fire")
        else:
            tell(lines[:4], lines[4:], ("figures", "fire"))
    elif full:
        rows = [(s.name, f"{s.carbon:.2f}", s.family, s.status, s.designation) for s in chosen]
        print_table(("steel", "C %", "family", "figures", "designation"), rows, left=(0, 2, 3, 4))
    else:
        families = dict.fromkeys(s.family for s in chosen)
        groups = [f"{f}: " + ", ".join(s.name for s in chosen if s.family == f) for f in families]
        tell([f"{len(chosen)} steels; billet steels NAME tells of one, --full lists them with their carbon."], groups)
