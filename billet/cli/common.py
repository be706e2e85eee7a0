"""What the commands share: tables, JSON, and how a result leaves the program."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from billet.base.console import shows
from billet.base.plain_data import finite

RecipeFile = Annotated[Path, typer.Argument(help="The recipe, a TOML file.", metavar="RECIPE")]
BladeName = Annotated[
    str | None, typer.Option("--blade", help="Which blade, where the recipe cuts several from one bar.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON in SI units instead of a table.")]
Force = Annotated[bool, typer.Option("--force", help="Replace a file that is already there.")]


_STEERING = re.compile("[\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")  # what JSON itself leaves bare
_BEYOND = "\N{MUSICAL SYMBOL G CLEF}"  # no code page has it


def print_json(data: Any) -> None:
    """Print data as JSON; numbers that are not finite become null, letters the stream lacks are written as escapes."""
    plain = finite(data)
    text = json.dumps(plain, indent=2, ensure_ascii=False)
    if not text.isascii() and not shows(_BEYOND):  # a file in a code page of its own would be read as UTF-8
        text = json.dumps(plain, indent=2)
    print(_STEERING.sub(lambda sign: f"\\u{ord(sign[0]):04x}", text))


def table_lines(heads: Sequence[str], rows: Iterable[Sequence[str]], left: Iterable[int] = ()) -> list[str]:
    """A plain table as lines; columns are right-aligned but for those in `left`."""
    table = [list(heads), *[list(r) for r in rows]]
    wide = [max(len(r[c]) for r in table) for c in range(len(heads))]
    lefts = set(left)
    out = []
    for k, row in enumerate(table):
        cells = [t.ljust(w) if c in lefts else t.rjust(w) for c, (t, w) in enumerate(zip(row, wide, strict=True))]
        out.append("  ".join(cells).rstrip())
        if k == 0:
            out.append("  ".join("-" * w for w in wide).rstrip())
    return out


def print_table(heads: Sequence[str], rows: Iterable[Sequence[str]], left: Iterable[int] = ()) -> None:
    """Print a plain table; columns are right-aligned but for those in `left`."""
    print("\n".join(table_lines(heads, rows, left)))


def print_cautions(*topics: str) -> None:
    """Print the usual cautions in full below a result."""
    from billet.base.safety import cautions
    from billet.cli.answer import print_wrapped

    print()
    for line in cautions(*topics):
        print_wrapped(f"! {line}")


def warn(*topics: str, full: bool = False, units: str = "metric") -> None:
    """Print the cautions of some topics: one line each, or in full."""
    from billet.base.safety import in_a_line
    from billet.cli.answer import print_wrapped

    if full:
        print_cautions(*topics)
        return
    for text in in_a_line(*topics, units=units):
        print_wrapped(f"! {text}")


def wrote(path: Path) -> None:
    """Say on standard error what has been written."""
    print(f"wrote {path}", file=sys.stderr)
