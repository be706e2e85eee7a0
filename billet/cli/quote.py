"""billet quote: what the knife costs to make."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from billet.cli.answer import named, print_wrapped
from billet.cli.common import AsJson, BladeName, RecipeFile, print_json, print_table
from billet.cli.record.options import BenchFile, at

if TYPE_CHECKING:
    from billet.recipe.recipe import Recipe
    from billet.record.habits import Habits
    from billet.stages.quote import FromRecord, Quote


def quote(
    recipe: RecipeFile,
    blade: BladeName = None,
    bench: BenchFile = None,
    json: AsJson = False,
    full: Annotated[
        bool, typer.Option("--full", help="Every steel and how much of each thing, and the hours of every stage.")
    ] = False,
) -> None:
    """Reckon what a knife costs: steel, gas, electricity, belts, acid, hours.

    Figures come from prices in [shop] and from the times and belts in your bench record; what is in neither is a guess and
    marked as one. Of an order the knives share the bar's costs. Example: billet quote knife.toml
    """
    from billet.recipe.read import load

    read = load(recipe)
    names = [d.name for d in read.blades] if read.blades and blade is None else [blade]
    found = {name or "": _quoted(read, name, recipe, bench) for name in names}
    units = read.tables.units
    if json:
        print_json(as_data(found[blade or ""]) if len(names) == 1 else _order_as_data(found))
    elif len(names) == 1:
        _print(found[blade or ""], units, full)
    else:
        _print_order(found, units, full)


def _quoted(read: Recipe, name: str | None, path: Path, bench: Path | None) -> Quote:
    """The quote of one knife; of an order it bears the share of the bar it is cut from."""
    from billet.ledger.run import run
    from billet.recipe.several import for_blade, share_of_bar
    from billet.record.desk import habits_of
    from billet.record.store import all_of
    from billet.stages import stages
    from billet.stages.metal import weighed
    from billet.stages.quote import quote as reckoned

    book = run(for_blade(read, name), diffuse=False)
    entries, recipes = all_of(at(bench, path))
    record = _noted(habits_of(entries, recipes, path.parent))
    return reckoned(book, weighed(stages(book.recipe, book), book), record, share_of_bar(book.recipe))


def _noted(habits: Habits) -> FromRecord:
    """Minutes and belts as this shop's own notes have them."""
    from billet.record.fit import Learnt
    from billet.stages.quote import FromRecord

    def band(one: Learnt, per: float) -> tuple[float, float, float]:
        return one.value / per, one.low / per, one.high / per

    minutes = {do: band(one, 60.0) for do in habits.times if (one := habits.minutes(do)) is not None}
    belts = habits.belts
    return FromRecord(minutes, band(belts, 1.0) if isinstance(belts, Learnt) else None)


def _order_as_data(found: dict[str, Quote]) -> dict[str, Any]:
    """The quotes of an order as plain data, and their sum."""
    low, likely, high = (sum(q.total[k] for q in found.values()) for k in range(3))
    return {
        "money": next(iter(found.values())).money,
        "total": {"low": low, "likely": likely, "high": high},
        "blades": {name: as_data(q) for name, q in found.items()},
    }


def _print_order(found: dict[str, Quote], units: str, full: bool) -> None:
    """What all knives of an order cost, and each of them."""
    low, likely, high = (sum(q.total[k] for q in found.values()) for k in range(3))
    money = next(iter(found.values())).money
    print_wrapped(_sum(low, likely, high, money, f"all {len(found)}"))
    rows = [(f"  {name}", "{1:.0f}, between {0:.0f} and {2:.0f}".format(*q.total)) for name, q in found.items()]
    print("\n".join(named(rows)))
    print_wrapped("Each bears the bar's steel and forging by the length it is cut from; --blade shows one by itself.")
    if full:
        for name, one in found.items():
            print(f"\n{name}")
            _print(one, units, full)


def _sum(low: float, likely: float, high: float, money: str, what: str = "") -> str:
    costs = f"about {likely:.0f}{f' {money}' if money else ''} to make{f' {what}' if what else ''}"
    return f"{costs}, between {low:.0f} and {high:.0f}; no profit, no rent, no tax in it"


def as_data(found: Any) -> dict[str, Any]:
    """A quote as plain data."""
    low, likely, high = found.total
    return {
        "money": found.money,
        "total": {"low": low, "likely": likely, "high": high},
        "lines": [
            {"what": x.what, "amount": x.amount, "unit": x.unit, "cost": x.cost, "low": x.low, "high": x.high, "guess": x.guess, "noted": x.noted}
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
    return [(name, f"{cost:{wide}.0f}  {much}" + _where_from(lines)) for name, cost, much, lines in rows if lines]


def _where_from(lines: list[Any]) -> str:
    """Whether figures are guessed or noted at the bench, after the amount."""
    told = [
        word
        for word, one in (("from your notes", "noted"), ("a guess", "guess"))
        if any(getattr(x, one) for x in lines)
    ]
    return f", {' and in part '.join(told)}" if told else ""


def _amount(amount: float, unit: str, units: str) -> str:
    """How much of a thing, weights in the recipe's own units."""
    from billet.base.units import Kind, show

    if unit == "kg":
        return show(amount, Kind.MASS, units)
    return f"{amount:.3g} {unit}"


def _in_full(found: Any, units: str, money: str) -> None:
    print()
    rows = [
        (
            x.what,
            _amount(x.amount, x.unit, units),
            f"{x.cost:.2f}",
            "guess" if x.guess else "your notes" if x.noted else "yours",
        )
        for x in found.lines
    ]
    print_table(("", "how much", f"cost{money}", "figures"), rows, left=(0, 1, 3))
    print()
    print_table(("stage", "hours"), [(name, f"{hours:.2f}") for name, hours in found.hours], left=(0,))
    print()
