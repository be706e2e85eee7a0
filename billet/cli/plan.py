"""billet plan: from the finished knife back to the first stack."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from billet.cli.answer import MOST_LINES, fitted, print_wrapped, wrapped
from billet.cli.common import AsJson, Force, RecipeFile, print_cautions, print_json, print_table, warn, wrote

if TYPE_CHECKING:
    from billet.plan import Candidate, Plan, Reach
    from billet.recipe.recipe import Recipe

_AFTER = 3  # lines of an answer that follow the first plan: the others, and the cautions


def plan(
    recipe: RecipeFile,
    layers: Annotated[int | None, typer.Option(help="Layers as the trade counts them.")] = None,
    distinct: Annotated[int | None, typer.Option(help="Layers after neighbours of one steel have become one.")] = None,
    line: Annotated[str | None, typer.Option(help='Width of a line on the ground bevel, such as "0.4 mm".')] = None,
    carbon: Annotated[float | None, typer.Option(help="Carbon of the mixed steel, weight percent.")] = None,
    dark: Annotated[float | None, typer.Option(help="Share of the dark steel by mass, 0 to 1.")] = None,
    pattern: Annotated[str | None, typer.Option(help="laminate, clad, ladder, raindrop, twist ...")] = None,
    rack: Annotated[Path | None, typer.Option(help="A file of [[bar]] tables: the bars in hand.")] = None,
    have: Annotated[
        list[str] | None, typer.Option(help='A bar in hand, such as "2 of 1084 1/8 x 1 1/2 x 48 in"; may be repeated.')
    ] = None,
    write: Annotated[Path | None, typer.Option(help="A folder to write every plan's recipe to.")] = None,
    pictures: Annotated[Path | None, typer.Option(help="A PNG to draw all plans into, one small picture each.")] = None,
    from_step: Annotated[
        str | None, typer.Option("--from", help='Start from a bar as measured after this step: 4, or "name:4".')
    ] = None,
    measured: Annotated[str, typer.Option(help='With --from: "length=120 mm,width=41 mm,thickness=12 mm".')] = "",
    in_full: Annotated[bool, typer.Option("--full", help="Losses, surpluses, press and score of every plan.")] = False,
    json: AsJson = False,
    force: Force = False,
) -> None:
    """Plan backwards: how much steel, how many plates, how many restacks, which way up.

    The target comes from [target] and [rack] in the recipe; options override it. With --from, says what a measured bar
    still gives and how to go on from it. Example: billet plan knife.toml --layers 200
    """
    from billet.plan.infeasible import UnreachableError
    from billet.plan.plan_json import as_json
    from billet.plan.planner import plan as make
    from billet.plan.wanted import wanted
    from billet.recipe.read import load

    read = load(recipe)
    if from_step is not None or measured:
        return _still(read, from_step, measured, json)
    asked = {"layers": layers, "distinct": distinct, "line": line, "carbon": carbon, "dark": dark, "pattern": pattern}
    target = wanted(read, asked, lambda option: f"--{option}: ")
    shown = _Shown(read, json, in_full)
    try:
        made = make(read, target, _rack(read, rack, have), progress=shown.progress)
    except UnreachableError as error:
        if error.plan is not None and not json:
            shown.clear()
            _nearest(error.plan)
        raise
    shown.clear()
    if json:
        print_json(as_json(made))
    else:
        _print(made, shown.first, in_full)
        warn("fire", "press", full=in_full, units=shown.units)
    if write is not None:
        _write(made, write, recipe.stem, force)
    if pictures is not None:
        _draw(made, pictures, force)


def _rack(read: Recipe, path: Path | None, have: list[str] | None) -> Any:
    """The bars in hand: of a rack file or of lines; None where the recipe's own count."""
    from billet.plan.rackfile import read_bar, read_rack

    if path is None and not have:
        return None
    filed = () if path is None else read_rack(path)
    return (*filed, *(read_bar(text, "--have") for text in have or ()))


class _Shown:
    """What is on the terminal while plans are sought: a counter, and the first plan as soon as it is settled."""

    def __init__(self, read: Recipe, json: bool, in_full: bool) -> None:
        self.title, self.units, self.json, self.in_full = read.tables.title, read.tables.units, json, in_full
        self.first: Candidate | None = None
        self._counted = False

    def progress(self, weighed: int, first: Candidate | None) -> None:
        """Told by the planner."""
        if first is not None and not self.json:
            self.clear()
            self.first = first
            if self.in_full:
                _answer(self.title, first, self.units)
            else:
                _brief(first, self.units)
            sys.stdout.flush()
        elif sys.stderr.isatty():
            self._counted = True
            print(f"\r{weighed:,} ways tried, looking further; Ctrl-C stops", end="", file=sys.stderr, flush=True)

    def clear(self) -> None:
        """Take the counter away."""
        if self._counted:
            print("\r" + " " * 60 + "\r", end="", file=sys.stderr, flush=True)
            self._counted = False


