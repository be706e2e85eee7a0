"""billet open: the page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Place = Annotated[Path, typer.Argument(metavar="[FOLDER | KNIFE]", help="A folder of recipes, or one recipe.")]
Port = Annotated[int, typer.Option("--port", min=0, max=65535, help="The port; left out, any free one.")]
Phone = Annotated[
    bool,
    typer.Option(
        "--phone", help="Let a telephone in the local network in, by a code to scan. Others there can see it."
    ),
]
NoBrowser = Annotated[bool, typer.Option("--no-browser", help="Print the address and open nothing.")]


def open(place: Place = Path(), port: Port = 0, phone: Phone = False, no_browser: NoBrowser = False) -> None:
    """Open the page: design, watch and work on knives in the browser. It answers this machine alone.

    Example: billet open knife.toml --phone
    """
    from billet.base import read_files
    from render.page.serve import leave, serve

    read_files.rest()  # the page writes the recipes it reads, each whole and only over the text it saw
    serve(place, port, phone=phone, browser=not no_browser, say=lambda line: print(line, flush=True))
    leave()
