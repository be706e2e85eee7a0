"""Measured stations into a plan: what to take off each side so that the blade ends on thickness and straight."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from billet.base.errors import InputError
from billet.base.messages import Note, note, thin
from billet.base.units import Kind, show
from billet.blade import Blade, Side, State
from billet.grinding.between import Field, Midplane, NextReading, between, field, midplane, next_reading
from billet.grinding.least import FRESH, Least, SkinBand
from billet.grinding.plane import Corners, Hold, Metal, Pinch, Plane, best_plane
from billet.grinding.stations import Reading, Station, in_order, on_blade

Array = NDArray[np.float64]
Verdict = Literal["on target", "thinner", "straighten", "too thin"]

READS_TO = 0.05e-3  # what a caliper is read to [m]
_HAIR = 1e-9  # lengths closer than this are equal [m]


@dataclass(frozen=True)
class SoftFace:
    """A face that may keep soft skin: what comes off it, now and later, and how deep the skin may be, all in [m]."""

    side: Side
    off: float
    low: float
    high: float
    source: str


@dataclass(frozen=True)
class StationPlan:
    """What happens at one station, all in [m].

    ``bow`` is the steel's middle and ``plane`` the straight mid-plane to grind to, both to the right of the reference.
    ``final`` is the thickness afterwards: the ``target``, unless straightness or the least per face costs some of it.
    ``straighten`` is how far the steel must be bent to the right (negative: left) so that its warp costs nothing.
    """

    station: Station
    bow: float
    bow_measured: bool
    target: float
    plane: float
    remove_left: float
    remove_right: float
    final: float
    straighten: float
    soft: tuple[SoftFace, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def thinner(self) -> float:
        """Return by how much the thickness ends under its target [m]."""
        return self.target - self.final

    @property
    def gone(self) -> bool:
        """Tell whether grinding straight would leave nothing a caliper can read: such a station has no figures to
        grind to.
        """
        return self.final < min(READS_TO, self.target)

    @property
    def shift(self) -> float:
        """Return how far the blade's mid-plane moves to the right within the steel [m]."""
        return self.plane - self.bow

    @property
    def scribe(self) -> tuple[float, float]:
        """Return the heights of the two lines that bound the blade, above the left face as it is now [m]."""
        return self.remove_left, self.remove_left + self.final


@dataclass(frozen=True)
class Plan:
    """The whole plan. ``shortfall`` is the least possible largest shortfall of a face [m], 0 where the metal is enough;
    ``pinches`` prove it. ``straightened`` is what it would still be on a straight blade.
    """

    blade: Blade
    stations: tuple[StationPlan, ...]
    least: Least
    hold: Hold
    plane: Plane
    corners: Corners
    shortfall: float
    straightened: float
    pinches: tuple[Pinch, ...]
    measured: Midplane
    spare: Field
    next: NextReading | None
    notes: tuple[Note, ...] = ()

    @property
    def state(self) -> State:
        """Return what the blade is ground to."""
        return self.blade.state

    @property
    def cost(self) -> float:
        """Return the most thickness lost at a station [m]."""
        return max(s.thinner for s in self.stations)

    @property
    def verdict(self) -> Verdict:
        """Return what to do: grind to target, grind thinner, straighten first, or give up this thickness.

        Before hardening the finished blade is the floor; thickness lost above it only eats the allowance. What a
        caliper in a workshop cannot tell is nothing to straighten for.
        """
        if self.shortfall == 0:
            return "on target"
        if self.cost < READS_TO:
            return "thinner"
        finished = self.blade.in_state("finished")
        floor = [float(finished.thickness(s.station.x, s.station.y)) for s in self.stations]
        if all(s.final >= low - _HAIR for s, low in zip(self.stations, floor, strict=True)):
            return "thinner"
        return "straighten" if self.straightened < self.shortfall - 1e-6 else "too thin"

    @property
    def shift(self) -> Midplane:
        """Return where the blade's mid-plane will lie in the steel after grinding, as a function of (x, y) [m].

        This is what moves the pattern: the plane less the measured bow, without the design's own offset.
        """
        values = tuple(s.shift for s in self.stations)
        plate = between([s.station for s in self.stations], self.blade)
        return Midplane(plate, values, self.measured.outline, self.measured.heel_height)

    def removal(self, x: Array, y: Array) -> tuple[Array, Array]:
        """Return what comes off left and right anywhere on the blade [m], bent like a thin plate between stations."""
        y = self._within(x, y)
        share = (y - self.blade.edge_y(x)) / np.maximum(self.blade.height(x), 1e-12)
        gives = self.corners(np.clip(x / self.blade.length, 0, 1), np.clip(share, 0, 1))
        half = self.spare(x, y) / 2 + gives
        aside = self.measured(x, y) - self.plane(x, y) - _lopsided(self.blade, x, y)
        return half - aside, half + aside

    def thickness(self, x: Array, y: Array) -> Array:
        """Return the thickness measured now anywhere on the blade [m], bent like a thin plate between stations."""
        y = self._within(x, y)
        return self.blade.thickness(x, y) + self.spare(x, y)

    def _within(self, x: Array, y: Array) -> Array:
        """Return heights held between edge and spine, against rounding."""
        return np.clip(y, self.blade.edge_y(x), self.blade.spine_y(x))


