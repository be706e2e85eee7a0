"""Colours of hot steel: Chapman, Workshop Technology (1972), in dull light, against the chart the house uses (Dooley).

Both divide the same glow into differently named steps, so names are matched by their place between first red and white.
"""

from scipy.constants import zero_Celsius

from billet.metal.colours import HEAT_COLOURS
from tests.truth.registry import How, Pairs, checks

# Our name, and Chapman's step with its ends [C].
CHAPMAN = {
    "first red": (426.0, 593.0),  # black red
    "dull red": (594.0, 704.0),  # very dark red
    "dark cherry": (705.0, 814.0),  # dark red
    "cherry": (815.0, 870.0),  # cherry red
    "bright red": (871.0, 981.0),  # light cherry red
    "dull orange": (982.0, 1092.0),  # orange
    "bright orange": (1093.0, 1258.0),  # yellow
    "white": (1259.0, 1314.0),  # yellow white
}


@checks("heat colour", "Chapman, Workshop Technology (1972), eight steps", How.HELD_OUT, unit="C", within=50.0)
def test_heat_colours_against_another_chart() -> Pairs:
    return [(colour.temperature_K - zero_Celsius, CHAPMAN[colour.name]) for colour in HEAT_COLOURS]
