"""What the hardening heat and the soak make of a layer: carbon in solution, martensite start, austenite kept, hardness."""

from __future__ import annotations

from dataclasses import dataclass, replace

from billet.hardening.inputs import LayerInput
from billet.hardening.window import USUAL_SOAK
from billet.metal.bearing_steel import (
    SOAK_OF_ANCHORS,
    bearing_austenite,
    bearing_dissolved,
    bearing_share,
    bearing_start,
)
from billet.metal.hardness import as_quenched_hrc, austenite_softens
from billet.metal.limits import Array, OutsideRange, Range, part, with_carbon
from billet.metal.martensite import (
    KOISTINEN_MARBURGER_RATE,
    in_solution,
    martensite_nine_tenths,
    martensite_start,
    retained_austenite,
    soaked,
    temperature_for_martensite,
)
from billet.metal.sources import Source, sources_of

USUAL_HEAT = 810.0 + 273.15  # [K] of a steel whose sheet could not be read; from memory


@dataclass(frozen=True)
class Quenched:
    """One layer quenched to room temperature: austenite [wt%] as it was at heat, martensite start and nine tenths [K],
    austenite kept [-], hardness as quenched [HRC] before its own sheet is heard, why not all could be told, sources.
    """

    austenite: tuple[float, ...]
    ms_K: Range
    nine_tenths_K: Range
    left: Range
    hrc: Range
    why: str
    sources: tuple[Source, ...]

    @property
    def carbon(self) -> float:
        """Carbon in solution [wt%]."""
        return self.austenite[0]


def quenched(layer: LayerInput, heat_K: float, soak_s: float) -> Quenched:
    """A layer quenched from a heat [K] held for a soak [s]: by formula, and by measured anchors as far as it is bearing
    steel.
    """
    chemistry = layer.chemistry
    solution, why, found = _dissolved(chemistry, heat_K, soak_s)
    ms, left, nine = martensite_start(solution), retained_austenite(solution), martensite_nine_tenths(solution)
    used = [*found, *sources_of(martensite_start, retained_austenite, martensite_nine_tenths)]
    share = bearing_share(chemistry)
    if share > 0.0:
        counted = float(soaked(heat_K, soak_s, SOAK_OF_ANCHORS))
        anchored = bearing_start(counted)
        carbon = _between(float(solution[0]), float(bearing_dissolved(chemistry, counted)[0]), share)
        solution = with_carbon(chemistry, carbon)
        nine = _mixed(nine, _shifted(anchored), share)
        ms, left = _mixed(ms, anchored, share), _mixed(left, bearing_austenite(counted), share)
        used += sources_of(bearing_austenite, bearing_start, soaked)
    return Quenched(
        tuple(solution.tolist()),
        ms,
        nine,
        left,
        as_quenched_hrc(float(part(solution, "C")), left.likely),
        why,
        tuple(dict.fromkeys(used)),
    )


def usual(layer: LayerInput) -> tuple[float, float]:
    """The middle of the heats [K] and of the soaks [s] that a layer's own sheet asks for."""
    heats = layer.steel.harden
    return (USUAL_HEAT, USUAL_SOAK) if heats is None else ((heats.low + heats.high) / 2.0, sum(heats.soak) / 2.0)


def as_its_sheet_says(layer: LayerInput, now: Quenched) -> Range:
    """Hardness as quenched [HRC]: the steel's own measured figure where there is one, moved by what carbon, heat and
    soak change against the steel as bought and usually hardened; else the formula's.
    """
    measured = layer.steel.as_quenched
    if measured is None:
        return now.hrc
    bought = replace(layer, carbon_wt_percent=layer.steel.carbon, composition=tuple(layer.steel.composition))
    return Range.around(measured + now.hrc.likely - quenched(bought, *usual(layer)).hrc.likely, 1.0)


def softer(layer: LayerInput, now: Quenched) -> tuple[float, float]:
    """How much softer than from its usual heat and soak a layer is [HRC]: by carbide left undissolved, and by more
    austenite kept; neither below zero.
    """
    before = quenched(layer, *usual(layer))
    austenite = austenite_softens(now.left.likely) - austenite_softens(before.left.likely)
    return max(before.hrc.likely - now.hrc.likely - austenite, 0.0), max(austenite, 0.0)


def _dissolved(chemistry: Array, heat_K: float, soak_s: float) -> tuple[Array, str, tuple[Source, ...]]:
    """The austenite, why all its carbon had to be taken as dissolved (empty where not), and what stands behind it."""
    try:
        solution = in_solution(chemistry, heat_K, soak_s)
    except OutsideRange as reason:
        return chemistry, str(reason), ()
    held = float(solution[0]) < float(chemistry[0])
    return solution, "", sources_of(in_solution, soaked) if held else ()


def _shifted(start: Range) -> Range:
    """Where nine tenths are martensite [K] by Koistinen and Marburger's rate."""
    return Range(*(float(temperature_for_martensite(KOISTINEN_MARBURGER_RATE, ms)) for ms in _ends(start)))


def _mixed(one: Range, other: Range, share: float) -> Range:
    return Range(*(_between(a, b, share) for a, b in zip(_ends(one), _ends(other), strict=True)))


def _ends(band: Range) -> tuple[float, float, float]:
    return band.low, band.likely, band.high


def _between(one: float, other: float, share: float) -> float:
    return one + share * (other - one)
