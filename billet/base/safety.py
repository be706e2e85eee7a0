"""The usual cautions in short form, printed with every result somebody may act on. They defer to those who know the place."""

from __future__ import annotations

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


def cautions(*topics: str) -> list[str]:
    """The cautions of some topics, the deference last."""
    return [CAUTIONS[t] for t in ("figures", *topics)] + [_DEFER]
