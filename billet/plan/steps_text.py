"""A plan as numbered lines to pin to the wall: what to lay up, weld, draw, cut and work, in that order."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from billet.base.units import Kind, show
from billet.ledger.rows import BarRun, Ledger, Row
from billet.plan.candidate import Candidate
from billet.plan.recipe_text import INCH
from billet.plan.step_say import about, say, size
from billet.recipe.models import BarTable
from billet.steel.plate import read_plate


def steps_of(c: Candidate, units: str, brief: bool = False) -> list[str]:
    """The work in order, one sentence a line; bars that are made alike are told once; without heats where it is brief."""
    many = len(c.found.after.twins) + 1
    out: list[str] = []
    for k, (run, table) in enumerate(zip(c.book.bars, c.book.recipe.tables.bar, strict=True)):
        if 0 < k < many:
            out += _own(run, c.book.bars[0], units)
            continue
        out += _laid(run, table, c, many, units) if brief and k == 0 else _start(run, table, c, k == 0, many, units)
        out += told(run.rows, units, brief)
    return out


def rest_of(book: Ledger, bar: int, step: int, units: str) -> list[str]:
    """What is still to be done after a step of a bar, and to the bars after it."""
    out = told(book.bars[bar].rows[step:], units)
    for run, table in list(zip(book.bars, book.recipe.tables.bar, strict=True))[bar + 1 :]:
        if table.join is not None:
            out += [f"Join {_joined(table)}", *told(run.rows, units)]
    return out


def _own(run: BarRun, first: BarRun, units: str) -> Iterator[str]:
    """What a further bar of the same laminate has of its own."""
    twist = next((r.step for r in run.rows if r.do == "twist"), None)
    if twist is not None:
        yield f"The {run.name}: the same, wound {getattr(twist, 'hand', 'right')}-handed"


def _start(run: BarRun, table: BarTable, c: Candidate, main: bool, many: int, units: str) -> Iterator[str]:
    first = run.rows[0]
    if first.do == "join":
        yield "Join " + _joined(table)
        return
    bar = first.bar
    wide, long = size(bar.width, units), size(bar.length, units)
    if not main:
        yield f"Cut the {run.name}: {_plates(c, table, main)}, {wide} wide, {long} long"
        return
    plates = c.plates
    alike = f"Make {many} stacks alike. " if many > 1 else ""
    yield (
        f"{alike}Start with {plates} plate{'s' * (plates > 1)}: {_plates(c, table, main)}, {wide} wide, {long} long, stack "
        f"{about(bar.thickness, units)} high"
    )


def _laid(run: BarRun, table: BarTable, c: Candidate, many: int, units: str) -> Iterator[str]:
    """The first stack in one line."""
    bar = run.rows[0].bar
    alike = f"Make {many} alike: stack" if many > 1 else "Stack"
    wide, long = size(bar.width, units), size(bar.length, units)
    plates = _plates(c, table, True).replace(" and ", ", ").partition(", in turn")[0]
    yield f"{alike} {c.plates} plates {wide} x {long}: {plates}"


def _joined(table: BarTable) -> str:
    names = [item.bar for item in table.join or ()]
    way = "on one another" if table.as_ == "layers" else "side by side"
    return ", ".join(names) + f", {way}"


def _plates(c: Candidate, table: BarTable, main: bool) -> str:
    """The plates of a stack, as bought."""
    goal = c.goal
    stack = [read_plate(text, goal.own, "stack") for text in table.stack or ()]
    repeat, cap = table.repeat or 1, table.cap
    if c.found.after.stack and main:
        return "lowest first " + ", ".join(goal.plate(s.name, t) for s, t in stack)
    many = [repeat * 1 for _ in stack]
    if cap:
        many[0] += 1
    said = " and ".join(
        f"{n} of {goal.plate(s.name, t)}" if len(stack) > 1 else goal.plate(s.name, t)
        for n, (s, t) in zip(many, stack, strict=True)
    )
    return f"{said}, in turn, {stack[0][0].name} {'outside' if cap else 'lowest'}" if len(stack) > 1 else said


def told(of: Sequence[Row], units: str, brief: bool = False) -> list[str]:
    """The steps after the first row; a weld is told together with the draw that follows it."""
    return list(_told(of, units, brief))


def _told(of: Sequence[Row], units: str, brief: bool) -> Iterator[str]:
    rows, k = of[1:], 0
    while k < len(rows):
        row = rows[k]
        then = rows[k + 1] if k + 1 < len(rows) else None
        if row.do == "weld" and then is not None and then.do == "draw":
            yield f"{say(row, units, brief)}, {_lower(say(then, units, brief))}"
            k += 2
            continue
        if row.do == "heat":
            k += 1
            continue
        yield say(row, units, brief)
        k += 1


def _lower(text: str) -> str:
    return text[0].lower() + text[1:]


def layers_said(c: Candidate) -> str:
    """What is counted, what lies apart, and where the difference went."""
    last, distinct = c.book.last, c.book.bars[-1].rows[-1].measures.distinct
    counted = last.layers_counted
    if distinct is None or distinct == counted:
        return f"{counted:,} layers"
    merged = min(_merged(c.book.bars[0]), counted - distinct)
    gone = counted - distinct - merged
    why = []
    if merged:
        why.append(f"{merged} pair{'s' * (merged > 1)} of like steel met at the restacks")
    if gone:
        why.append(f"{gone} went in scale and grinding")
    return f"{counted:,} layers by count, {distinct:,} of them separate: {' and '.join(why)}"


def _merged(run: BarRun) -> int:
    """Seams at which one steel meets itself, as often as later restacks repeat them."""
    seams, found = 0, []
    for row in run.rows:
        laminate = row.bar.laminate
        if row.do != "restack" or laminate is None:
            continue
        seams = seams * int(getattr(row.step, "pieces", 1))
        open_ = laminate.joint[1:] < 0
        seams += int((open_ & (laminate.steel[1:] == laminate.steel[:-1])).sum())
        found.append(seams)
    return found[-1] if found else 0


def lines_said(c: Candidate, units: str) -> str:
    """What the face shows, in figures."""
    s = c.face.at("middle")
    wide = "" if s.median is None else f", mostly about {show(s.median, Kind.LENGTH, units, fine=True)} wide"
    dark = c.found.batch.pair.dark.name
    shows = (
        f"About {s.lines} lines over the blade's height at the middle{wide}; {100 * c.face.dark:.0f} % of it is {dark}"
    )
    return shows + "".join(f"; {w}" for w in _pattern(c, units))


def _pattern(c: Candidate, units: str) -> Iterator[str]:
    unit = "inch" if units == "imperial" else "cm"
    rate = lambda v: f"{v * INCH if units == 'imperial' else v / 100:.1f} to the {unit}"  # noqa: E731
    p = c.face.pattern
    if "rungs_per_m" in p:
        yield f"rungs {rate(p['rungs_per_m'])}, each opening about {p['layers_opened']:.0f} layers"
    if "rings_per_drop" in p:
        yield f"up to {math.floor(p['rings_per_drop'])} rings in a drop, drops {rate(p['drops_per_m'])} of a line along the blade"
    if "stars_per_m" in p:
        yield f"stars {rate(p['stars_per_m'])} near the edge, slanting lines above"
    if "barbs_per_m" in p:
        yield f"barbs {rate(p['barbs_per_m'])} along the vein"
    if "ws_per_m" in p:
        yield f"W's {rate(p['ws_per_m'])} along the blade"
    if "segments" in p:
        yield f"{p['segments']:.0f} opened lengths along the blade"
    if "core_at_middle_m" in p:
        yield f"the core shows {show(p['core_at_middle_m'], Kind.LENGTH, units)} up from the edge at the middle"
