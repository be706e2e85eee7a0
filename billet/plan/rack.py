"""The rack while searching: whether its bars hold the plates of a candidate, and what those cost."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from billet.plan.after import After
from billet.plan.goal import Goal
from billet.plan.sequences import Batch
from billet.plan.weigh import Weighed
from billet.steel.library import find

Array = NDArray[np.float64]


def _sides(b: Batch) -> tuple[tuple[str, Array, Array], ...]:
    """Steel, thickness and number of the plates of either steel."""
    many = b.repeat + b.cap
    dark = np.where(b.dark_first, b.first, b.second), np.where(b.dark_first, many, b.repeat)
    bright = np.where(b.dark_first, b.second, b.first), np.where(b.dark_first, b.repeat, many)
    return ((b.pair.dark.name, *dark), (b.pair.bright.name, *bright))


def affordable(goal: Goal, after: After, b: Batch, w: Weighed) -> NDArray[np.bool_]:
    """Whether the rack's bars give all plates of the first stack; spacers are left to the cut list."""
    ok, alike = np.ones(len(b), bool), 1 + len(after.twins)
    for steel, thick, many in _sides(b):
        there = np.zeros(len(b))
        for bar in goal.rack or ():
            if find(bar.steel, goal.own).name == steel:
                fits = (np.abs(bar.thickness - thick) < 1e-9) & (bar.width >= b.width - 1e-9)
                there += np.where(
                    fits, bar.count * np.floor((bar.length + goal.shop.kerf) / (w.start + goal.shop.kerf) + 1e-9), 0
                )
        ok &= there >= many * alike
    return ok


def price_of(goal: Goal, after: After, b: Batch, w: Weighed) -> Array:
    """Price of the steel of the first stack [the shop's money]: each plate at the lowest price per length of a bar it
    may come from; 0 without prices.
    """
    total = np.zeros(len(b))
    for steel, thick, many in _sides(b):
        each = np.zeros(len(b))
        for bar in goal.rack or ():
            if bar.price is not None and find(bar.steel, goal.own).name == steel:
                fits = (np.abs(bar.thickness - thick) < 1e-9) & (bar.width >= b.width - 1e-9)
                price = np.where(fits, bar.price / bar.length, np.inf)
                each = np.where((each == 0) | (price < each), np.where(np.isfinite(price), price, each), each)
        total += each * many * (1 + len(after.twins)) * (w.start + goal.shop.kerf)
    return total
