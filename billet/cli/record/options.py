"""What the commands of the record share: their options, and where the record lies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

FREE_WORDS = {"ignore_unknown_options": True}
BenchFile = Annotated[
    Path | None,
    typer.Option("--bench", metavar="FILE", help="The record; else bench.sqlite beside the recipe or above it."),
]
WORDS = (
    "Free words in any order, such as: after quench bow 1.5 mm left middle, wrong edges cold, cure two more minutes. "
    "What is not understood is kept as the note."
)
Words = Annotated[list[str] | None, typer.Argument(metavar="WORDS...", help=WORDS)]
Number = Annotated[int, typer.Argument(metavar="NUMBER", help="The note to correct.")]
Everything = Annotated[bool, typer.Option("--all", help="Corrected notes too.")]
Question = Annotated[list[str], typer.Argument(metavar="WORDS...", help="What to look for.")]
ExportTo = Annotated[
    Literal["csv", "markdown"], typer.Option("--to", help="csv for a spreadsheet, in SI; markdown for paper.")
]
Output = Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="Where to; else it is printed.")]
Copy = Annotated[Path, typer.Argument(metavar="FILE", help="The new copy.")]
AsText = Annotated[bool, typer.Option("--text", help="Plain text, one JSON value a line, that any program can read.")]
Source = Annotated[Path, typer.Argument(metavar="FILE", help="A backup in plain text.")]
NewBench = Annotated[Path, typer.Option("--bench", metavar="FILE", help="The new record.")]
SomeRecipe = Annotated[Path | None, typer.Argument(metavar="[RECIPE]", help="One knife only; else every knife.")]
Units = Annotated[str, typer.Option("--units", help="metric or imperial.")]


def at(bench: Path | None, near: Path | None) -> Path:
    """The record's file: the one named, the one found near the recipe, or the one to be started beside it."""
    from billet.record.store import bench_near

    return bench or bench_near(near.parent if near else Path())


def units_of(units: str, recipe: Path | None, bench: Path | None = None) -> str:
    """The units asked for, else the recipe's, else those most notes of the record were taken in, else metric."""
    import tomllib

    from billet.base.errors import InputError

    if units not in ("", "metric", "imperial"):
        raise InputError(f'--units: found "{units}", wanted metric or imperial')
    if units:
        return units
    if recipe is not None:
        text = recipe.read_text(encoding="utf-8-sig")
        return "imperial" if tomllib.loads(text).get("units") == "imperial" else "metric"
    if bench is not None and bench.is_file():
        from billet.record.shop_units import shop_units
        from billet.record.store import open_to_read

        with open_to_read(bench) as record:
            return shop_units(record.entries(), record.recipes())
    return "metric"
