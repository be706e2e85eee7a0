"""The usual cautions in short form, printed with every result somebody may act on. They defer to those who know the place."""

from __future__ import annotations

_GAP = "28 C (50 F)"  # how far the oil stays below its flash point
_GAPS = {"metric": "28 C", "imperial": "50 F"}
_DEFER = "Local codes, the steel maker's data sheet and qualified instruction come first."

CAUTIONS: dict[str, str] = {
    "figures": "These figures are aids and trial pieces decide; the model never says that a weld is sound or a temperature safe.",
    "fire": "Fire: carbon monoxide kills, so ventilate and fit an alarm; flux spits, and fluoride flux gives off hydrogen fluoride, which a dust mask does not stop; a tall stack tips; eye and face cover, natural-fibre clothes.",
    "press": "Press and hammer: work shoots out sideways; tongs that fit, no hands between dies, guards on.",
    "quench": "Quench: oil deeper than the blade, in a metal tank with its lid and an extinguisher at hand, at least 28 C (50 F) below its flash point; no water near.",
    "water": "Quench: water and brine spit and throw scalding steam, and a blade that cracks in them can throw pieces: eye and face cover, long gloves, deep bath, keep it away from hot oil and salt.",
    "grinder": "Grinder: dust of nickel and chromium steels harms the lungs, so extract it and wear a respirator and eye cover; no wood or aluminium dust with sparks; edges catch the belt.",
    "straightening": "Straightening: hardened steel can snap; shield and gloves.",
    "acid": "Etching: acid into water and never the reverse; gloves, goggles, fresh air; never near bleach; collect the metal-laden waste.",
    "kitchen": "Kitchen: rinse and neutralise the etch; no open weld flaw at the edge.",
}


# The same in one line of at most fifty-eight letters, for answers read at the fire.
SHORT: dict[str, str] = {
    "figures": "Aids only: local codes, data sheets, trials come first.",
    "fire": "Fire: air and a CO alarm; flux fumes pass a dust mask.",
    "press": "Press: work shoots out sideways; no hands between dies.",
    "quench": "Quench: deep oil, lid, no water; {gap} below its flash.",
    "water": "Water and brine throw steam and shards: cover up.",
    "grinder": "Grinder: dust harms lungs (Ni, Cr): extract, respirator.",
    "straightening": "Hardened steel can snap: shield and gloves.",
    "acid": "Acid into water, never the reverse; gloves, goggles, air.",
    "kitchen": "Rinse and neutralise; no open weld flaw at the edge.",
}


def in_a_line(*topics: str, units: str = "metric") -> list[str]:
    """The cautions of some topics, one short line each, in the recipe's units."""
    return [SHORT[topic].format(gap=_GAPS[units]) for topic in topics]


def cautions(*topics: str, units: str | None = None) -> list[str]:
    """The cautions of some topics, the deference last; in the units of a recipe where they are given, else in both."""
    gap = _GAP if units is None else _GAPS[units]
    return [CAUTIONS[t].replace(_GAP, gap) for t in ("figures", *topics)] + [_DEFER]
