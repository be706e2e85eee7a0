"""An integral bolster at the hardening: does it come to heat with the blade, and does it harden through."""

from __future__ import annotations

from dataclasses import dataclass

from billet.base.messages import Amount, Note, note, thin
from billet.base.units import Kind
from billet.blade.geometry import Blade
from billet.hardening.inputs import QuenchBath, Station
from billet.hardening.layers import LayerAdvice
from billet.hardening.sections import StationAdvice, stations
from billet.metal.heat_through import radiation_limited_seconds

_FURNACE = 20.0  # the furnace stands so far above the hardening heat [K]: common practice, no source


@dataclass(frozen=True)
class BolsterAdvice:
    """Time [s] for the spine at the heel and for the bolster to come to heat, how far the bolster hardens through (None
    where no layer's depth can be told), and what to do."""

    thickness_m: float
    spine_s: float
    bolster_s: float
    section: StationAdvice | None
    notes: tuple[Note, ...]

    def keys(self, units: str) -> dict[str, object]:
        """Return it as plain data."""
        return {
            "thickness_m": self.thickness_m,
            "spine_to_heat_s": self.spine_s,
            "bolster_to_heat_s": self.bolster_s,
            "through_hardening": None if self.section is None else self.section.through.worst,
            "notes": [n.say(units) for n in self.notes],
        }


def bolster_advice(
    blade: Blade, layers: tuple[LayerAdvice, ...], bath: QuenchBath, heat_K: float | None
) -> BolsterAdvice | None:
    """Return the advice for a blade with a bolster hardened from a heat [K]; None without a bolster or a heat."""
    bolster = blade.design.bolster
    if bolster is None or heat_K is None:
        return None
    spine = blade.design.spine.at("hardening").heel
    block = 2 * bolster.width * bolster.thickness / (bolster.width + bolster.thickness)  # a slab of its volume and skin
    times = tuple(radiation_limited_seconds(d, heat_K + _FURNACE, heat_K) for d in (spine, 0.5 * block))
    found = stations(layers, (Station("bolster", bolster.thickness),), bath)
    section = found[0] if found else None
    notes = [
        note(
            "the bolster ({thick}) comes to heat in about {slow}, the spine at the heel in {quick} (furnace 20 C over it, within 40 %)",
            thick=thin(bolster.thickness),
            slow=Amount(times[1], Kind.TIME),
            quick=Amount(times[0], Kind.TIME),
        ),
        note(
            "heat the bolster first or turn the blade in the fire: quench when both show one colour, and soak no longer"
        ),
        note(
            "the shoulder between them cools unevenly: no sharp inner corner there, and straighten from the blade, never over the bolster"
        ),
    ]
    if section is not None and section.through.worst != "full":
        notes.append(
            note(
                "in this quench the bolster stays softer inside; that is no fault, it holds the handle and not the edge"
            )
        )
    return BolsterAdvice(bolster.thickness, times[0], times[1], section, tuple(notes))
