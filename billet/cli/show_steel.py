"""One steel in words and in JSON."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from billet.steel.library import Steel


DARKEST_TO_BRIGHTEST = 13  # ranks of the etch


def steel_json(steel: Steel) -> dict[str, Any]:
    """A steel in SI with the unit in every key."""
    return {
        "name": steel.name,
        "designation": steel.designation,
        "family": steel.family,
        "mill_designation": steel.trade,
        "status": steel.status,
        "source": steel.source,
        "density_kg_m3": steel.density,
        "composition_wt_percent": {
            c.element: {"minimum": c.least, "maximum": c.most, "typical": c.typical} for c in steel.analysis
        },
        "nicknames": list(steel.nicknames),
        "forging_max_K": steel.forging_max,
        "harden_K": None if steel.harden is None else [steel.harden.low, steel.harden.high],
        "etch_rank": steel.etch_rank,
        "cautions": list(steel.cautions),
    }


def steel_lines(steel: Steel, units: str) -> list[str]:
    """A steel in sentences, what is asked most first."""
    from billet.base.furnace import setting, window

    trade = " (a mill's designation, used generically)" if steel.trade else ""
    content = ", ".join(f"{c.element} {c.typical:g}" for c in steel.analysis)
    heats = f"Forge no hotter than {setting(steel.forging_max, units, floor)} ({steel.forging_source})."
    if steel.harden is not None:
        low, high = window(steel.harden.low, steel.harden.high, units)
        heats = f"Harden from {low} to {high} ({steel.harden.source}). " + heats
    out = [f"{steel.name}: {steel.designation}{trade}", f"Holds, typically: {content} %.", heats]
    if steel.normalise is not None:
        out.append(f"Normalise at {setting(steel.normalise, units)}.")
    elif steel.air_cooling_forbidden:
        out.append("Its sheets forbid cooling in air: do not normalise.")
    out.append(f"Etch rank {steel.etch_rank} of {DARKEST_TO_BRIGHTEST}; 1 is darkest.")
    out += steel.cautions
    limits = ", ".join(
        f"{c.element} {'' if c.least is None else f'{c.least:g} to '}{'not stated' if c.most is None else f'{c.most:g}'}"
        for c in steel.analysis
    )
    return [*out, f"Limits: {limits} %.", f"Analysis {steel.status}: {steel.source}."]
