"""Heat-treatment advice for a finished laminate, per layer and for the whole."""

from billet.hardening.advice import Advice, advise
from billet.hardening.inputs import LayerInput, QuenchBath, Question, Station
from billet.hardening.keys import keys
from billet.metal.tempering import Cycle

__all__ = ["Advice", "Cycle", "LayerInput", "QuenchBath", "Question", "Station", "advise", "keys"]
