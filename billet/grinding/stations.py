"""Measured stations: where on the blade, how thick, and how far its middle stands from a straight line.

Left and right are those of the smith who holds the blade edge down, tip away. A bow is positive where the middle of the
steel stands to the right of the straight reference, which is struck through the middle of the tang or bolster.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from billet.base.errors import InputError
from billet.base.units import Kind, show
from billet.blade import Blade

Place = Literal["spine", "edge"] | float
"""The spine, the edge, or a height above the edge [m]."""

SAME_PLACE = 0.5e-3  # readings closer than this are one station twice [m]; a caliper's jaw is wider


@dataclass(frozen=True)
class Reading:
    """One reading as it was taken: distance from the heel, place, thickness and bow, all in [m].

    ``bow`` is None where it was not measured. ``typed`` is the thickness in the smith's own words, ``source`` says
    where the reading stands ("slicer.csv line 3").
    """

    position: float
    place: Place
    thickness: float
    bow: float | None = None
    typed: str = ""
    source: str = "station"

    def __post_init__(self) -> None:
        numbers = (self.position, self.thickness, 0.0 if self.bow is None else self.bow)
        if not all(math.isfinite(number) for number in numbers):
            raise InputError(f"{self.source}: position, thickness and bow should be finite numbers; measure it again.")
        if self.thickness <= 0:
            raise InputError(
                f"{self.source}: the thickness is {_plain(self.thickness)}, wanted more than nothing; measure it again."
            )
        if self.bow is not None and abs(self.bow) > 20 * self.thickness:
            raise InputError(
                f"{self.source}: a bow of {_plain(abs(self.bow))} on steel {_plain(self.thickness)} thick is past any "
                "grinding; check the unit, or straighten it first."
            )


@dataclass(frozen=True)
class Station:
    """A reading put on its blade: x from the heel, y in the blade's frame, height above the local edge, all in [m].

    ``share`` is the height over the local height between edge and spine, 0 at the edge and 1 at the spine.
    """

    reading: Reading
    x: float
    y: float
    height: float
    share: float

    @property
    def place(self) -> str:
        """Return "spine", "edge" or "face"."""
        return self.reading.place if isinstance(self.reading.place, str) else "face"

    def name(self, units: str) -> str:
        """Return the station in words, such as "50.0 mm spine" or "heel edge", in a recipe's units."""
        where = self.place if self.place != "face" else f"face, {show(self.height, Kind.LENGTH, units)} up"
        return f"{along(self.x, units)} {where}"


def along(x: float, units: str) -> str:
    """Return a distance from the heel in words."""
    return "heel" if x == 0 else show(x, Kind.LENGTH, units)


def on_blade(readings: Iterable[Reading], blade: Blade) -> tuple[Station, ...]:
    """Put readings on a blade, in order from the heel and from the edge up.

    Raises InputError with one sentence for a station off the blade, one that is there twice, and when there are none.
    """
    stations = sorted((_placed(reading, blade) for reading in readings), key=lambda s: (s.x, s.height))
    if not stations:
        raise InputError('there is no station; give at least one, such as --at "50 mm spine 3.1 mm bow 0.2 mm left".')
    for first in stations:
        for second in stations[stations.index(first) + 1 :]:
            if abs(first.x - second.x) < SAME_PLACE and abs(first.height - second.height) < SAME_PLACE:
                raise InputError(
                    f"{second.reading.source}: {second.name('metric')} is there twice (also {first.reading.source}), "
                    f"{_plain(first.reading.thickness)} and {_plain(second.reading.thickness)} thick; keep one."
                )
    return tuple(stations)


def in_order(readings: Iterable[Reading]) -> bool:
    """Tell whether the readings of each place were taken in order from the heel, either way."""
    by_place: dict[Place, list[float]] = {}
    for reading in readings:
        by_place.setdefault(reading.place, []).append(reading.position)
    steps = [np.sign([b - a for a, b in pairwise(line)]) for line in by_place.values()]
    return all(len(set(step.tolist()) - {0.0}) <= 1 for step in steps)


def _placed(reading: Reading, blade: Blade) -> Station:
    x = reading.position
    if not 0 <= x <= blade.length:
        raise InputError(
            f"{reading.source}: a station {_plain(x)} from the heel is off the blade, which is "
            f"{_plain(blade.length)} long; measure from the heel towards the tip."
        )
    tall, edge = float(blade.height(x)), float(blade.edge_y(x))
    place = reading.place
    height = place if not isinstance(place, str) else 0.0 if place == "edge" else tall
    if not 0 <= height <= tall:
        raise InputError(
            f"{reading.source}: a station {_plain(height)} above the edge is off the blade, which is {_plain(tall)} "
            f"high {_plain(x)} from the heel; measure the height from the edge."
        )
    y = float(blade.spine_y(x)) if place == "spine" else edge + height
    return Station(reading, x, y, height, height / tall if tall > 0 else 1.0)


def _plain(metres: float) -> str:
    """A length for a sentence about a fault, in both systems: nobody knows yet which one was meant."""
    return f"{metres * 1e3:.4g} mm ({metres / 0.0254:.4g} in)"
