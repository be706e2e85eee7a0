"""What the planner takes for granted: heats, times and allowances of ordinary work. Common practice, no source, unless
said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from billet.base.shop import Shop
from billet.plan.recipe_text import furnace
from billet.steel.library import Steel

_ACROSS = 2.0  # widest spread over the shop's own: flat dies reach 0.3 to 0.45 where drawing dies give 0.1 to 0.2; from memory


@dataclass(frozen=True)
class Habits:
    """Temperatures [K], soaks [s], heats, the thickness ratio one draw heat takes, and allowances [m].

    warp: total thickness kept for straightening. sides: kept on edge and spine each for cleaning up. deepest_draw: a
    stack is drawn to this share of its height or less before it is cut, which proves the welds.
    """

    weld: tuple[float, float, int] = (1423.15, 480.0, 2)
    draw: tuple[float, float] = (1373.15, 180.0)
    last: tuple[float, float] = (1323.15, 120.0)
    ratio: float = 1.8
    normalise: tuple[float, float, int] = (1143.15, 600.0, 3)
    harden: tuple[float, float, int] = (1088.15, 480.0, 1)
    warp: float = 0.2e-3
    sides: float = 1e-3
    deepest_draw: float = 0.67
    widest_spread: float = 0.3  # exponent ln(width gained)/ln(thickness lost) that a plan may ask for

    def heats_to_draw(self, start: Any, end: Any) -> NDArray[np.int_]:
        """How many heats a draw from one thickness to another takes."""
        return np.clip(np.ceil(np.log(start / end) / math.log(self.ratio) - 1e-9), 1, 12).astype(np.int_)


def habits_of(shop: Shop, steels: tuple[Steel, ...], units: str = "metric") -> Habits:
    """Habits for a shop and the steels in the stack; no heat above the lowest forging limit of their sheets, none below
    1050 C; all are round settings in the units of the recipe.
    """
    h = Habits() if shop.forge_tool == "press" else Habits(weld=(1423.15, 480.0, 3), ratio=1.35)
    limit = max(1323.15, min(s.forging_max for s in steels))
    cap = lambda t: furnace(min(t, limit), units)  # noqa: E731
    normal = [s.normalise for s in steels if s.normalise is not None]
    times = 0 if any(s.air_cooling_forbidden for s in steels) or not normal else h.normalise[2]
    low = max((s.harden.low for s in steels if s.harden), default=h.harden[0])
    return replace(
        h,
        weld=(cap(h.weld[0]), *h.weld[1:]),
        draw=(cap(h.draw[0]), h.draw[1]),
        last=(cap(h.last[0]), h.last[1]),
        normalise=(furnace(max(normal, default=h.normalise[0]), units, least=True), h.normalise[1], times),
        harden=(furnace(low, units, least=True), *h.harden[1:]),
        widest_spread=_ACROSS * shop.spread,
    )
