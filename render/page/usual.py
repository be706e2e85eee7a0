"""What a new step is told until the smith says otherwise: the heats a shop usually works at, in either kind of units.

Common practice, no source, but for the anneal: sub-critical at about 650 to 675 C, 1200 to 1250 F, below where the first layer
of a usual stack begins to change. The smith's own heats, where the recipe has some, go before these.
"""

from __future__ import annotations

_HEATS = {  # verb: metric, imperial
    "weld": (("1150 C", "10 min"), ("2100 F", "10 min")),
    "normalise": (("870 C", "5 min"), ("1600 F", "5 min")),
    "anneal": (("650 C", "2 h"), ("1200 F", "2 h")),
}
_FORGING = (("1100 C", "3 min"), ("2000 F", "3 min"))


def usual_heat(verb: str, units: str) -> dict[str, str]:
    """Temperature and soak of a step that is hot, as the page writes them into a new one."""
    temperature, soak = _HEATS.get(verb, _FORGING)[units == "imperial"]
    return {"temperature": temperature, "soak": soak}


def heat_kind(verb: str) -> str:
    """Which steps of a recipe a new one takes its heat from: those of its own verb, or any forging."""
    return verb if verb in _HEATS or verb == "heat" else "forging"