def make_plan(
    stations: Sequence[Station],
    blade: Blade,
    least: Least | None = None,
    hold: Hold = "heel",
    skin: SkinBand | None = None,
) -> Plan:
    """Plan the grinding of measured stations to a blade in its state ("hardening" or "finished").

    ``least`` per face constrains, ``skin`` only warns. ``hold`` says what the straight mid-plane keeps to: "line", the
    reference all along; "heel", the reference at the heel, free to swing; "free", nothing: it then stays nearest the
    steel's own middle. Raises InputError when every station is already under its target.
    """
    least = least or Least()
    measured = midplane(stations, blade)
    x, y, share = (np.array([getattr(s, key) for s in stations]) for key in ("x", "y", "share"))
    now = np.array([s.reading.thickness for s in stations])
    bow = np.array(
        [float(b) if s.reading.bow is None else s.reading.bow for s, b in zip(stations, measured(x, y), strict=True)]
    )
    target, lopsided = np.asarray(blade.thickness(x, y)), _lopsided(blade, x, y)
    _refuse_thin(stations, now, target, blade)
    metal = Metal(x, y, x / blade.length, share, (now - target) / 2, bow - lopsided)
    fit = best_plane(metal, least.face, hold)
    plane, gives = fit.plane(x, y), fit.corners(metal.along, share)
    aside = metal.middle - plane
    bend = -np.sign(aside) * np.maximum(np.abs(aside) - np.maximum(metal.half_spare - least.face, 0), 0)
    bend = np.where(np.abs(bend) > _HAIR, bend, 0.0) * (fit.shortfall > 0)
    right, left, final = metal.half_spare + gives + aside, metal.half_spare + gives - aside, target - 2 * gives
    rows = []
    for k, station in enumerate(stations):
        row = StationPlan(
            station, float(bow[k]), station.reading.bow is not None, float(target[k]), float(plane[k]),
            float(left[k]), float(right[k]), float(final[k]), float(bend[k]),
        )  # fmt: skip
        rows.append(_noted(row, blade, least, skin))
    straightened = max(0.0, float(np.max(least.face - metal.half_spare)))
    return Plan(
        blade, tuple(rows), least, hold, fit.plane, fit.corners, fit.shortfall, straightened, fit.pinches, measured,
        field(stations, (now - target).tolist(), blade), next_reading(stations, blade), _whole(stations),
    )  # fmt: skip


def plan_readings(
    readings: Sequence[Reading],
    blade: Blade,
    least: Least | None = None,
    hold: Hold = "heel",
    skin: SkinBand | None = None,
) -> Plan:
    """Put readings on a blade and plan as `make_plan` does; says so where they were not in order from the heel."""
    plan = make_plan(on_blade(readings, blade), blade, least, hold, skin)
    if in_order(readings):
        return plan
    said = note("the stations were not in order from the heel and have been put in order; look for a slip of the pen")
    return replace(plan, notes=(said, *plan.notes))


def _lopsided(blade: Blade, x: Array, y: Array) -> Array:
    """Return how far the middle between the faces lies right of the mid-plane by design [m], as a chisel's does."""
    return np.asarray((blade.half(x, y, "right") - blade.half(x, y, "left")) / 2)


def _refuse_thin(stations: Sequence[Station], now: Array, target: Array, blade: Blade) -> None:
    if np.all(now < target - _HAIR):
        first = stations[0]
        when = "to finish" if blade.state == "finished" else "for hardening"
        typed = "imperial" if re.search(r"\d ?(?:thou|in)\b", first.reading.source) else "metric"
        here, wanted = (show(float(one[0]), Kind.LENGTH, typed, fine=True) for one in (now, target))
        raise InputError(
            f"{first.reading.source}: every station is already thinner than its target {when} (here "
            f"{here}, wanted {wanted}), so there is nothing to grind; check the "
            "readings and --to, or make the [blade] of the recipe thinner."
        )


def _noted(row: StationPlan, blade: Blade, least: Least, skin: SkinBand | None) -> StationPlan:
    """Return the row with what is worth saying about it."""
    station, notes = row.station, []
    if station.reading.thickness < row.target - _HAIR:
        notes.append(note("already {short} under its target", short=thin(row.target - station.reading.thickness)))
    if not row.bow_measured:
        where = "taken from its neighbours" if abs(row.bow) > _HAIR else "taken as straight"
        notes.append(note("bow not measured, {where}", where=where))
    return replace(row, notes=tuple(notes), soft=tuple(_soft(row, blade, least, skin)))


def _soft(row: StationPlan, blade: Blade, least: Least, skin: SkinBand | None) -> Iterator[SoftFace]:
    """Yield the faces that lose less, now and later, than the skin may be deep. The smith's own figure settles it."""
    s, now = row.station, row.station.reading.thickness
    fresh = FRESH if blade.state == "finished" else None
    later = 0.0 if fresh else (row.final - float(blade.in_state("finished").thickness(s.x, s.y))) / 2
    bands = [band for band in (skin, fresh) if band is not None and least.skin is None]
    removals: tuple[tuple[Side, float], ...] = (("left", row.remove_left), ("right", row.remove_right))
    for side, removal in removals:
        off = max(removal, 0.0) + max(later, 0.0)
        low, high, source = max(((*band.left(now), band.source) for band in bands), key=_depth, default=(0.0, 0.0, ""))
        if high > off + _HAIR:
            yield SoftFace(side, off, low, high, source)


def _depth(left: tuple[float, float, str]) -> float:
    return left[1]


def _whole(stations: Sequence[Station]) -> tuple[Note, ...]:
    """Return what is to be said about the readings as a whole."""
    notes = []
    if all(s.reading.bow is None for s in stations):
        notes.append(note("no bow was measured anywhere, so the blade is taken as straight; sight it from both ends"))
    for place in ("spine", "edge"):
        if not any(s.place == place for s in stations):
            notes.append(
                note("nothing was measured along the {place}, so how straight it is cannot be told", place=place)
            )
    return tuple(notes)
