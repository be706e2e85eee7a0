"""One steel in words and in JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from billet.steel.library import Steel


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
        "forging_max_K": steel.forging_max,
        "harden_K": None if steel.harden is None else [steel.harden.low, steel.harden.high],
        "etch_rank": steel.etch_rank,
        "cautions": list(steel.cautions),
    }


def print_steel(steel: Steel, units: str = "metric") -> None:
    """A steel in full."""
    from billet.base.units import Kind, show

    print(
        f"{steel.name}   {steel.designation}" + ("   (a mill's designation, used generically)" if steel.trade else "")
    )
    print(f"analysis {steel.status}: {steel.source}\n")
    for c in steel.analysis:
        low = "" if c.least is None else f"{c.least:g} to "
        high = "" if c.most is None else f"{c.most:g}"
        print(f"  {c.element:<3} typical {c.typical:<6g} limits {low}{high or 'not stated'} %")
    print(
        f"\n  forging maximum of the sheets {show(steel.forging_max, Kind.TEMPERATURE, units)} ({steel.forging_source}); damage starts there"
    )
    if steel.harden is not None:
        print(
            f"  hardened from {show(steel.harden.low, Kind.TEMPERATURE, units)} to {show(steel.harden.high, Kind.TEMPERATURE, units)}"
        )
    print(f"  etch rank {steel.etch_rank}, counted from the darkest")
    for line in steel.cautions:
        print(f"! {line}")
