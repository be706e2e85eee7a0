"""What a formula may be asked, and how wide its answer is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Elements of a composition vector [weight percent], in this order along its last axis.
ELEMENTS = ("C", "Mn", "Si", "Cr", "Ni", "Mo", "V", "W", "P", "Cu", "Co")

ROUNDING = 1e-9  # share of a limit by which arithmetic, not the metal, may put a value beyond it


class OutsideRange(ValueError):  # noqa: N818 - named for what happened, as the refusal reads
    """A formula was asked outside its range of validity; the message says which limit and why."""


@dataclass(frozen=True)
class Range:
    """An estimate: its low end, its likely value and its high end, all in one unit.

    Raises ValueError where the three are not in ascending order.
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise ValueError(f"a range must ascend: {self.low} <= {self.likely} <= {self.high}")

    @classmethod
    def around(cls, likely: float, either_way: float) -> Range:
        """The range from likely - either_way to likely + either_way, in the unit of both."""
        return cls(float(likely) - either_way, float(likely), float(likely) + either_way)


def within(values: Any, low: float, high: float, what: str, why: str) -> Array:
    """The values as an array if all lie in [low, high], in the unit that `what` names.

    A value beyond a limit by rounding alone (one part in a billion) counts as the limit. Raises OutsideRange, naming
    the first value outside and the reason. A missing (NaN) value is outside.
    """
    array = np.asarray(values, dtype=float)
    slack = ROUNDING * max(abs(end) for end in (low, high) if np.isfinite(end))
    array = np.where((array < low) & (array >= low - slack), low, array)
    array = np.where((array > high) & (array <= high + slack), high, array)
    bad = ~((array >= low) & (array <= high))
    if np.any(bad):
        found = float(array[bad].flat[0])
        span = f"{low:.4g} or more" if np.isposinf(high) else f"{low:.4g} to {high:.4g}"
        raise OutsideRange(f"{what} is {found:.4g}, but only {span} can be answered: {why}")
    return array


def analysis(composition: Any) -> Array:
    """The composition [wt%], shape (..., 11) in the order of ELEMENTS, checked to be a complete analysis.

    Raises OutsideRange where it is missing, incomplete (NaN), negative or adds up to more than 100 %.
    """
    if composition is None:
        raise OutsideRange("the steel has no analysis: without its composition nothing can be predicted")
    array = np.asarray(composition, dtype=float)
    if array.shape[-1:] != (len(ELEMENTS),):
        raise OutsideRange(
            f"an analysis has {len(ELEMENTS)} elements ({', '.join(ELEMENTS)}), this has shape {array.shape}"
        )
    if not np.all(np.isfinite(array)):
        raise OutsideRange("the analysis is incomplete: every element needs a number, zero included")
    if np.any(array < 0) or np.any(array.sum(axis=-1) > 100):
        raise OutsideRange("the analysis cannot be: an element is negative or they add up to more than 100 %")
    return array


def weight_percent(**elements: float) -> Array:
    """A vector over ELEMENTS, shape (11,), from named entries, else zero: a composition [wt%] or slopes per wt%."""
    unknown = set(elements) - set(ELEMENTS)
    if unknown:
        raise ValueError(f"not among the elements {ELEMENTS}: {sorted(unknown)}")
    return np.array([elements.get(name, 0.0) for name in ELEMENTS])


def part(composition: Array, element: str) -> Array:
    """The content of one element [wt%], shape (...), of compositions of shape (..., 11)."""
    return np.asarray(composition[..., ELEMENTS.index(element)])


def with_carbon(composition: Any, carbon_wt_percent: Any) -> Array:
    """The composition [wt%], shape (..., 11), with its carbon replaced; the argument is not written into."""
    carbon = np.asarray(carbon_wt_percent, dtype=float)
    given = analysis(composition)
    changed = np.broadcast_to(given, np.broadcast_shapes(given.shape, (*carbon.shape, len(ELEMENTS)))).copy()
    changed[..., ELEMENTS.index("C")] = carbon
    return changed
