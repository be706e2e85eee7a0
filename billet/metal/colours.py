"""Colours a smith sees on hot steel, and what they do not tell.

No hardness is ever computed from a colour. A heat colour is good to 50 K at best; a temper colour is a film that also
grows with time, so a long temper shows a hotter colour than its heat.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from billet.metal import references as ref
from billet.metal.constants import ZERO_CELSIUS
from billet.metal.limits import within
from billet.metal.sources import cites


@dataclass(frozen=True)
class Colour:
    """A colour and the temperature [K] at which the table shows it."""

    name: str
    temperature_K: float


def _table(*rows: tuple[str, float]) -> tuple[Colour, ...]:
    return tuple(Colour(name, celsius + ZERO_CELSIUS) for name, celsius in rows)


HEAT_COLOURS = _table(
    ("first red", 514),
    ("dull red", 699),
    ("dark cherry", 799),
    ("cherry", 902),
    ("bright red", 1021),
    ("dull orange", 1099),
    ("bright orange", 1199),
    ("white", 1299),
)
HEAT_COLOUR_EITHER_WAY = 50.0  # [K]; another chart differs by as much
TEMPER_COLOURS = _table(
    ("very pale yellow", 221),
    ("straw", 238),
    ("dark straw", 249),
    ("brown-yellow", 260),
    ("yellow-purple", 271),
    ("light purple", 277),
    ("dark purple", 288),
    ("dark blue", 299),
    ("pale blue", 321),
)
BEYOND_COLOUR = 50.8e-6  # [m], two thou; common practice, no source
#: What to do about a colour at the grinder; common practice, no source. It never becomes a number but for how far to grind on, `BEYOND_COLOUR`.
AT_THE_GRINDER = (
    "Faint straw up the face: cool more often.",
    "Brown, purple or blue at the edge: grind back until no colour is left and {beyond} beyond, then file-test, "
    "or harden again.",
    "No colour does not prove an unburnt edge.",
)


@cites(ref.DOOLEY_COLOURS)
def heat_colour(temperature_K: float) -> Colour:
    """The heat colour nearest to a temperature [K]; 464 to 1349 C, else OutsideRange. 50 K either way, dim light."""
    return _nearest(HEAT_COLOURS, temperature_K, HEAT_COLOUR_EITHER_WAY)


def _nearest(table: tuple[Colour, ...], temperature_K: float, reach_K: float) -> Colour:
    first, last = table[0].temperature_K - ZERO_CELSIUS, table[-1].temperature_K - ZERO_CELSIUS
    celsius = temperature_K - ZERO_CELSIUS
    within(celsius, first - reach_K, last + reach_K, "temperature [C]", "the colour table ends there")
    return table[int(np.argmin([abs(colour.temperature_K - temperature_K) for colour in table]))]
