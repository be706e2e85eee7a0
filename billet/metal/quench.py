"""What a quench reaches: media by their severity, and the plate a given ideal diameter hardens through.

Grossmann's criterion: the centre of the real section must fall to half its temperature difference in the time in
which the centre of the ideally quenched bar of the ideal diameter does. With Fo the dimensionless half-temperature
time of a section,

    Fo_plate(Bi) (t/2)^2 = Fo_round(infinity) (DI/2)^2,    Bi = H t,

and the same for a round with its diameter. H is the severity h / 2k, half the heat-transfer coefficient over the
conductivity.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import cos, exp, inf, log, pi, sin
from typing import Literal

from scipy.special import j0, j1, jn_zeros

from billet.metal import references as ref
from billet.metal.constants import INCH
from billet.metal.limits import OutsideRange, Range
from billet.metal.sources import cites

Grade = Literal["full", "mixed", "shallow"]
GRADES: tuple[Grade, ...] = ("shallow", "mixed", "full")  # worst first

NINETY_FIVE_PERCENT = 0.7  # of the ideal diameter, for 95 % instead of 50 % martensite (0.6 to 0.8, from memory)
TERMS = 4  # of the series; the fifth is below 1e-30 at the half-temperature time


@dataclass(frozen=True)
class Medium:
    """A quench medium: its name, its severity H [1/m] as a range, and whether it may be used on thin high-carbon
    blades.
    """

    key: str
    severity_per_m: Range
    origin: str
    water_based: bool = False


def _medium(key: str, low: float, high: float, origin: str, water_based: bool = False) -> Medium:
    """A medium from severities in the customary 1/inch; the likely value is the middle."""
    return Medium(key, Range(low / INCH, (low + high) / 2.0 / INCH, high / INCH), origin, water_based)


_TABLE = "Grossmann severity as in two public tables"
MEDIA: dict[str, Medium] = {
    medium.key: medium
    for medium in (
        _medium("air", 0.02, 0.08, _TABLE),
        _medium("still oil", 0.25, 0.30, _TABLE),
        _medium("moderate oil", 0.35, 0.50, _TABLE),
        _medium("vigorous oil", 0.50, 0.80, _TABLE),
        _medium("canola oil", 0.35, 0.50, "warm canola-type oil at about 50 C, moved: from memory"),
        _medium("fast oil", 0.50, 0.70, "fast quench oil of 9 to 11 s, moved: from memory"),
        _medium("plates", 0.10, 0.30, "metal plates pressed to both faces: from memory, and it scatters widely"),
        _medium("water", 0.9, 2.0, _TABLE, water_based=True),
        _medium("agitated water", 1.0, 1.5, _TABLE, water_based=True),
        _medium("brine", 2.0, 5.0, _TABLE, water_based=True),
    )
}


def _half_time(terms: list[tuple[float, float]]) -> float:
    """The Fo [-] at which sum of a exp(-zeta^2 Fo) is one half, over pairs (a, zeta); the first alone gives more."""
    from scipy.optimize import brentq  # slow to load, and most commands never come here

    first, zeta = terms[0]
    most = log(2.0 * first) / zeta**2
    return float(
        brentq(lambda fo: sum(a * exp(-z * z * fo) for a, z in terms) - 0.5, 0.5 * most, 1.001 * most, xtol=1e-12)
    )


def _roots(equation: Callable[[float], float], low: list[float], high: list[float]) -> list[float]:
    from scipy.optimize import brentq  # slow to load, and most commands never come here

    return [float(brentq(equation, a, b, xtol=1e-12)) for a, b in zip(low, high, strict=True)]


@cache
@cites(ref.GROSSMANN_1939)
def half_temperature_time_plate(biot: float) -> float:
    """Half-temperature time of a plate's centre, Fo = a t / (half thickness)^2 [-], for Bi = h (half thickness) / k
    [-], inf included.

    Exact series with zeta tan(zeta) = Bi. Fo(inf) = 0.3787.
    """
    _positive(biot)
    poles = [(n + 0.5) * pi for n in range(TERMS)]
    zeta = poles if biot == inf else _roots(lambda z: z * sin(z) - biot * cos(z), [n * pi for n in range(TERMS)], poles)
    return _half_time([(4.0 * sin(z) / (2.0 * z + sin(2.0 * z)), z) for z in zeta])


@cache
@cites(ref.GROSSMANN_1939)
def half_temperature_time_round(biot: float) -> float:
    """Half-temperature time of a round's centre, Fo = a t / radius^2 [-], for Bi = h radius / k [-], inf included.

    Exact series with zeta J1(zeta) = Bi J0(zeta). Fo(inf) = 0.2005.
    """
    _positive(biot)
    poles = [float(z) for z in jn_zeros(0, TERMS)]
    feet = [0.0, *(float(z) for z in jn_zeros(1, TERMS - 1))]
    zeta = poles if biot == inf else _roots(lambda z: float(z * j1(z) - biot * j0(z)), feet, poles)
    return _half_time([(float(2.0 * j1(z) / (z * (j0(z) ** 2 + j1(z) ** 2))), z) for z in zeta])


def _positive(biot: float) -> None:
    if not biot > 0.0:
        raise OutsideRange(f"a quench needs a severity and a section above zero, the Biot number is {biot}")


@cites(ref.GROSSMANN_1939)
def plate_for_ideal_diameter(ideal_diameter_m: float, severity_per_m: float) -> float:
    """Thickness [m] of the plate with half martensite at its centre, from the ideal diameter [m] and the severity H
    [1/m], inf included.

    At infinite severity 0.728 of the ideal diameter. Raises OutsideRange for a diameter or severity not above zero.
    """
    return _section(half_temperature_time_plate, ideal_diameter_m, severity_per_m)


@cites(ref.GROSSMANN_1939)
def ideal_diameter_for_plate(thickness_m: float, severity_per_m: float) -> float:
    """Ideal diameter [m] a steel must have to harden half-way at the centre of a plate [m]: the plate formula
    backwards.
    """
    return (
        thickness_m
        * (half_temperature_time_plate(severity_per_m * thickness_m) / half_temperature_time_round(inf)) ** 0.5
    )


def _section(fo: Callable[[float], float], ideal_diameter_m: float, severity_per_m: float) -> float:
    """The size [m] with fo(H size) size^2 = fo_round(inf) DI^2; the left side grows with the size, so there is one."""
    from scipy.optimize import brentq  # slow to load, and most commands never come here

    if not (ideal_diameter_m > 0.0 and severity_per_m > 0.0):
        raise OutsideRange("a section needs an ideal diameter and a quench severity above zero")
    if severity_per_m == inf:
        return float(ideal_diameter_m * (half_temperature_time_round(inf) / fo(inf)) ** 0.5)
    goal = half_temperature_time_round(inf) * ideal_diameter_m**2
    return float(
        brentq(
            lambda size: fo(severity_per_m * size) * size**2 - goal,
            1e-4 * ideal_diameter_m,
            ideal_diameter_m,
            rtol=1e-9,
        )
    )


@cites(ref.QUENCH_JUDGEMENT)
def bath_rise(blade_kg: float, from_K: float, bath_m3: float, bath_K: float) -> float:
    """How much a bath of oil warms [K] when a blade [kg] at a heat [K] comes down to it; bath volume [m3], bath start
    [K].

    Heat balance with 650 J/kg K for steel between hardening heat and the bath, transformation included, and 870 kg/m3
    and 2000 J/kg K for oil (all from memory). Raises OutsideRange for a bath without volume.
    """
    if not bath_m3 > 0.0:
        raise OutsideRange(f"a quench bath needs a volume above zero, not {bath_m3}")
    steel, oil = blade_kg * 650.0, bath_m3 * 870.0 * 2000.0
    return (from_K - bath_K) * steel / (steel + oil)


@dataclass(frozen=True)
class Through:
    """How far a section hardens through: the grade at the worst end of the estimates, at the likely values and at the
    best end.
    """

    worst: Grade
    likely: Grade
    best: Grade

    def __str__(self) -> str:
        return self.worst if self.worst == self.best else f"{self.worst} to {self.best}"


@cites(ref.GROSSMANN_1939, ref.QUENCH_JUDGEMENT)
def grade_at(thickness_m: float, ideal_diameter_m: float, severity_per_m: float) -> Grade:
    """Full where the centre of this thickness [m] gets 95 % martensite, mixed where it gets half, shallow where it
    gets less.

    95 % is taken to need the ideal diameter divided by 0.7 (0.6 to 0.8, from memory).
    """
    needed = ideal_diameter_for_plate(thickness_m, severity_per_m)
    if needed <= NINETY_FIVE_PERCENT * ideal_diameter_m:
        return "full"
    return "mixed" if needed <= ideal_diameter_m else "shallow"


@cites(ref.GROSSMANN_1939, ref.QUENCH_JUDGEMENT, ref.GROSSMANN_SEVERITY)
def through_hardening(thickness_m: float, ideal_diameter_m: Range, medium: Medium) -> Through:
    """The grades of a thickness [m] in a medium for an ideal diameter [m] given as a range, both low ends taken
    together, both high ends too.
    """
    ends = [
        grade_at(thickness_m, getattr(ideal_diameter_m, e), getattr(medium.severity_per_m, e))
        for e in ("low", "likely", "high")
    ]
    return Through(*ends)


@cites(ref.GROSSMANN_1939, ref.QUENCH_JUDGEMENT, ref.GROSSMANN_SEVERITY)
def full_hardening_limit(ideal_diameter_m: Range, medium: Medium) -> Range:
    """Greatest thickness [m] that gets 95 % martensite at its centre in a medium, as a range."""
    ends = (
        plate_for_ideal_diameter(NINETY_FIVE_PERCENT * getattr(ideal_diameter_m, e), getattr(medium.severity_per_m, e))
        for e in ("low", "likely", "high")
    )
    return Range(*ends)
