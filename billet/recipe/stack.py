"""The first stack: plates laid on one another, a little unequal when the recipe says so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, laminar_bar
from billet.bar.laminate import OPEN, Laminate
from billet.steel.library import Steel
from billet.steel.plate import read_plate

MOST_LAYERS = 1_000_000
_WIDEST = 2.5  # standard deviations; plates further off are not stacked


def stack(
    name: str, plates: Sequence[tuple[Steel, float]], length: float, width: float, uneven: float = 0.0, seed: int = 1
) -> Bar:
    """A bar of plates, bottom to top, as (steel, thickness [m]); open until welded unless it is a single plate.

    uneven: standard deviation of the plates' thickness as a share of it; the total of each steel stays as given.
    """
    steels: list[Steel] = []
    index = []
    for steel, _ in plates:
        if steel not in steels:
            steels.append(steel)
        index.append(steels.index(steel))
    which = np.array(index, np.int32)
    thickness = _unequal(np.array([t for _, t in plates], float), which, uneven, seed)
    composition = np.array([s.composition for s in steels], float)[which]
    laminate = Laminate(thickness, which, composition, np.full(len(which), OPEN, np.int32), tuple(steels))
    return laminar_bar(name, length, width, laminate, len(plates), welded=len(plates) == 1)


def _unequal(thickness: NDArray[np.float64], steel: NDArray[np.int32], uneven: float, seed: int) -> NDArray[np.float64]:
    """Thicknesses made unequal, each steel keeping its total."""
    if uneven == 0 or len(thickness) == 1:
        return thickness
    off = np.clip(np.random.default_rng(seed).standard_normal(len(thickness)), -_WIDEST, _WIDEST)
    out = thickness * np.maximum(1 + uneven * off, 0.1)
    had, got = np.bincount(steel, thickness), np.bincount(steel, out)
    return out * (had / got)[steel]


def plates_of(
    stacked: Sequence[str], repeat: int, cap: str | None, own: Mapping[str, Steel], base: str | None = None
) -> list[tuple[Steel, float]]:
    """The plates of a recipe's `base`, `stack`, `repeat` and `cap`, bottom to top. Raises InputError naming the plate at fault."""
    once = [read_plate(text, own, "stack") for text in stacked]
    last = [] if cap is None else [read_plate(cap, own, "cap")]
    first = [] if base is None else [read_plate(base, own, "base")]
    return first + once * repeat + last
