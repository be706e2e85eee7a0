"""billet grind: measured stations into what to take off each side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from billet.cli.answer import Full, print_wrapped, tell
from billet.cli.common import AsJson, BladeName, Force, RecipeFile, print_cautions, print_json, print_table, wrote
from billet.cli.grind_note import day_at_the_grinder
from billet.cli.record.options import BenchFile
from billet.cli.remind import reminder

if TYPE_CHECKING:
    from billet.grinding import Hold, Least, Plan
    from billet.recipe.recipe import Recipe

Stations = Annotated[
    Path | None,
    typer.Argument(help="Stations: CSV with position,place,thickness,bow, or TOML.", metavar="[STATIONS]"),
]
To = Annotated[Literal["hardening", "finished"], typer.Option(help="The thickness wanted: for hardening, or finished.")]
At = Annotated[list[str] | None, typer.Option(help='A station, such as "50 mm spine 3.1 mm bow 0.2 mm left".')]
Held = Annotated[
    Literal["line", "heel", "free"],
    typer.Option(help="Straight along the reference line, from the heel on (it may swing), or wherever the metal is."),
]
LeastOff = Annotated[str | None, typer.Option(help="Your own least to take off each face, as a file test tells.")]
Grit = Annotated[float | None, typer.Option(help="The belt last used on the faces; without it they count as black.")]
Scale = Annotated[str | None, typer.Option(help="Scale still on each face, where there is some.")]
Keep = Annotated[bool, typer.Option("--record/--no-record", help="Write the stations into the bench record.")]
PictureFile = Annotated[Path | None, typer.Option(help="Write maps of thickness and of what comes off, a PNG.")]


def grind(
    recipe: RecipeFile, stations: Stations = None, to: To = "finished", at: At = None, hold: Held = "heel",
    least: LeastOff = None, grit: Grit = None, scale: Scale = None, picture: PictureFile = None,
    force: Force = False, keep: Keep = True, bench: BenchFile = None, blade: BladeName = None, full: Full = False, json: AsJson = False,
) -> None:  # fmt: skip
    """Say what to take off left and right at each station, so that the blade ends on thickness and straight.

    Left and right with the edge down and the tip away. A bow is how far the middle of the steel stands to one side of
    a straight line struck through the middle of the tang or bolster.
    Example: billet grind knife.toml stations.csv --to finished --at "50 mm spine 3.1 mm bow 0.2 mm left"
    """
    from billet.base.safe_files import check_free
    from billet.grinding.grinding_text import as_json
    from billet.recipe.read import load
    from billet.recipe.several import for_blade
    from billet.record.grinder_day import GRINDS

    if picture is not None:
        check_free(picture, force, picture=True)
    knife = for_blade(load(recipe), blade)
    plan = _plan(knife, stations, at or [], to, hold, _least(least, grit, scale))
    core = _core(knife)
    if picture is not None:
        _write_picture(picture, plan, knife, force)
    days = day_at_the_grinder(recipe, plan, bench, keep)
    last = reminder(knife, recipe, GRINDS[plan.state], bench=bench)
    if json:
        since = [one.say(knife.tables.units) for one in days]
        print_json(
            {
                "title": knife.tables.title,
                **as_json(plan, knife.tables.units, core),
                "since_last": since,
                "reminder": last or None,
            }
        )
        return
    shown = _in_full if full else _in_short
    shown(plan, knife, core, [*([last] if last else []), *(day.say(knife.tables.units) for day in days)])


def _least(least: str | None, grit: float | None, scale: str | None) -> Least:
    from billet.base.units import Kind, read
    from billet.grinding import Least

    given = (("--least", least), ("--scale", scale))
    skin, black = (None if text is None else read(text, Kind.LENGTH, name) for name, text in given)
    return Least(skin, grit, black)


def _plan(recipe: Recipe, file: Path | None, typed: list[str], state: str, hold: Hold, least: Least) -> Plan:
    """The plan; the ledger is run for its skin only where no figure of the smith's own settles it."""
    from billet.grinding import plan_readings, read_stations, read_typed, skin_band
    from billet.recipe.blade import blade_of

    readings = [*(read_stations(file) if file else ()), *map(read_typed, typed)]
    band = skin_band(recipe) if least.skin is None and readings else None
    return plan_readings(readings, blade_of(recipe, state), least, hold, band)


def _core(recipe: Recipe) -> float | None:
    """The thickness of the core, where the recipe makes a clad bar."""
    from billet.base.errors import InputError
    from billet.grinding import core_thickness
    from billet.ledger.run import run

    try:
        return core_thickness(run(recipe, diffuse=False))
    except InputError:
        return None


def _in_short(plan: Plan, recipe: Recipe, core: float | None, last: list[str]) -> None:
    """The verdict, a line a place, and what matters most besides."""
    from billet.grinding.brief_grind import bending, further, head, places
    from billet.grinding.grinding_text import topics

    units = recipe.tables.units
    body = [*bending(plan, units), *places(plan, units), *further(plan, units, core)]
    tell([head(plan, units)], body, topics(plan), last=last, units=units)


def _in_full(plan: Plan, recipe: Recipe, core: float | None, last: list[str]) -> None:
    """The table to take to the grinder, how it adds up, what to beware of."""
    from billet.grinding.grinding_text import lines, table, topics

    when = "for hardening" if plan.state == "hardening" else "to finish"
    print_wrapped(f"{recipe.tables.title}: grinding {when}; left and right with the edge down, tip away")
    print()
    print_table(*table(plan, recipe.tables.units), left=(1, 6, 7))
    print()
    for line in (*lines(plan, recipe.tables.units, core), *last):
        print_wrapped(line)
    print_cautions(*topics(plan))


def _write_picture(path: Path, plan: Plan, recipe: Recipe, force: bool) -> None:
    """The maps, written whole."""
    from billet.base.safe_files import write_whole
    from render.grinding_picture import plan_png

    write_whole(path, plan_png(plan, recipe.tables.units, recipe.tables.title), force)
    wrote(path)
