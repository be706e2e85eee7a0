"""From a recipe to the question its heat treatment asks: what layers the finished bar holds, and how thick the blade is when quenched."""

from __future__ import annotations

from billet.blade.geometry import Blade
from billet.checks import blade_of, ready_bar
from billet.hardening import LayerInput, Question
from billet.hardening.inputs import QuenchBath, Station
from billet.ledger import Ledger
from billet.measure import by_steel
from billet.metal.tempering import Cycle
from billet.steels import ELEMENTS

_CARBON = ELEMENTS.index("C")


def layers_of(ledger: Ledger) -> list[LayerInput]:
    """Every steel of the bar the blade is ground from, with the carbon it ends with."""
    return [
        LayerInput(s.steel, s.share, float(s.composition[_CARBON]), s.composition) for s in by_steel(ready_bar(ledger))
    ]


def question_of(ledger: Ledger, wanted_hrc: float | None = None) -> Question:
    """The question a recipe's [blade] and [hardening] ask; a hardness wanted [HRC] given here wins."""
    table = ledger.recipe.tables.hardening
    blade = blade_of(ledger.recipe, "hardening")
    quench, temper = table.quench, table.temper
    bath = QuenchBath(quench.medium, quench.temperature, quench.volume, quench.flash_point, blade.mass())
    cycles = (Cycle(temper.heat, temper.time),) * temper.cycles
    return Question(
        stations_of(blade), bath, cycles, wanted_hrc if wanted_hrc is not None else table.hardness, table.heat
    )


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
