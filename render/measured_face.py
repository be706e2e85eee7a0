"""A blade that is ground from measured stations: where its faces come to lie in the steel, and what that does to the
pattern.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from billet.blade import Blade
from billet.grinding import Plan, core_thickness, plan_readings, read_stations
from billet.grinding.grinding_text import SIDES, bearing, pattern_words, verdict
from billet.ledger.rows import Ledger
from render.views import Shift


@dataclass(frozen=True)
class Measured:
    """The grinding planned to some stations, and the thickness of the core where the bar is clad [m]."""

    plan: Plan
    core: float | None

    @property
    def shift(self) -> Shift:
        """Where the mid-plane will lie in the steel off its placement, as a function of (x, y) [m]."""
        return self.plan.shift

    def says(self, units: str) -> list[str]:
        """Return how far the pattern moves, what more of it the blade bears, and whether the metal is enough."""
        said = pattern_words(self.plan, units, self.core) or ["The blade stays where it was drawn in the steel."]
        if self.core is None:
            said.append("There is no core that more of it could leave: only lines move.")
        return [*said, *([] if self.plan.verdict == "on target" else [verdict(self.plan, units)])]

    def facts(self, units: str) -> dict[str, Any]:
        """Return the keys of the command's JSON, in SI: lines move up the face where positive."""
        most = max((s.shift for s in self.plan.stations), key=abs)
        bears = bearing(self.plan, self.core)
        return {
            "shift_m": most,
            "lines_move_m": {side: bears.moves(most, side) for side in SIDES},
            "bears_more_m": bears.more,
            "verdict": self.plan.verdict,
            "says": self.says(units),
        }


def measured(ledger: Ledger, blade: Blade, stations: Path) -> Measured:
    """Plan the grinding of a file of stations to a blade. Raises InputError naming the line at fault."""
    return Measured(plan_readings(read_stations(stations), blade), core_thickness(ledger))
