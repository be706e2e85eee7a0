"""billet record compare, learn: what the notes tell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from billet.cli.common import AsJson, RecipeFile, print_json, print_table
from billet.cli.record.options import (
    BenchFile,
    at,
    units_of,
)

if TYPE_CHECKING:
    pass


def compare(recipe: RecipeFile, bench: BenchFile = None, json: AsJson = False) -> None:
    """Set what was measured beside what the recipe foresees, step by step.

    Example: billet record compare knife.toml
    """
    from billet.record.desk import beside_plan
    from billet.record.show import difference_dict, difference_row
    from billet.record.store import open_to_read

    with open_to_read(at(bench, recipe)) as record:
        found, left_out = beside_plan(recipe, record)
    if json:
        print_json({"differences": [difference_dict(one) for one in found], "notes_left_out": left_out})
        return
    heads = ("note", "after", "what", "foreseen", "measured", "difference", "")
    print_table(heads, [difference_row(one, units_of("", recipe)) for one in found], left=(1, 2))
    if left_out:
        typer.echo(f"{left_out} notes were left out: the recipe had other steps when they were written", err=True)


def learn(bench: BenchFile = None, json: AsJson = False) -> None:
    """Learn this shop's losses from all that was measured, and offer them as a [shop] table.

    Example: billet record learn
    """
    from billet.record.desk import all_passages
    from billet.record.fit import as_dict, fit_shop, offer
    from billet.record.store import open_to_read

    with open_to_read(at(bench, None)) as record:
        every, troubles = all_passages(record)
        entries = record.entries()
    for trouble in troubles:
        typer.echo(trouble, err=True)
    found = fit_shop(every)
    if json:
        print_json(as_dict(found))
    else:
        print(offer(found, len(entries), entries[-1].at[:10]), end="")
