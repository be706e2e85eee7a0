"""The plan in the smith's words: sums that add up as printed, what to do first, and what to beware of.

Figures are printed to 0.05 mm or to a thou, and rounded together, so that the thickness now less the thickness wanted
is what comes off, and the two sides make that up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from billet.base.safety import cautions
from billet.base.units import Kind, show
from billet.blade import Side
from billet.grinding.grinding_plan import Plan, StationPlan
from billet.grinding.stations import along
from billet.grinding.straighten import before_grinding, is_first
from billet.grinding.tolerance import Tolerance, tolerance
from billet.metal.colours import AT_THE_GRINDER, BEYOND_COLOUR

SIDES: tuple[Side, Side] = ("left", "right")
STEP = {"metric": 0.05e-3, "imperial": 2.54e-5}  # what is printed [m]


def figure(metres: float, units: str) -> str:
    """Return a length to 0.05 mm or to a thou."""
    return _text(round(metres / STEP[units]), units)


def _text(steps: int, units: str) -> str:
    return f"{steps} thou" if units == "imperial" else f"{steps * 0.05:.2f} mm"


@dataclass(frozen=True)
class Sum:
    """The sum of one station in printed steps: now - final = off = left + right.

    ``even`` says that both sides lose the same; an odd number of steps then lies between two printed figures.
    """

    now: int
    target: int
    final: int
    left: int
    right: int
    even: bool
    units: str

    @property
    def off(self) -> int:
        """Return what comes off in all."""
        return self.left + self.right

    def say(self, steps: int) -> str:
        """Return a number of steps with its unit."""
        return _text(steps, self.units)

    def side(self, steps: int) -> str:
        """Return what comes off one side, which may lie between two figures."""
        if not self.even or self.left == self.right:
            return self.say(steps)
        low, high = sorted((self.left, self.right))
        return f"{self.say(low).split()[0]}-{self.say(high)}"


def sum_of(row: StationPlan, units: str) -> Sum:
    """Return the sum of a station, rounded so that it adds up."""
    step = STEP[units]
    now, target, final = (round(v / step) for v in (row.station.reading.thickness, row.target, row.final))
    off = max(now - final, 0)
    right = min(max(round((off * step + row.remove_right - row.remove_left) / step / 2), 0), off)
    even = abs(row.remove_right - row.remove_left) < step / 2
    if even:  # an odd step goes to the side that loses more
        right = off // 2 + (off % 2 if row.remove_right > row.remove_left else 0)
    return Sum(now, target, now - off, off - right, right, even, units)


def in_words(row: StationPlan, units: str) -> str:
    """Return the sum of a station, such as "heel spine: 200 thou now, 140 thou wanted: 60 thou off, 30 thou a side"."""
    s = sum_of(row, units)
    both = _typed_otherwise(row, units)
    if row.gone:
        return (
            f"{row.station.name(units)}: {s.say(s.now)}{both} now, {s.say(s.target)} wanted: ground straight, nothing "
            "would be left here; do not grind it yet"
        )
    kept = "" if s.final == s.target else f", {s.say(s.final)} kept"
    shares = f"{s.side(s.left)} a side" if s.even else f"{s.say(s.left)} left, {s.say(s.right)} right"
    parts = "nothing comes off" if s.off == 0 else f"{s.say(s.off)} off, {shares}"
    return f"{row.station.name(units)}: {s.say(s.now)}{both} now, {s.say(s.target)} wanted{kept}: {parts}"


def _typed_otherwise(row: StationPlan, units: str) -> str:
    """Return the reading as it was typed, in brackets, where it was taken in the other system."""
    typed = row.station.reading.typed
    inches = any(mark in typed.lower() for mark in ("thou", "in", '"', "ft"))
    return f" ({typed})" if typed and inches != (units == "imperial") else ""


def bow_words(metres: float, units: str) -> str:
    """Return a bow with its side."""
    steps = round(abs(metres) / STEP[units])
    return "straight" if steps == 0 else f"{_text(steps, units)} {'right' if metres > 0 else 'left'}"


def verdict(plan: Plan, units: str) -> str:
    """Return in a sentence or two whether the metal is enough, and what it costs where it is not."""
    if plan.verdict == "on target":
        return "There is enough metal: every station ends on thickness and the blade straight."
    worst = max(plan.stations, key=lambda s: s.thinner)
    cost, short = (small(v, units) for v in (plan.cost, plan.shortfall))
    lead = (
        f"There is not enough metal: whatever straight mid-plane is chosen, some face lacks {short}. Ground straight all "
        f"the same, the blade ends up to {cost} thinner than wanted ({worst.station.name(units)})"
    )
    ends = {
        "thinner": "; that stays over the finished blade, so only the allowance shrinks."
        if plan.state == "hardening"
        else "; that is less than a caliper is read to.",
        "straighten": ". Straighten first.",
        "too thin": ". Straightening cannot mend it: it is thin, not bowed. Make the [blade] thinner.",
    }
    if worst.gone:
        what = f"some face lacks {short}"
        lead = f"There is not enough metal: whatever straight mid-plane is chosen, {what}, and nothing would be left"
        lead += f" at {', '.join(row.station.name(units) for row in plan.stations if row.gone)}"
    return lead + ends[plan.verdict]


def pinch_words(plan: Plan, units: str) -> list[str]:
    """Return which faces decide that there is not enough metal."""
    stations = {p.station for p in plan.pinches}
    names = [f"{p.side} at {plan.stations[p.station].station.name(units)}" for p in plan.pinches]
    if len(stations) == 1 and len(names) == 2:
        return [f"The {plan.stations[stations.pop()].station.name(units)} decides it: it is too thin."]
    return [f"These faces decide it: {'; '.join(names)}."] if names else []


def soft_words(plan: Plan, units: str) -> list[str]:
    """Return where soft skin may stay, one line for each source."""
    found: dict[str, list[tuple[str, str, float, float]]] = {}
    for row in plan.stations:
        for face in row.soft:
            found.setdefault(face.source, []).append((face.side, row.station.name(units), face.low, face.high))
    return [_soft_line(source, faces, len(plan.stations), units) for source, faces in found.items()]


def _soft_line(source: str, faces: list[tuple[str, str, float, float]], stations: int, units: str) -> str:
    low, high = small(min(face[2] for face in faces), units), small(max(face[3] for face in faces), units)
    sides = {side: [face[1] for face in faces if face[0] == side] for side in ("left", "right")}
    every = all(len(names) == stations for names in sides.values())
    where = "; ".join(f"{side} at {', '.join(names)}" for side, names in sides.items() if names)
    return (
        f"Soft skin may be {low} to {high} deep ({source}), and less comes off "
        f"{'everywhere' if every else where}: file-test there; --least takes your own figure."
    )


def least_words(plan: Plan, units: str) -> str:
    """Return what each face loses at least, and why."""
    least = plan.least
    parts = [f"{small(least.skin, units)} as you say" if least.skin is not None else ""]
    if least.skin is None and least.black > 0:
        usual = "a usual figure" if least.scale is None else "as you say"
        parts.append(f"{small(least.black, units)} of scale, {usual}")
    if least.grit is not None:
        parts.append(f"scratches of {least.grit:g} grit about {small(least.scratch, units)}, common practice")
    told = "; ".join(part for part in parts if part)
    return f"Each face loses at least {small(least.face, units)}" + (f" ({told})." if told else ".")


def small(metres: float, units: str) -> str:
    """Return a small length to 0.01 mm or a tenth of a thou."""
    return f"{metres * 1e3:.2f} mm" if units == "metric" else f"{metres / 2.54e-5:.1f} thou".replace(".0 ", " ")


def pattern_words(plan: Plan, units: str, core: float | None = None) -> list[str]:
    """Return what grinding more on one side does to the pattern, and what a core still bears."""
    if any(row.gone for row in plan.stations):
        return []
    worst = max(plan.stations, key=lambda s: abs(s.shift))
    bears = bearing(plan, core)
    out = []
    if abs(worst.shift) >= STEP[units] / 2:
        moves = {side: bears.moves(worst.shift, side) for side in SIDES}
        shown = [_moves(side, v, units) for side, v in moves.items() if abs(v) < 1]
        out.append(
            f"The blade moves {bow_words(worst.shift, units)} in the steel at {worst.station.name(units)}; lines of "
            f"the pattern move {', '.join(shown) or 'over the whole face'}."
        )
    if core is not None and bears.more is not None:
        more = small(abs(bears.more), units)
        says = (
            f"bears {more} more to one side"
            if bears.more >= 0
            else f"lies {more} too far aside, and the edge leaves it"
        )
        out.append(f"The core, {small(core, units)} thick, {says}.")
    return out


def _moves(side: str, by: float, units: str) -> str:
    return f"{show(abs(by), Kind.LENGTH, units)} {'up' if by > 0 else 'down'} on the {side}"


def bearing(plan: Plan, core: float | None = None) -> Tolerance:
    """Return what the blade bears at the station where it moves most within the steel."""
    worst = max(plan.stations, key=lambda s: abs(s.shift))
    edge = max((s.shift for s in plan.stations if s.station.place == "edge"), key=abs, default=worst.shift)
    x = min(worst.station.x, plan.blade.length - plan.blade.design.tip_at)
    return tolerance(plan.blade, x, already=edge, core=core)


def next_words(plan: Plan, units: str) -> list[str]:
    """Return where the next reading tells most."""
    if plan.next is None:
        return []
    up = f", {show(plan.next.height, Kind.LENGTH, units)} up" if plan.next.place == "face" else ""
    where = "at the heel" if plan.next.x == 0 else f"{show(plan.next.x, Kind.LENGTH, units)} from the heel"
    return [f"Least certain is the {plan.next.place} {where}{up}: measure there next."]


def warnings(plan: Plan, units: str, core: float | None = None) -> list[str]:
    """Return everything worth a warning, one sentence each."""
    of_stations = [f"{row.station.name(units)}: {n.say(units)}" for row in plan.stations for n in row.notes]
    return [n.say(units) for n in plan.notes] + of_stations + soft_words(plan, units)


def topics(plan: Plan) -> tuple[str, ...]:
    """Return the cautions that belong to the plan."""
    return ("grinder", "straightening") if is_first(plan) else ("grinder",)


def lines(plan: Plan, units: str, core: float | None = None) -> Iterator[str]:
    """Yield what follows the table: the sums in words, the verdict, the steps, and what to beware of."""
    yield "How it adds up"
    yield from (f"  {in_words(row, units)}" for row in plan.stations)
    yield ""
    yield from (verdict(plan, units), *pinch_words(plan, units), least_words(plan, units))
    steps = before_grinding(plan, units, small)
    if steps:
        head = "Straighten first" if plan.verdict == "straighten" else "Or straighten first, which keeps the thickness"
        yield from ("", head, *(f"  {n}. {step}" for n, step in enumerate(steps, 1)))
    yield ""
    yield from (*pattern_words(plan, units, core), *next_words(plan, units))
    yield from (f"- {one}" for one in warnings(plan, units, core))
    yield ""
    yield from (line.format(beyond=figure(BEYOND_COLOUR, units)) for line in AT_THE_GRINDER)


def table(plan: Plan, units: str) -> tuple[list[str], list[list[str]]]:
    """Return the headings and rows of the table to take to the grinder."""
    heads = ["from heel", "place", "now", "leave", "off left", "off right", "bow", "scribe from left face"]
    return heads, [_table_row(row, units) for row in plan.stations]


def _table_row(row: StationPlan, units: str) -> list[str]:
    s, station = sum_of(row, units), row.station
    place = station.place if station.place != "face" else f"{show(station.height, Kind.LENGTH, units)} up"
    bow = bow_words(row.bow, units) if row.bow_measured else "not measured"
    if row.gone:
        return [along(station.x, units), place, s.say(s.now), "nothing", "-", "-", bow, "-"]
    lines = f"{s.say(s.left)} and {s.say(s.left + s.final)}"
    sums = [s.say(s.now), s.say(s.final), s.side(s.left), s.side(s.right)]
    return [along(station.x, units), place, *sums, bow, lines]


def as_json(plan: Plan, units: str, core: float | None = None) -> dict[str, Any]:
    """Return the plan in SI under the keys other tools rely on."""
    bears = bearing(plan, core)
    return {
        "to": plan.state,
        "verdict": plan.verdict,
        "hold": plan.hold,
        "stations": [_station_json(row, units) for row in plan.stations],
        "shortfall_m": plan.shortfall,
        "cost_m": plan.cost,
        "decided_by": [{"station": p.station, "side": p.side, "weight": p.weight} for p in plan.pinches],
        "plane": {"offset_m": plan.plane.offset, "tilt": plan.plane.tilt, "lean": plan.plane.lean},
        "least_per_face_m": plan.least.face,
        "core_m": bears.core,
        "core_bears_m": bears.more,
        "line_shift": {"left": bears.moves(1.0, "left"), "right": bears.moves(1.0, "right")},
        "next_reading": _next_json(plan),
        "straighten_first": before_grinding(plan, units, small),
        "summary": [verdict(plan, units), *pinch_words(plan, units), least_words(plan, units)],
        "pattern": pattern_words(plan, units, core),
        "warnings": warnings(plan, units, core),
        "burnt_edges": list(AT_THE_GRINDER),
        "cautions": cautions(*topics(plan)),
    }  # fmt: skip


def _next_json(plan: Plan) -> dict[str, Any] | None:
    found = plan.next
    return None if found is None else {"position_m": found.x, "place": found.place, "height_m": found.height}


def _station_json(row: StationPlan, units: str) -> dict[str, Any]:
    station = row.station
    thin = [f"ends {small(row.thinner, units)} thinner than wanted"] if row.thinner > 1e-9 else []
    thin = ["ground straight, nothing would be left here"] if row.gone else thin
    soft = [f"the {f.side} face may keep soft skin; file-test it" for f in row.soft]
    return {
        "position_m": station.x,
        "place": station.place,
        "height_m": station.height,
        "measured_m": station.reading.thickness,
        "typed": station.reading.typed,
        "target_m": row.target,
        "final_m": 0.0 if row.gone else row.final,
        "remove_left_m": None if row.gone else row.remove_left,
        "remove_right_m": None if row.gone else row.remove_right,
        "bow_m": row.bow,
        "bow_measured": row.bow_measured,
        "plane_m": row.plane,
        "straighten_m": row.straighten,
        "scribe_m": None if row.gone else list(row.scribe),
        "in_words": in_words(row, units),
        "warnings": [n.say(units) for n in row.notes] + thin + soft,
    }
