"""billet plan: from the finished knife back to the first stack."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from billet.cli.common import AsJson, Force, RecipeFile, print_cautions, print_json, print_table, wrote

if TYPE_CHECKING:
    from collections.abc import Callable

    from billet.plan import Candidate, Plan, Reach
    from billet.recipe.recipe import Recipe
    from billet.recipe.tables import Target


def plan(
    recipe: RecipeFile,
    layers: Annotated[int | None, typer.Option(help="Layers as the trade counts them.")] = None,
    distinct: Annotated[int | None, typer.Option(help="Layers after neighbours of one steel have become one.")] = None,
    line: Annotated[str | None, typer.Option(help='Width of a line on the ground bevel, such as "0.4 mm".')] = None,
    carbon: Annotated[float | None, typer.Option(help="Carbon of the mixed steel, weight percent.")] = None,
    dark: Annotated[float | None, typer.Option(help="Share of the dark steel by mass, 0 to 1.")] = None,
    pattern: Annotated[str | None, typer.Option(help="laminate, clad, ladder, raindrop, twist ...")] = None,
    rack: Annotated[Path | None, typer.Option(help="A file of [[bar]] tables: the bars in hand.")] = None,
    write: Annotated[Path | None, typer.Option(help="A folder to write every plan's recipe to.")] = None,
    from_step: Annotated[
        int | None, typer.Option("--from", help="Start from the bar as measured after this step.")
    ] = None,
    measured: Annotated[str, typer.Option(help='With --from: "length=120 mm,width=41 mm,thickness=12 mm".')] = "",
    json: AsJson = False,
    force: Force = False,
) -> None:
    """Plan backwards: how much steel, how many plates, how many restacks, which way up.

    The target comes from [target] and [rack] in the recipe; options override it. With --from, says what a measured bar
    still gives. Example: billet plan knife.toml --layers 200
    """
    from billet.plan.plan_json import as_json
    from billet.plan.planner import plan as make
    from billet.recipe.read import load

    read = load(recipe)
    if from_step is not None or measured:
        return _still(read, from_step, measured, json)
    wanted = _target(
        read, {"layers": layers, "distinct": distinct, "line": line, "carbon": carbon, "dark": dark, "pattern": pattern}
    )
    made = make(read, wanted, None if rack is None else _rack(rack), progress=_progress())
    if json:
        print_json(as_json(made))
    else:
        _print(made)
        print_cautions("fire", "press")
    if write is not None:
        _write(made, write, recipe.stem, force)


def _target(read: Recipe, given: dict[str, Any]) -> Target:
    """The recipe's target with the options in place of its own."""
    from pydantic import ValidationError

    from billet.base.errors import InputError
    from billet.base.fields import sentence
    from billet.recipe.tables import Target

    options = {k: v for k, v in given.items() if v is not None}
    try:
        set_ = Target.model_validate(options, context={"door": True})
    except ValidationError as error:
        one = error.errors()[0]
        raise InputError(f"--{one['loc'][0]}: {sentence(dict(one))}") from None
    old = read.tables.target or Target()
    count = {"layers", "distinct", "line"}
    cleared = {k: None for k in count} if options.keys() & count else {}
    return old.model_copy(update=cleared | {k: getattr(set_, k) for k in options})


def _rack(path: Path) -> Any:
    """The bars of a rack file."""
    from billet.plan.rackfile import read_rack

    return read_rack(path)


def _progress() -> Callable[[int, int], None] | None:
    """Progress on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty():
        return None
    return lambda weighed, found: print(
        f"\r{weighed:,} sequences weighed, {found} kept", end="", file=sys.stderr, flush=True
    )


def _print(made: Plan) -> None:
    """The ranking, then each plan in words."""
    from billet.base.units import Kind, show

    goal, units = made.goal, made.goal.units
    if sys.stderr.isatty():
        print(file=sys.stderr)
    need = goal.need
    print(f"{goal.recipe.tables.title}: {made.weighed:,} sequences weighed")
    print(
        f"  the blade needs a bar of {show(need.length, Kind.LENGTH, units)} x "
        f"{show(need.width, Kind.LENGTH, units)} x "
        f"{show(need.thickness, Kind.LENGTH, units, fine=True)}; every plan gives it at twice the "
        f"scale loss, with {100 * goal.reserve:.0f} % of length in hand"
    )
    if goal.forged_length is not None:
        print(
            "  the whole bar is kept as thick as the bolster; to forge the blade out beside the bolster takes only "
            f"{show(goal.forged_length, Kind.LENGTH, units)} of that bar"
        )
    if not goal.aimed:
        print(f"  no layers were asked for: {goal.target.layers} is usual for this pattern")
    if made.in_hand is False:
        print("  the rack is short for every plan: what to buy stands below")
    print()
    heads = (
        "",
        "plates",
        "cut in",
        "layers",
        "carbon",
        "contrast",
        "weld heats",
        "yield",
        "steel",
        "final bar",
        "score",
    )
    print_table(heads, [_row(k, c, units) for k, c in enumerate(made.candidates, 1)], left=(10,))
    for k, c in enumerate(made.candidates, 1):
        print(f"\n{k}. {c.why}")
        for text in _words(c, units):
            print(f"   {text}")


def _row(k: int, c: Candidate, units: str) -> list[str]:
    from billet.base.units import Kind, show

    b, last, m = c.found.batch, c.book.last, c.promised
    distinct = f" ({m.distinct})" if m.distinct not in (None, last.layers_counted) else ""
    bar = " x ".join(
        show(v, Kind.LENGTH, units, fine=f)
        for v, f in ((last.length, False), (last.width, False), (last.thickness, True))
    )
    return [
        str(k),
        str(c.plates),
        " ".join(str(int(p)) for p in b.pieces[:, 0]) or "-",
        f"{last.layers_counted}{distinct}",
        f"{m.carbon:.2f} %",
        "-" if m.alloy_contrast is None else f"{100 * m.alloy_contrast:.0f} %",
        str(c.welds),
        f"{100 * last.mass / (c.laid + c.spacers):.0f} %",
        show(c.laid + c.spacers, Kind.MASS, units),
        bar,
        c.score.say(),
    ]


def _words(c: Candidate, units: str) -> list[str]:
    """One plan in the order of the work."""
    from billet.plan.tell import tell

    return tell(c, units)


def _write(made: Plan, folder: Path, stem: str, force: bool) -> None:
    """Every plan's recipe as a file of its own."""
    from billet.base.errors import InputError
    from billet.base.safe_files import check_free, write_whole

    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise InputError(
            f"--write: the folder {folder} cannot be made ({error.strerror}); name one that is there"
        ) from None
    paths = [folder / f"{stem}_plan_{k}.toml" for k in range(1, len(made.candidates) + 1)]
    for path in paths:
        check_free(path, force)
    for path, c in zip(paths, made.candidates, strict=True):
        wrote(write_whole(path, c.text, force))


def _still(read: Recipe, step: int | None, measured: str, json: bool) -> None:
    """What a measured bar still gives; exit code 1 when it is not the blade."""
    from billet.base.errors import InputError
    from billet.plan.measured import reach, read_measured
    from billet.plan.plan_json import reach_json
    from billet.plan.tell import tell_reach

    if step is None or not measured:
        raise InputError(
            '--from and --measured go together: --from 4 --measured "length=120 mm,width=41 mm,thickness=12 mm"'
        )
    found: Reach = reach(read, step, read_measured(measured))
    if json:
        print_json(reach_json(found))
    else:
        print("\n".join(tell_reach(found, read.tables.units)))
        print_cautions("fire", "press")
    if not found.enough:
        raise typer.Exit(1)
