"""One day at the grinder beside the day before: what came off where, how many more such days, whether the warp grows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from billet.base.messages import Amount, Note, long, note, thin
from billet.record.entry import Entry, Measure, latest

SOURCE = "grind"
READS_TO = 0.05e-3  # a change smaller than a caliper tells at the bench [m]: common practice, no source
_THICK = ("spine", "edge", "thickness")


@dataclass(frozen=True)
class Spot:
    """One station as it is kept: its measure's name, how far from the heel, the thickness now and wanted, and the bow
    to the right, in [m]."""

    name: str
    x: float
    thickness: float
    target: float
    bow: float | None = None


def spot_name(place: str, x: float, height: float) -> str:
    """The measure that holds a station: ``spine.50mm``, ``edge.heel``, ``thickness.50mm 20mm up``."""
    where = "heel" if x == 0 else f"{x * 1e3:.4g}mm"
    return f"{place}.{where}" if place in ("spine", "edge") else f"thickness.{where} {height * 1e3:.4g}mm up"


def measures_of(spots: Sequence[Spot]) -> tuple[Measure, ...]:
    """The stations as measures of a note."""
    found: dict[str, Measure] = {}
    for spot in spots:
        found[spot.name] = Measure(spot.name, "m", spot.thickness, f"{spot.thickness * 1e3:.4g} mm")
        if spot.bow is not None:
            name, side = _bow_name(spot.name), "left" if spot.bow < 0 else "right"
            found[name] = Measure(name, "m", spot.bow, f"{abs(spot.bow) * 1e3:.4g} mm {side}")
    return tuple(found.values())


def _bow_name(name: str) -> str:
    base, _, where = name.partition(".")
    return f"bow.{where}" if base == "spine" else f"bow.{base}.{where}"


def last_day(entries: Iterable[Entry], do: str) -> Entry | None:
    """The last note that `billet grind` wrote at a stage of one knife and that still stands."""
    days = [one for one in latest(entries) if one.source == SOURCE and one.place is not None and one.place.do == do]
    return days[-1] if days else None


def beside(before: Entry, spots: Sequence[Spot]) -> tuple[Note, ...]:
    """What to say about today when the day before is ``before``; nothing where no station is the same."""
    then = {measure.name: measure.value for measure in before.measures if measure.value is not None}
    off = {spot: round(then[spot.name] - spot.thickness, 9) for spot in spots if spot.name in then}
    return (*_came_off(before, off), *_left(off), *_warp(then, spots))


def _came_off(before: Entry, off: Mapping[Spot, float]) -> tuple[Note, ...]:
    if not off:
        return ()
    most, least = max(off, key=lambda spot: off[spot]), min(off, key=lambda spot: off[spot])
    day = before.local_time[:10]
    if off[most] < READS_TO:
        return (note("since {day}: nothing has come off that a caliper tells", day=day),)
    words = "since {day}: {most} came off at {at} ({where}), {least} at {least_at} ({least_where})"
    return (
        note(
            words if most is not least else "since {day}: {most} came off at {at} ({where})",
            day=day, most=thin(off[most]), at=_at(most), where=_kind(most), least=thin(max(off[least], 0.0)),
            least_at=_at(least), least_where=_kind(least),
        ),
    )  # fmt: skip


def _left(off: Mapping[Spot, float]) -> tuple[Note, ...]:
    """How many more days like this one, where the slowest station sets the pace."""
    going = {spot: gone for spot, gone in off.items() if gone >= READS_TO and spot.thickness - spot.target >= READS_TO}
    if not going:
        return ()
    slowest = max(going, key=lambda spot: (spot.thickness - spot.target) / going[spot])
    turns = ceil((slowest.thickness - slowest.target) / going[slowest] - 1e-9)
    return (
        note(
            "{left} still to go at {at} ({where}): about {turns} more sessions like the last",
            left=thin(slowest.thickness - slowest.target), at=_at(slowest), where=_kind(slowest), turns=turns,
        ),
    )  # fmt: skip


def _warp(then: Mapping[str, float], spots: Sequence[Spot]) -> tuple[Note, ...]:
    """The bow that changed most, told as growing, going back or changed sides."""
    changed = [
        (spot, then[_bow_name(spot.name)], spot.bow)
        for spot in spots
        if spot.bow is not None and _bow_name(spot.name) in then
    ]
    if not changed:
        return ()
    spot, was, now = max(changed, key=lambda one: abs(one[2] - one[1]))
    if abs(now - was) < 2 * READS_TO:
        return (note("the bow is as it was"),)
    word = "grows" if abs(now) > abs(was) else "goes back"
    if was * now < 0:
        word = "has changed sides"
    return (
        note(
            "the bow {word} at {at}: {was} {was_side}, now {now} {now_side}", word=word, at=_at(spot),
            was=thin(abs(was)), was_side=_side(was), now=thin(abs(now)), now_side=_side(now),
        ),
    )  # fmt: skip


def _side(bow: float) -> str:
    return "left" if bow < 0 else "right"


def _kind(spot: Spot) -> str:
    return spot.name.partition(".")[0]


def _at(spot: Spot) -> Amount | str:
    return "the heel" if spot.x == 0 else long(spot.x)
