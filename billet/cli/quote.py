"""billet quote: what the knife costs to make."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from billet.cli.answer import named, print_wrapped
from billet.cli.common import AsJson, BladeName, RecipeFile, print_json, print_table


def quote(
    recipe: RecipeFile,
    blade: BladeName = None,
    json: AsJson = False,
    full: Annotated[
        bool, typer.Option("--full", help="Every steel and how much of each thing, and the hours of every stage.")
    ] = False,
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
    _print(found, book.recipe.tables.units, full)


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


def _print(found: Any, units: str, full: bool) -> None:
    low, likely, high = found.total
    money = f" {found.money}" if found.money else ""
    print_wrapped(
        f"about {likely:.0f}{money} to make, between {low:.0f} and {high:.0f}; no profit, no rent, no tax in it"
    )
    if full:
        _in_full(found, units, money)
    else:
        print("\n".join(named(_in_short(found, units))))
    if any(x.guess for x in found.lines):
        print_wrapped("Guesses are ours and may be far off: give your own under [shop.prices] and [stages].")


def _in_short(found: Any, units: str) -> list[tuple[str, str]]:
    """What each thing costs and whether that is a guess; all steel as one."""
    steel = [x for x in found.lines if x.unit == "kg"]
    rest = [x for x in found.lines if x.unit != "kg"]
    rows = [("  steel", sum(x.cost for x in steel), _amount(sum(x.amount for x in steel), "kg", units), steel)]
    rows += [(f"  {x.what}", x.cost, _amount(x.amount, x.unit, units), [x]) for x in rest]
    wide = max(len(f"{cost:.0f}") for _, cost, _, _ in rows)
    return [
        (name, f"{cost:{wide}.0f}  {much}" + (", a guess" if any(x.guess for x in lines) else ""))
        for name, cost, much, lines in rows
        if lines
    ]


def _amount(amount: float, unit: str, units: str) -> str:
    """How much of a thing, weights in the recipe's own units."""
    from billet.base.units import Kind, show

    if unit == "kg":
        return show(amount, Kind.MASS, units)
    return f"{amount:.3g} {unit}"


def _in_full(found: Any, units: str, money: str) -> None:
    print()
    rows = [
        (x.what, _amount(x.amount, x.unit, units), f"{x.cost:.2f}", "guess" if x.guess else "yours")
        for x in found.lines
    ]
    print_table(("", "how much", f"cost{money}", "figures"), rows, left=(0, 1, 3))
    print()
    print_table(("stage", "hours"), [(name, f"{hours:.2f}") for name, hours in found.hours], left=(0,))
    print()
