"""billet quote: what the knife costs to make."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from billet.cli.common import AsJson, BladeName, RecipeFile, print_json, print_table


def quote(
    recipe: RecipeFile,
    blade: BladeName = None,
    json: AsJson = False,
    full: Annotated[bool, typer.Option("--full", help="Hours of every stage.")] = False,
) -> None:
    """Reckon what a knife costs: steel, gas, electricity, belts, acid, hours.

    Figures come from prices in [shop]; what is not there is a guess and marked as one. Example: billet quote knife.toml
    """
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from billet.stages import stages
    from billet.stages.metal import weighed
    from billet.stages.quote import quote as reckoned

    book = run(for_blade(load(recipe), blade), diffuse=False)
    found = reckoned(book, weighed(stages(book.recipe, book), book))
    if json:
        print_json(as_data(found))
        return
    _print(found, full)


def as_data(found: Any) -> dict[str, Any]:
    """A quote as plain data."""
    low, likely, high = found.total
    return {
        "money": found.money,
        "total": {"low": low, "likely": likely, "high": high},
        "lines": [
            {"what": x.what, "amount": x.amount, "unit": x.unit, "cost": x.cost, "low": x.low, "high": x.high, "guess": x.guess}
            for x in found.lines
        ],
        "hours": [{"stage": name, "hours": hours} for name, hours in found.hours],
    }  # fmt: skip


def _print(found: Any, full: bool) -> None:
    low, likely, high = found.total
    money = f" {found.money}" if found.money else ""
    print(f"about {likely:.0f}{money} to make, between {low:.0f} and {high:.0f}; no profit, no rent, no tax in it\n")
    rows = [(x.what, f"{x.amount:.2f} {x.unit}", f"{x.cost:.2f}", "guess" if x.guess else "yours") for x in found.lines]
    print_table(("", "how much", f"cost{money}", "figures"), rows, left=(0, 1, 3))
    if any(x.guess for x in found.lines):
        print("\nguesses are ours and may be far off: give your own under [shop.prices] and [stages]")
    if full:
        print()
        print_table(("stage", "hours"), [(name, f"{hours:.2f}") for name, hours in found.hours], left=(0,))