def _answer(title: str, first: Candidate, units: str) -> None:
    """The first plan in full."""
    from billet.plan.tell import answer

    print(f"{title}\n")
    for text in answer(first, units):
        print_wrapped(text, _hang(text))


def _brief(first: Candidate, units: str) -> None:
    """The first plan in as many lines as an answer leaves it."""
    from billet.plan.brief_plan import besides, outcome, steps

    end = wrapped(outcome(first, units))
    room = MOST_LINES - _AFTER - len(end)
    told, left = fitted([*steps(first, units)], room, 4)
    more = [line for text in besides(first, units) for line in wrapped(text)]
    fits = len(told) + bool(left) + len(more) <= room
    print("\n".join([*told, *([f"  {left} more with --full"] if left else []), *end, *(more if fits else [])]))


def _hang(text: str) -> int:
    """Numbered lines go on under their text."""
    return 4 if text[:2].strip().isdigit() else 0


def _print(made: Plan, told: Candidate | None, in_full: bool) -> None:
    """The answer; in full also the table of the others and why the first is first."""
    from billet.plan.brief_plan import others
    from billet.plan.tell import full, why

    goal, units = made.goal, made.goal.units
    if not in_full:
        if told is None:
            _brief(made.candidates[0], units)
        print_wrapped(others(made))
        return
    if told is None:
        _answer(goal.recipe.tables.title, made.candidates[0], units)
    if not goal.aimed:
        print_wrapped(f"No layers were asked for: {goal.target.layers} is usual for this pattern.")
    if made.in_hand is False:
        print_wrapped("The rack is short for every plan: what to buy stands above.")
    print()
    for text in why(made):
        print_wrapped(text)
    if made.stopped:
        print_wrapped("Stopped early: these are the best so far.")
    if len(made.candidates) > 1:
        print()
        _others(made)
    _in_full(made, full)


def _others(made: Plan) -> None:
    """All plans in a table."""
    from billet.base.units import Kind, show

    units = made.goal.units
    rows = []
    for k, c in enumerate(made.candidates, 1):
        b, last, middle = c.found.batch, c.book.last, c.face.at("middle")
        cuts = " ".join(str(int(p)) for p in b.pieces[:, 0]) or "-"
        loss = f"{100 * (1 - last.mass / (c.laid + c.spacers)):.0f} %"
        steel = show(c.laid + c.spacers, Kind.MASS, units)
        rows.append(
            [
                str(k), str(c.plates), cuts, f"{last.layers_counted:,}", str(middle.lines), f"{100 * c.face.dark:.0f} %",
                f"{c.face.widest:.1f} x", str(c.welds), loss, steel,
            ]
        )  # fmt: skip
    heads = ("", "plates", "cut in", "layers", "lines", "dark", "boldest", "weld heats", "lost", "steel")
    print_table(heads, rows)


def _in_full(made: Plan, full: Any) -> None:
    """Every plan with its steps and all that is known of it."""
    from billet.plan.tell import answer

    for k, c in enumerate(made.candidates, 1):
        print()
        print_wrapped(f"Plan {k}: {c.why}")
        for text in (*(answer(c, made.goal.units) if k > 1 else ()), *full(c, made.goal.units)):
            print_wrapped(f"  {text}", _hang(text))


def _nearest(near: Plan) -> None:
    """The nearest plan there is, when none meets the target."""
    print("Nothing meets the target; the nearest plan:")
    _brief(near.candidates[0], near.goal.units)


def _draw(made: Plan, path: Path, force: bool) -> None:
    """A contact sheet of all plans."""
    from billet.base.safe_files import check_free
    from billet.plan.tell import in_short
    from render.contact import contact
    from render.picture import save
    from render.request import Request

    check_free(path, force)
    units = made.goal.units
    labels = [f"{k}. {in_short(c, units)}" for k, c in enumerate(made.candidates, 1)]
    sheet = contact([c.book for c in made.candidates], labels, Request(view="right", width=1800))
    save(sheet, path, force=force)
    wrote(path)


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


def _still(read: Recipe, step: str | None, measured: str, json: bool) -> None:
    """What a measured bar still gives; exit code 1 when it is not the blade."""
    from billet.base.errors import InputError
    from billet.plan.measured import reach, read_measured, read_place
    from billet.plan.plan_json import reach_json
    from billet.plan.tell import tell_reach

    if step is None or not measured:
        raise InputError(
            '--from and --measured go together: --from 4 --measured "length=120 mm,width=41 mm,thickness=12 mm"'
        )
    bar, number = read_place(read, step)
    found: Reach = reach(read, number, read_measured(measured), bar)
    if json:
        print_json(reach_json(found))
    else:
        for text in tell_reach(found, read.tables.units):
            print_wrapped(text)
        print_cautions("fire", "press")
    if not found.enough:
        raise typer.Exit(1)
