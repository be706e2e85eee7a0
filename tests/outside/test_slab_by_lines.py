"""Times in the furnace and in still air, against a slab followed through its thickness by a solver of its own
(tests/textbook/slab.py): 1250 C, emissivity 0.8, properties of EN 1993-1-2.
"""

from functools import cache

from billet.metal.air_cooling import still_air_seconds
from billet.metal.heat_through import heat_through, radiation_limited_seconds
from tests.textbook.slab import ZERO, seconds_to
from tests.truth.registry import How, Pairs, checks

MM = (5.0, 10.0, 20.0, 25.4, 40.0, 50.8, 75.0)
SLAB = "a slab solved through its thickness (SciPy), bars of 5 to 75 mm to 1150 C"


@cache
def core_at(mm: float, celsius: float) -> float:
    return seconds_to(celsius + ZERO, mm / 1e3, 20 + ZERO, 1250 + ZERO, 0.8, 20.0)


@checks("time a bar takes to heat through", f"{SLAB}: the rule printed", How.METHOD, unit="%", within=40.0)
def test_the_rule_of_minutes_per_millimetre() -> Pairs:
    """0.3 min per mm, told within 40 % either way."""
    return [(heat_through(mm / 1e3).likely, core_at(mm, 1150.0)) for mm in MM]


@checks(
    "time a bar takes to heat through", f"{SLAB}: the bar at one heat throughout", How.METHOD, unit="%", within=16.0
)
def test_a_bar_without_gradients() -> Pairs:
    return [(radiation_limited_seconds(mm / 1e3, 1250 + ZERO, 1150 + ZERO), core_at(mm, 1150.0)) for mm in MM]


@checks(
    "how long that lasts in still air",
    "a slab solved through its thickness (SciPy), 1 to 5 mm from 265 to 180 C, 8 W/m2K (from memory)",
    How.METHOD,
    unit="%",
    within=2.0,
)
def test_how_long_a_blade_stays_in_the_window() -> Pairs:
    """The core falls 85 K; the air's figure is common to both, so this proves the sum and not the draught."""
    for mm in (1.0, 3.0, 5.0):
        late, soon = (seconds_to(c + ZERO, mm / 1e3, 300 + ZERO, 20 + ZERO, 0.8, 8.0) for c in (180.0, 265.0))
        yield still_air_seconds(mm / 1e3, 265 + ZERO, 180 + ZERO), late - soon
