"""A plan as numbered lines to pin to the wall: what to lay up, weld, draw, cut and work, in that order."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from billet.base.furnace import given
from billet.base.units import Kind, show
from billet.ledger.rows import BarRun, Ledger, Row
from billet.plan.candidate import Candidate
from billet.plan.recipe_text import INCH, fraction, length
from billet.recipe.models import BarTable
from billet.steel.plate import read_plate

_FACES = {
    "staggered": "both faces, {apart}", "opposed": "both faces, over one another", "top": "the top face alone",
}  # fmt: skip
_ORDERS = {
    "pinwheel": "turned like a pinwheel", "mirror": "as in a mirror", "same": "all the same way",
    "quarter turned": "every second one a quarter turned",
}  # fmt: skip
_RESTACK = "Crop the ends, cut in {pieces}, grind the faces, stack {way}"
_WAYS = {"none": "all the same way up", "alternate": "every second piece turned over"}


def size(metres: float, units: str) -> str:
    """A size to work to, as a rule or a caliper shows it."""
    if units == "metric":
        return length(round(metres, 5), units)
    sixty_fourths = round(metres / INCH * 64)
    near = abs(sixty_fourths * INCH / 64 - metres) < 1e-6
    return length(sixty_fourths * INCH / 64 if near else round(metres / INCH, 4) * INCH, units)


def about(metres: float, units: str) -> str:
    """A size that comes out, no finer than a tape shows."""
    if units == "metric":
        return f"{metres * 1e3:.0f} mm"
    eighths = round(metres / INCH * 8)
    return fraction(eighths * 8) if eighths else show(metres, Kind.LENGTH, units)


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
            yield f"{_say(row, units, brief)}, {_lower(_say(then, units, brief))}"
            k += 2
            continue
        if row.do == "heat":
            k += 1
            continue
        yield _say(row, units, brief)
        k += 1


def _lower(text: str) -> str:
    return text[0].lower() + text[1:]


def _hot(step: Any, units: str, brief: bool) -> str:
    """Heats and temperature of a step; nothing where it is brief."""
    kelvin = getattr(step, "temperature", None)
    heats = int(getattr(step, "heats", 1) or 1)
    if kelvin is None or brief:
        return ""
    return f" ({heats} heat{'s' * (heats > 1)} at {given(kelvin, units)})"


def _say(row: Row, units: str, brief: bool = False) -> str:
    """One step in a sentence."""
    step: Any = row.step
    hot = _hot(step, units, brief)
    s = lambda v: size(v, units)  # noqa: E731
    made = getattr(step, "method", "cut")
    words = {
        "weld": lambda: f"Weld{hot}",
        "draw": lambda: (
            f"Draw to {s(row.bar.thickness if step.thickness is None else step.thickness)} x "
            f"{s(row.bar.width if step.width is None else step.width)}{hot}: "
            f"{about(row.bar.length, units)} long"
        ),
        "restack": lambda: (
            (
                f"Cut in {step.pieces} and restack"
                if brief
                else _RESTACK.format(pieces=step.pieces, way=_WAYS[step.flip])
            )
            + (f" with {step.spacer} between" if step.spacer else "")
            + ("" if brief else f": {about(row.bar.thickness, units)} high")
            + f", {row.bar.layers_counted:,} layers"
        ),
        "draw_out": lambda: (
            f"Draw out the {step.end} end to {s(step.thickness)} x {s(step.width)}, {s(step.keep)} stays{hot}"
        ),
        "twist": lambda: f"Break the corners and twist {_turns(step.turns)}{_hand(step)}{hot}",
        "ladder": lambda: (
            f"{'Cut' if made == 'cut' else 'Press'} grooves {s(step.groove)} wide and {s(step.depth)} deep every "
            f"{s(step.pitch)}, {_faces(step, 'half a pitch apart')}; {_flat(made)} to {s(row.bar.thickness)}{hot}"
        ),
        "raindrop": lambda: (
            f"{'Drill' if made == 'cut' else 'Press'} dimples up to {s(step.across)} across and {s(step.depth)} deep about "
            f"every {s(step.spacing)}, {_faces(step, 'none opposite another')}; {_flat(made)} to "
            f"{s(row.bar.thickness)}{hot}"
        ),
        "hammer": lambda: (
            f"Hammer marks at random, {s(step.mark)} across and up to {s(step.depth)} deep{hot}; grind flat"
        ),
        "relief": lambda: (
            f"{'Cut' if made == 'cut' else 'Press'} the picture {step.image} {s(step.depth)} deep into "
            f"{_faces(step, 'half a picture apart')}; {_flat(made)} to {s(row.bar.thickness)}{hot}"
        ),
        "forge_bevels": lambda: (
            f"Forge bevels, taper and point, {100 * step.share:.0f} % of the way; the rest is ground{hot}"
        ),
        "grid_restack": lambda: (
            f"Crop the ends, cut in {step.grid**2}, grind the faces, lay the pieces {step.grid} by {step.grid}, "
            f"{_ORDERS[step.order]}: {about(row.bar.width, units)} square, {row.bar.layers_counted:,} layers"
        ),
        "miter": lambda: (
            f"Saw on the slant at {show(step.angle, Kind.ANGLE, units)}, turn one half over, lay the slant faces together"
        ),
        "fold": lambda: (
            f"Score across the middle, grind the faces and fold over: {about(row.bar.thickness, units)} high, "
            f"{row.bar.layers_counted:,} layers"
        ),
        "trim": lambda: f"Crop {s(step.each_end)} off both ends",
        "roll": lambda: "Turn the bar over" if step.quarters % 4 == 2 else "Turn the bar on edge, layers standing",
        "surface_grind": lambda: _ground(step, s),
        "bulge": lambda: f"Barrel the layers, the outside kept square{hot}",
        "split": lambda: (
            f"Split hot down the middle of the width, the wedge dragging the layers about {s(step.drag)}{hot}"
        ),
        "upend": lambda: "Stand the block on end",
        "end_grain": lambda: _opened(step, s, hot),
    }
    return words.get(row.do, lambda: row.do.replace("_", " ").capitalize())()


def _faces(step: Any, apart: str) -> str:
    return _FACES[step.faces].format(apart=apart)


def _flat(made: str) -> str:
    return "forge flat" if made == "cut" else "grind flat"


def _turns(turns: float | Sequence[float]) -> str:
    """One number of turns, or one for each of some equal parts of the bar."""
    if isinstance(turns, int | float):
        return f"{turns:g} turn{'s' * (turns != 1)}"
    return f"{', '.join(f'{one:g}' for one in turns)} turns over {len(turns)} equal parts"


def _ground(step: Any, s: Any) -> str:
    """What is ground off, like faces told together."""
    if step.top and step.top == step.bottom:
        off = [f"{s(step.top)} off either face"]
    else:
        off = [f"{s(v)} off the {side}" for v, side in ((step.top, "top"), (step.bottom, "bottom")) if v]
    return "Grind " + ", ".join([*off, *([f"{s(step.edges)} off either edge"] if step.edges else [])])


def _hand(step: Any) -> str:
    hand = getattr(step, "hand", None)
    return f" {hand}-handed" if hand else ""


def _opened(step: Any, s: Any, hot: str) -> str:
    if step.method == "accordion":
        return (
            f"Cut from either side in turn every {s(step.segment)}, leaving legs of {s(step.leg)} and drilled roots; unfold "
            f"hot{hot}"
        )
    return f"Cut into tiles {s(step.segment)} long, stand them on end in a row"


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
