"""One steel's heat treatment asked of the project, in Celsius and minutes, for the tests."""

from __future__ import annotations

from scipy.constants import zero_Celsius

from billet.hardening import Cycle, LayerInput, QuenchBath, Question, Station, advise
from billet.hardening.advice import Advice
from billet.hardening.austenite import Quenched, quenched
from billet.hardening.tempers import layer_tempered
from billet.metal.limits import Range
from billet.steel.library import find, from_certificate

MINUTE, HOUR = 60.0, 3600.0
EDGE = (Station("edge", 0.8e-3),)


def layer(name: str, **contents: float) -> LayerInput:
    """A layer of a steel of the library, or of one like it with contents of its own [wt%]."""
    steel = find(name) if not contents else from_certificate("own", {"like": name, **contents})
    return LayerInput(steel, 1.0, steel.carbon, steel.composition)


def from_heat(name: str, celsius: float, minutes: float = 25.0) -> Quenched:
    """What a hardening heat leaves to quench."""
    return quenched(layer(name), celsius + zero_Celsius, minutes * MINUTE)


def advised(
    name: str,
    celsius: float | None = None,
    minutes: float | None = None,
    temper: float = 195.0,
    medium: str = "fast oil",
) -> Advice:
    """All advice about one steel, tempered twice two hours."""
    heat = None if celsius is None else celsius + zero_Celsius
    soak = None if minutes is None else minutes * MINUTE
    tempers = (Cycle(temper + zero_Celsius, 2 * HOUR),) * 2
    return advise([layer(name)], Question(EDGE, QuenchBath(medium), tempers=tempers, heat_K=heat, soak_s=soak))


def told(name: str, celsius: float, hours: float = 2.0, carbon: float | None = None) -> Range:
    """The hardness foretold for a steel after one temper [HRC]."""
    one = layer(name) if carbon is None else layer(name, C=carbon)
    return layer_tempered(one, [Cycle(celsius + zero_Celsius, hours * HOUR)])
