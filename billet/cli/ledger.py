"""billet ledger: what the bar becomes, step by step."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from billet.cli.common import AsJson, RecipeFile, print_cautions, print_json, print_table
from billet.cli.stages import as_data

if TYPE_CHECKING:
    from billet.ledger.rows import Ledger, Row
    from billet.stages.stage import Stage


def ledger(
    recipe: RecipeFile,
    json: AsJson = False,
    full: Annotated[bool, typer.Option("--full", help="All columns: shares, carbon, contrast, losses.")] = False,
) -> None:
    """Run a recipe forwards: sizes, weight and layers after every step.

    Example: billet ledger knife.toml
    """
    from billet.ledger.json import as_json
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.stages import stages
    from billet.stages.metal import weighed

    book = run(load(recipe))
    knife = weighed(stages(book.recipe, book), book) if book.recipe.tables.blade is not None else ()
    blade = [s for s in knife if s.kind == "blade"]
    if json:
        print_json(as_json(book) | {"blade": [as_data(s, book.recipe.tables.units) for s in blade]})
        return
    print_ledger(book, full)
    print_blade(blade, book.recipe.tables.units)
    print_cautions("fire", "press")


def print_blade(blade: list[Stage], units: str) -> None:
    """The blade's stages that take metal, down to the finished weight."""
    from billet.base.units import Kind, show

    rows = [
        (str(s.number), s.name, show(s.mass, Kind.MASS, units), show(s.lost, Kind.MASS, units)) for s in blade if s.lost
    ]
    if rows:
        print("\nfrom the bar to the sharp edge, tang and bolster included:\n")
        print_table(("stage", "do", "weight", "taken"), rows, left=(1,))


def print_ledger(book: Ledger, full: bool) -> None:
    """The ledger as a table in the recipe's units, warnings below the rows they belong to."""
    units = book.recipe.tables.units
    for run in book.bars:
        print(f"{book.recipe.tables.title}: {run.name}\n")
        print_table(HEADS, [_cells(row, units) for row in run.rows], left=(1,))
        for row in run.rows:
            for k, n in enumerate(row.notes):
                print(f"{'' if k else chr(10)}  step {row.number} ({row.do}): {n.say(units)}")
        if full:
            _print_full(run.rows, units)
        print()
    print(RANGES)


RANGES = (
    "Sizes and weights hang on the scale: its loss within 40 % in air and a factor 3 in a gas forge; "
    "carbon within 0.03 %, soft skin within 30 %, nickel spread within a factor 2 in time."
)
HEADS = ("step", "do", "length", "width", "thickness", "weight", "layers", "mean layer", "")


def _cells(row: Row, units: str) -> list[str]:
    from billet.base.units import Kind, show

    bar, m = row.bar, row.measures
    layers = f"{bar.layers_counted:,}" + (
        f" ({m.distinct:,} distinct)" if m.distinct not in (None, bar.layers_counted) else ""
    )
    return [
        str(row.number),
        row.do,
        show(bar.length, Kind.LENGTH, units),
        show(bar.width, Kind.LENGTH, units),
        show(bar.thickness, Kind.LENGTH, units, fine=True),
        show(bar.mass, Kind.MASS, units),
        layers,
        show(m.mean_layer, Kind.LENGTH, units, fine=True),
        "!" if row.notes else "",
    ]


def _print_full(rows: tuple[Row, ...], units: str) -> None:
    """Shares, carbon, contrast and losses."""
    from billet.base.units import Kind, show

    heads = (
        "step",
        "do",
        "steels by mass",
        "carbon",
        "C contrast",
        "alloy contrast",
        "soft skin",
        "scale",
        "kerf",
        "cleanup",
        "trim",
        "grinding",
        "added",
    )
    body = []
    for row in rows:
        m = row.measures
        shares = ", ".join(f"{n} {100 * s:.1f} %" for n, s in m.shares.items())
        contrast = [("-" if c is None else f"{100 * c:.0f} %") for c in (m.carbon_contrast, m.alloy_contrast)]
        masses = [show(v, Kind.MASS, units) if v else "-" for v in (*row.lost, row.added)]
        body.append(
            [
                str(row.number),
                row.do,
                shares,
                f"{m.carbon:.2f} %",
                *contrast,
                show(m.soft_skin, Kind.LENGTH, units, fine=True),
                *masses,
            ]
        )
    print()
    print_table(heads, body, left=(1, 2))
