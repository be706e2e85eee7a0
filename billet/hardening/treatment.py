"""From a recipe to the question its heat treatment asks: what layers the finished bar holds, and how thick the blade is when quenched."""

from __future__ import annotations

from billet.bar.measure import by_steel
from billet.base.errors import InputError
from billet.blade.geometry import Blade
from billet.hardening import LayerInput, Question
from billet.hardening.inputs import QuenchBath, Station
from billet.ledger.recipe_warnings import ready_bar
from billet.ledger.rows import Ledger
from billet.metal.tempering import Cycle
from billet.recipe.blade import blade_of
from billet.steel.library import ELEMENTS

COARSENS = 1273.15  # [K] from which on the grain law was fitted
NORMALISES = 1073.15  # [K] from which on a heat without forging makes new grains; from memory
_CARBON = ELEMENTS.index("C")


def layers_of(ledger: Ledger) -> list[LayerInput]:
    """Every steel of the bar the blade is ground from, with the carbon it ends with."""
    return [
        LayerInput(s.steel, s.share, float(s.composition[_CARBON]), s.composition) for s in by_steel(ready_bar(ledger))
    ]


def question_of(ledger: Ledger, wanted_hrc: float | None = None) -> Question:
    """The question a recipe's [blade] and [hardening] ask; a hardness wanted [HRC] given here wins."""
    table = ledger.recipe.tables.hardening
    if wanted_hrc is not None and not 20.0 < wanted_hrc < 70.0:
        raise InputError(f"--hardness: found {wanted_hrc:g}, wanted Rockwell C between 20 and 70, such as 61")
    blade = blade_of(ledger.recipe, "hardening")
    quench, temper = table.quench, table.temper
    bath = QuenchBath(quench.medium, quench.temperature, quench.volume, quench.flash_point, blade.mass())
    cycles = (Cycle(temper.temperature, temper.soak),) * temper.cycles
    wanted = wanted_hrc if wanted_hrc is not None else table.hardness
    return Question(stations_of(blade), bath, cycles, wanted, table.temperature, table.soak, last_coarsening(ledger))


def last_coarsening(ledger: Ledger) -> Cycle | None:
    """The last heat of the bar of 1000 C or more [K, s]; None where a heat without forging below that came after it."""
    for row in reversed(ledger.bars[-1].rows):
        heat, time = getattr(row.step, "temperature", None), getattr(row.step, "soak", None)
        if heat is None or time is None or time <= 0.0:
            continue
        if heat >= COARSENS:
            return Cycle(heat, time)
        if row.step is not None and row.step.refines_grain and heat >= NORMALISES:
            return None
    return None


def stations_of(blade: Blade) -> tuple[Station, ...]:
    """Edge and spine of a blade as it is quenched: at the heel, in the middle and near the tip [m]."""
    at = blade.design.spine.at("hardening")
    edge = blade.design.edge.at("hardening")
    return (
        Station("edge", edge),
        Station("spine at the heel", at.heel),
        Station("spine in the middle", at.middle),
        Station("spine near the tip", at.tip),
    )
