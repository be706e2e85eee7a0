"""The grinder card: at each station what is there, what is wanted, what comes off left and right; scribe lines and grits."""

from __future__ import annotations

from pathlib import Path

from billet.base.safety import cautions
from billet.base.units import Kind, show
from billet.blade import Blade, Side
from billet.grinding import Plan, plan_readings, read_stations, scratch_depth, skin_band
from billet.grinding.grinding_text import (
    figure,
    least_words,
    pattern_words,
    pinch_words,
    small,
    table,
    verdict,
    warnings,
)
from billet.grinding.stations import along
from billet.ledger.rows import Ledger
from billet.metal.colours import AT_THE_GRINDER
from billet.recipe.blade import blade_of
from billet.steps.forge_bevels import ForgedBar
from render.sheet.blocks import Block, Card, Cautions, Heading, Table, Words
from render.sheet.template import stations as places

SIDES: tuple[Side, Side] = ("left", "right")
# Belts and papers in order, and the last one before the etch: common practice, no source.
BEFORE, AFTER = (36, 60, 120), (60, 120, 220, 400)
COOL = (
    "Cool in water every pass once the edge is thin, and always before it is too hot for a bare finger. After hardening "
    "no part may get hotter than the temper."
)
_PLANNED = (0.13, 0.13, 0.11, 0.11, 0.13, 0.13, 0.12, 0.14)
_BLANK = (0.14, 0.10, 0.16, 0.15, 0.15, 0.15, 0.15)


def grinder_card(book: Ledger, stations: Path | None) -> Card:
    """The card to a file of measured stations, or a blank one to be filled in at the grinder."""
    units = book.recipe.tables.units
    blocks: list[Block] = [Words("Left and right with the edge down and the tip away."), Words(COOL, "lead")]
    blocks += _measured(book, stations, units) if stations is not None else _blank(book, units)
    blocks += [Heading("Grit stops"), _grits(units), Words(_GRITS, "small"), Heading("Colour at the edge")]
    blocks += [Words(line) for line in AT_THE_GRINDER]
    blocks.append(Cautions(tuple(cautions("grinder", "straightening"))))
    return Card("grinder", "Grinder card", tuple(blocks))


def _measured(book: Ledger, file: Path, units: str) -> list[Block]:
    """The plan for measured stations: to the finished blade."""
    plan: Plan = plan_readings(read_stations(file), blade_of(book.recipe), skin=skin_band(book.recipe))
    heads, rows = table(plan, units)
    heads = ["from heel", "place", "now", "wanted", "off left", "off right", "bow", "scribe from left face"]
    said = [verdict(plan, units), *pinch_words(plan, units), least_words(plan, units), *pattern_words(plan, units)]
    said += [f"Mind: {one}" for one in warnings(plan, units)]
    filled = Table(tuple(heads), tuple(tuple(row) for row in rows), _PLANNED, (0, 1))
    return [Heading("To the finished thickness"), filled, *(Words(one) for one in said)]


def _blank(book: Ledger, units: str) -> list[Block]:
    """Stations with the thickness wanted for hardening and finished; the rest is written in."""
    blocks: list[Block] = []
    for state, name in (("hardening", "To the thickness for hardening"), ("finished", "To the finished thickness")):
        blade = blade_of(book.recipe, state)
        rows = tuple(
            (along(x * 1e-3, units), place, figure(thick, units), "", "", "", "")
            for x in places(blade, units)
            for place, thick in _wanted(blade, x * 1e-3)
        )
        heads = ("from heel", "place", "wanted", "now", "off left", "off right", "bow")
        scribe = _scribe(book, blade, units) if state == "hardening" else None
        blocks += [Heading(name), Table(heads, rows, _BLANK, (0, 1))]
        blocks += [Words(scribe)] if scribe else []
    return blocks


def _wanted(blade: Blade, x: float) -> list[tuple[str, float]]:
    return [("spine", float(blade.spine_thickness(x))), ("edge", float(blade.edge_thickness(x)))]


def _scribe(book: Ledger, blade: Blade, units: str) -> str:
    """Where to scribe the two lines of the edge on the bar, from each face; empty where the faces are not flat."""
    bar = book.last
    if bar.profile is not None or isinstance(bar, ForgedBar):
        return "The bar is no longer flat: scribe the edge from its own middle, after it is trued."
    x = blade.length / 3
    low = float(blade.edge_y(x)) + 1e-9
    half = {side: float(blade.half(x, low, side)) for side in SIDES}
    offset = blade.design.offset
    left, right = (bar.thickness / 2 + (offset if side == "left" else -offset) - half[side] for side in SIDES)
    if min(left, right) < 0:
        return ""
    what = f"Scribe the edge on the bar ({show(bar.thickness, Kind.LENGTH, units, fine=True)} thick when it comes from the forge)"
    even = figure(left, units) == figure(right, units)
    where = (
        f"{figure(left, units)} from each face"
        if even
        else f"{figure(left, units)} from the left face and {figure(right, units)} from the right"
    )
    return f"{what}: a line {where}. Measure the bar first; if it is thicker or thinner, share the difference between both sides."


_GRITS = (
    "The figure is how deep that grit scratches (a judgement). Stop that far above the thickness wanted on each face, "
    "so that the next grit takes its scratches out."
)


def _grits(units: str) -> Table:
    rows = [
        (
            when,
            f"{grit} grit",
            small(scratch_depth(grit), units) + " a side above",
            _WHAT[when, grit],
        )
        for when, grits in (("before hardening", BEFORE), ("after hardening", AFTER))
        for grit in grits
    ]
    return Table(("when", "belt or paper", "stop", "what for"), tuple(rows), (0.2, 0.16, 0.24, 0.4), (0, 1, 2, 3))


_WHAT = {
    ("before hardening", 36): "take the scale and most of the metal off",
    ("before hardening", 60): "bring the bevels to shape",
    ("before hardening", 120): "no scratch across the edge; lengthwise last",
    ("after hardening", 60): "thin, wet or cooled every pass",
    ("after hardening", 120): "to thickness",
    ("after hardening", 220): "scratches out",
    ("after hardening", 400): "by hand, lengthwise, before the etch",
}
