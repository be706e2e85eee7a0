"""billet ledger: what the bar becomes, step by step."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from billet.cli.answer import MOST_LINES, Full, columns, print_wrapped, tell, wrapped
from billet.cli.common import AsJson, BladeName, RecipeFile, print_cautions, print_json, print_table, table_lines
from billet.cli.stages import as_data

if TYPE_CHECKING:
    from billet.ledger.rows import BarRun, Ledger, Row
    from billet.stages.stage import Stage


def ledger(recipe: RecipeFile, blade: BladeName = None, json: AsJson = False, full: Full = False) -> None:
    """Run a recipe forwards: sizes, weight and layers after every step.

    Example: billet ledger knife.toml
    """
    from billet.ledger.json import as_json
    from billet.ledger.run import run
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from billet.stages import stages
    from billet.stages.metal import weighed

    book = run(for_blade(load(recipe), blade))
    knife = weighed(stages(book.recipe, book), book) if book.recipe.tables.blade is not None else ()
    ground = [s for s in knife if s.kind == "blade"]
    if json:
        print_json(as_json(book) | {"blade": [as_data(s, book.recipe.tables.units) for s in ground]})
    elif full:
        print_ledger(book)
        print_blade(ground, book.recipe.tables.units)
        print_cautions("fire", "press")
    else:
        print_answer(book)


def print_blade(blade: list[Stage], units: str) -> None:
    """The blade's stages that take metal, down to the finished weight."""
    from billet.base.units import Kind, show

    rows = [
        (str(s.number), s.name, show(s.mass, Kind.MASS, units), show(s.lost, Kind.MASS, units)) for s in blade if s.lost
    ]
    if rows:
        print("\nfrom the bar to the sharp edge, tang and bolster included:\n")
        print_table(("stage", "do", "weight", "taken"), rows, left=(1,))


def print_answer(book: Ledger) -> None:
    """The bar at the end, where the metal went, and the last steps of its ledger."""
    from billet.base.units import Kind, show

    units, run = book.recipe.tables.units, book.bars[-1]
    bar, last = run.last, run.rows[-1]
    sizes = f"{show(bar.length, Kind.LENGTH, units)} x {show(bar.width, Kind.LENGTH, units)} x {show(bar.thickness, Kind.LENGTH, units, fine=True)}"
    head = [book.recipe.tables.title, f"Ends {sizes}, {show(bar.mass, Kind.MASS, units)}{layers_in_words(last)}"]
    if gone := where_the_metal_went(book):
        head.append(gone)
    warned = sum(len(row.notes) for r in book.bars for row in r.rows)
    count = f"{warned} warning{'s' if warned != 1 else ''}: billet check tells {'them' if warned != 1 else 'it'}"
    tail = [count] if warned else []
    room = MOST_LINES - sum(len(wrapped(line)) for line in head) - len(tail) - 3
    tell(head, last=[*_last_steps(run, units, room), *tail], topics=("figures", "fire", "press"))


def layers_in_words(row: Row) -> str:
    """The layers of a row, and why fewer can be told apart than were laid."""
    counted, distinct = row.bar.layers_counted, row.measures.distinct
    if counted < 2:
        return ""
    if distinct in (None, counted):
        return f"; {counted:,} layers"
    return f"; {counted:,} layers laid, {distinct:,} told apart (like met like)"


def where_the_metal_went(book: Ledger) -> str:
    """How much of the steel put in was lost, and to what, the largest first."""
    from billet.base.units import Kind, show

    rows = [row for run in book.bars for row in run.rows]
    lost = {
        name: sum(getattr(row.lost, name) for row in rows) for name in ("scale", "kerf", "cleanup", "trim", "grinding")
    }
    put_in = sum(run.rows[0].bar.mass for run in book.bars if run.rows[0].do == "stack") + sum(
        row.added for row in rows
    )
    told = [(name, mass) for name, mass in sorted(lost.items(), key=lambda item: -item[1]) if mass > 0.005 * put_in][:3]
    words = ", ".join(f"{name} {show(mass, Kind.MASS, book.recipe.tables.units)}" for name, mass in told)
    return (
        f"Lost {100 * sum(lost.values()) / put_in:.0f} % of {show(put_in, Kind.MASS, book.recipe.tables.units)}: {words}"
        if told
        else ""
    )


