"""How far each place of the blade hardens through, decided by the leanest layer that hardens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from billet.hardening.inputs import QuenchBath, Station
from billet.hardening.layers import LayerAdvice
from billet.metal.limits import Range
from billet.metal.quench import GRADES, Grade, Through, full_hardening_limit, through_hardening
from billet.metal.sources import Source, sources_of


@dataclass(frozen=True)
class StationAdvice:
    """One place: its thickness when quenched [m], how far it hardens through, the layer that decides and its limit
    [m].
    """

    name: str
    thickness_m: float
    through: Through
    leanest: str
    full_to_m: Range


def leanest(layers: Sequence[LayerAdvice]) -> LayerAdvice | None:
    """The hardening layer of the least ideal diameter; None where no layer's depth can be told."""
    known = [layer for layer in layers if layer.ideal_diameter_m is not None]
    return (
        min(known, key=lambda layer: layer.ideal_diameter_m.low if layer.ideal_diameter_m else 0.0) if known else None
    )


def stations(layers: Sequence[LayerAdvice], places: Sequence[Station], bath: QuenchBath) -> tuple[StationAdvice, ...]:
    """The advice for every place, in order; empty where no layer's depth can be told."""
    lean = leanest(layers)
    if lean is None or lean.ideal_diameter_m is None:
        return ()
    limit = full_hardening_limit(lean.ideal_diameter_m, bath.severity)
    graded = (through_hardening(place.thickness_m, lean.ideal_diameter_m, bath.severity) for place in places)
    return tuple(StationAdvice(p.name, p.thickness_m, t, lean.name, limit) for p, t in zip(places, graded, strict=True))


def overall(places: Sequence[StationAdvice]) -> Grade | None:
    """The worst end of the worst place; None without any."""
    return min((place.through.worst for place in places), key=GRADES.index) if places else None


def section_sources() -> tuple[Source, ...]:
    """What the grades rest on beside the ideal diameter."""
    return sources_of(through_hardening, full_hardening_limit)
