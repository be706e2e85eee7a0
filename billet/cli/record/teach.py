"""billet record compare, learn: what the notes tell."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from billet.cli.answer import Full, tell, wrapped
from billet.cli.common import AsJson, Force, RecipeFile, print_json, print_table, wrote
from billet.cli.record.options import BenchFile, at, units_of

if TYPE_CHECKING:
    from billet.record.two_knives import Compared

Other = Annotated[Path | None, typer.Argument(metavar="[OTHER]", help="Another knife's recipe to compare with.")]
ChartFile = Annotated[Path | None, typer.Option("--chart", metavar="FILE", help="Draw two knives into this PNG file.")]


def compare(
    recipe: RecipeFile, other: Other = None, chart: ChartFile = None, bench: BenchFile = None, force: Force = False,
    full: Full = False, json: AsJson = False,
) -> None:  # fmt: skip
    """Set what was measured beside what the recipe foresees, step by step; with a second recipe, two knives side by side.

    Example: billet record compare last_year.toml this_year.toml --chart both.png
    """
    if other is not None:
        _two(recipe, other, chart, bench, force, full, json)
        return
    from billet.record.desk import beside_plan
    from billet.record.show import difference_dict, difference_row
    from billet.record.store import open_to_read

    with open_to_read(at(bench, recipe)) as record:
        found, left_out = beside_plan(recipe, record)
    if json:
        print_json({"differences": [difference_dict(one) for one in found], "notes_left_out": left_out})
        return
    rows = [difference_row(one, units_of("", recipe)) for one in found]
    if full:
        print_table(("note", "after", "what", "foreseen", "measured", "difference", ""), rows, left=(1, 2))
    else:
        _differences(rows)
    if left_out:
        typer.echo(f"{left_out} notes were left out: the recipe had other steps when they were written", err=True)


def _differences(rows: list[tuple[str, ...]]) -> None:
    """What was measured otherwise than foreseen, the marked ones (beyond what a reading is good to) first."""
    told = [
        f"{after}: {what} {measured}, foreseen {foreseen} ({share}){'; more than a reading is out' if mark else ''}"
        for _, after, what, foreseen, measured, share, mark in sorted(rows, key=lambda row: not row[-1])
    ]
    marked = sum(bool(row[-1]) for row in rows)
    tell([f"{len(rows)} sizes measured, {marked} further off than a reading is good to"], told)


def _two(
    first: Path, second: Path, chart: Path | None, bench: Path | None, force: bool, full: bool, json: bool
) -> None:
    from billet.base.safe_files import check_free
    from billet.record.desk import side_of
    from billet.record.store import open_to_read
    from billet.record.two_knives import compare_knives
    from billet.record.two_text import as_dict

    if chart is not None:
        check_free(chart, force, picture=True)
    with open_to_read(at(bench, second)) as record:
        found = compare_knives(side_of(first, record), side_of(second, record))
    if chart is not None:
        from render.two_knives_chart import two_knives_chart

        wrote(two_knives_chart(found, chart, force))
    if json:
        print_json(as_dict(found))
    else:
        (_print_two if full else _two_in_short)(found, units_of("", second))


def _two_in_short(found: Compared, units: str) -> None:
    """What went wrong on either, then the sums."""
    from billet.record.two_text import total_rows, verdicts
    from billet.record.visible import one_line

    head = [f"A is {one_line(found.first.title)}, B is {one_line(found.second.title)}"]
    sums = [f"{name}: {one} on A, {other} on B" for name, one, other in total_rows(found, units)]
    tell(head, [*(one_line(line) for line in verdicts(found)), *sums], last=["Stage by stage, and the recipes: --full"])


def _print_two(found: Compared, units: str) -> None:
    from billet.record.two_text import stage_rows, total_rows, verdicts
    from billet.record.visible import one_line

    one, other = one_line(found.first.title), one_line(found.second.title)
    print(f"A is {one}, B is {other}")
    for line in verdicts(found):
        print(f"  ! {one_line(line)}")
    print()
    print_table(("", "A", "B"), total_rows(found, units), left=(0,))
    heads = ("stage", "what", "A foreseen", "A measured", "B foreseen", "B measured")
    rows = stage_rows(found, units)
    if rows:
        print()
        print_table(heads, rows, left=(0, 1))
    print("\nthe recipes are the same" if not found.recipe else "\nin the recipe of B")
    for line in found.recipe:
        print(f"  {one_line(line)}")


def learn(bench: BenchFile = None, json: AsJson = False) -> None:
    """Learn this shop's losses, times, oven and tempers from all that was measured; the losses as a [shop] table.

    Example: billet record learn
    """
    from billet.base.errors import InputError
    from billet.record import habits as shop
    from billet.record.desk import all_passages, habits_of
    from billet.record.fit import as_dict, fit_shop, offer
    from billet.record.store import open_to_read

    path = at(bench, None)
    with open_to_read(path) as record:
        every, troubles = all_passages(record)
        entries, recipes = record.entries(), record.recipes()
    for trouble in troubles:
        typer.echo(trouble, err=True)
    habits = habits_of(entries, recipes, path.parent)
    told = shop.told(habits, units_of("", None, path))
    try:
        found = fit_shop(every)
    except InputError as error:
        if not told:
            raise InputError(f"{error} {' '.join(shop.reasons(habits))}") from None
        typer.echo(str(error), err=True)
        found = None
    if json:
        print_json({**(as_dict(found) if found else {}), "habits": shop.as_dict(habits)})
        return
    if found:
        print(offer(found, len(entries), entries[-1].at[:10]), end="")
    for line in (*told, *shop.reasons(habits)):
        print("\n".join(f"# {part}" for part in wrapped(line, 0, 2)))