def _last_steps(run: BarRun, units: str, room: int) -> list[str]:
    """The last rows that fit into so many lines, under their heads."""
    heads: tuple[str, ...] = ("step", "", "length", "width", "thick", "weight", "layers", "")
    if columns() < 72:
        heads = (*heads[:5], "")
    rows = [[*_short_cells(row, units)[: len(heads) - 1], "!" if row.notes else ""] for row in run.rows]
    fit = max(1, room - 1)
    left = len(rows) - fit
    if left > 0:
        left += 1
        rows = rows[left:]
    lines = table_lines(heads, rows, left=(1,))
    more = [f"(steps 0 to {left - 1}: --full)"] if left > 0 else []
    return [lines[0], *lines[2:], *more]


def _short_cells(row: Row, units: str) -> list[str]:
    from billet.base.units import Kind, show

    bar = row.bar
    return [
        str(row.number),
        row.do.replace("_", " "),
        show(bar.length, Kind.LENGTH, units),
        show(bar.width, Kind.LENGTH, units),
        show(bar.thickness, Kind.LENGTH, units, fine=True),
        show(bar.mass, Kind.MASS, units),
        f"{bar.layers_counted:,}",
    ]


def print_ledger(book: Ledger) -> None:
    """The whole ledger in the recipe's units, warnings below the rows they belong to."""
    units = book.recipe.tables.units
    for run in book.bars:
        print(f"{book.recipe.tables.title}: {run.name}\n")
        print_table(HEADS, [_cells(row, units) for row in run.rows], left=(1,))
        for row in run.rows:
            for k, n in enumerate(row.notes):
                print_wrapped(f"{'' if k else chr(10)}  step {row.number} ({row.do}): {n.say(units)}")
        for lines in _full(run.rows, units):
            print()
            print("\n".join(lines))
        print()
    print_wrapped(RANGES)


RANGES = (
    "Sizes and weights depend on how much scale you lose: within 40 % in air, threefold either way for a gas forge; "
    "carbon within 0.03 %, soft skin within 30 %, nickel spread as for half to twice the time."
)
HEADS = ("step", "do", "length", "width", "thickness", "weight", "layers", "apart", "mean layer", "")


def _cells(row: Row, units: str) -> list[str]:
    from billet.base.units import Kind, show

    m = row.measures
    return [
        *_short_cells(row, units),
        "-" if m.distinct is None else f"{m.distinct:,}",
        show(m.mean_layer, Kind.LENGTH, units, fine=True),
        "!" if row.notes else "",
    ]


def _full(rows: tuple[Row, ...], units: str) -> Iterator[list[str]]:
    """Steels, carbon and contrast; then where the metal went."""
    from billet.base.units import Kind, show

    steels, losses = [], []
    for row in rows:
        m = row.measures
        contrast = [("-" if c is None else f"{100 * c:.0f} %") for c in (m.carbon_contrast, m.alloy_contrast)]
        skin = show(m.soft_skin, Kind.LENGTH, units, fine=True)
        shares = ", ".join(f"{n} {100 * s:.1f} %" for n, s in m.shares.items())
        steels.append([str(row.number), f"{m.carbon:.2f} %", *contrast, skin, shares])
        losses.append([str(row.number), *(show(v, Kind.MASS, units) if v else "-" for v in (*row.lost, row.added))])
    yield table_lines(
        ("step", "carbon", "C contrast", "etching contrast", "soft skin", "steels by weight"), steels, left=(5,)
    )
    yield table_lines(("step", "scale", "kerf", "cleanup", "trim", "grinding", "added"), losses)
