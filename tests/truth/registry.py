"""Checks that are also rows of the truth table: what a figure is held against, and how far off it was measured to be."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Any

import numpy as np
import pytest

PAGE = Path(__file__).parents[2] / "billet" / "manual" / "truth.md"
NOTHING = "nothing off"
LEAST = {"times": 1.01}  # below this a deviation is told as under it; 0.01 of other units
DRIFT = 0.1  # how far a measured deviation may leave the printed one on another machine, as a share of it

Truth = float | tuple[float, float]
"""What a source says: a figure, or a range within which nothing is off."""
Pairs = Iterable[tuple[float, Truth]]
Measure = Callable[..., Pairs]


class How(Enum):
    """What a check proves, strongest first; the value is the word printed."""

    HELD_OUT = "held out"
    METHOD = "another method"
    IN_THE_FIT = "in the fit"
    REGRESSION = "regression only"


PROVES = (How.HELD_OUT, How.METHOD)


@dataclass(frozen=True)
class Found:
    """How far off a check found us: the deviation, in its unit, over how many pairs."""

    deviation: float
    pairs: int


@dataclass(frozen=True)
class Check:
    """One row of the table: a figure, its source, what that proves, and the function that measures.

    `unit` is `%` for a share of the source's figure, `times` for a ratio, else the unit both figures are given in.
    `by` is `worst` or `rms`. `over` lists the cases of a check that is run case by case.
    """

    figure: str
    source: str
    how: How
    unit: str
    within: float
    by: str
    over: tuple[Any, ...]
    measure: Measure

    def found(self, case: Any = None) -> Found:
        """Measure now: one case, or all of them."""
        if not self.over:
            return self._of(list(self.measure()))
        return self._of([p for one in ([case] if case is not None else self.over) for p in self.measure(one)])

    def _of(self, pairs: list[tuple[float, Truth]]) -> Found:
        assert pairs, "a check without a case checks nothing"
        off = np.array([deviation(ours, truth, self.unit) for ours, truth in pairs])
        return Found(float(np.sqrt(np.mean(off**2)) if self.by == "rms" else off.max()), len(pairs))

    @property
    def tail(self) -> str:
        """What stands in the row behind the deviation, up to the number of cases."""
        return f"{self.how.value}: {self.source}"

    def told(self, off: float) -> str:
        """A deviation as printed: `1.6 HRC at worst`, `0.71 % on the whole`, `nothing off`."""
        text = told(off, self.unit)
        return text if text == NOTHING else f"{text} {self.over_all}"

    @property
    def over_all(self) -> str:
        """How many figures became one."""
        return "on the whole" if self.by == "rms" else "at worst"


CHECKS: dict[tuple[str, str], Check] = {}


def deviation(ours: float, truth: Truth, unit: str) -> float:
    """How far a figure is from the truth, or from the nearer end of a range it lies outside of."""
    low, high = truth if isinstance(truth, tuple) else (truth, truth)
    near = min(max(ours, low), high)
    if math.isnan(ours):
        return math.inf
    if unit == "times":
        return max(ours / near, near / ours)
    return abs(ours - near) / (abs(near) / 100 if unit == "%" else 1.0)


def checks(
    figure: str,
    source: str,
    how: How,
    *,
    unit: str,
    within: float,
    by: str = "worst",
    over: Sequence[Any] = (),
    slow: bool = False,
) -> Callable[[Measure], Callable[..., None]]:
    """Register a function that yields pairs as a check, and make it a test: its deviation stays within what it claims
    and is the one the page prints.
    """

    def register(measure: Measure) -> Callable[..., None]:
        check = Check(figure, source, how, unit, within, by, tuple(over), measure)
        CHECKS[measure.__module__.rpartition(".")[2], measure.__name__] = check

        def found_within(case: Any = None) -> Found:
            found = check.found(case)
            assert found.deviation <= within, f"{told(found.deviation, unit)} off, over {within:g}"
            return found

        def whole() -> None:
            assert_printed(check, found_within())

        def one(case: Any) -> None:
            found = found_within(case)
            assert found.deviation <= most_printed(check), "worse than the page says: run `python -m tests.truth`"

        test: Callable[..., None] = pytest.mark.parametrize("case", list(over))(one) if over else whole
        test.__name__, test.__doc__, test.__module__ = measure.__name__, measure.__doc__, measure.__module__
        return pytest.mark.slow(test) if slow else test

    return register


def told(off: float, unit: str) -> str:
    """A deviation rounded up to two figures: `1.6 HRC`, `under 0.01 %`, `1.9 times`."""
    if off <= (1.0 if unit == "times" else 0.0) + 1e-6:
        return NOTHING
    least = LEAST.get(unit, 0.01)
    if off < least:
        return f"under {least:g} {unit}"
    step = 10.0 ** (math.floor(math.log10(off)) - 1)
    up = math.ceil(off / step - 1e-6) * step
    return f"{up:.{max(0, -math.floor(math.log10(step) + 1e-9))}f} {unit}"


def printed(check: Check) -> tuple[str, int] | None:
    """The deviation and the number of cases that stand on the page; None where the row is missing."""
    text = PAGE.read_text("utf-8") if PAGE.is_file() else ""
    hit = re.search(rf"(?m)^- ({NOTHING}|.+ {check.over_all}), {re.escape(check.tail)} \((\d+)\)\.$", text)
    return None if hit is None else (hit[1], int(hit[2]))


def most_printed(check: Check) -> float:
    """The greatest deviation that the row of a check admits to."""
    stands = printed(check)
    assert stands is not None, f"{check.figure}: no row on the page; run `python -m tests.truth`"
    if stands[0] == NOTHING or stands[0].startswith("under "):
        return LEAST.get(check.unit, 0.01)
    return float(stands[0].split()[0]) * (1 + DRIFT)


def assert_printed(check: Check, found: Found) -> None:
    """The page says what was measured, but for the drift from one machine to another."""
    most, stands = most_printed(check), printed(check)
    assert stands is not None
    assert stands[1] == found.pairs
    small = most <= LEAST.get(check.unit, 0.01)
    least = 0.0 if small else most / (1 + DRIFT) * (1 - DRIFT) * 0.9
    assert least <= found.deviation <= most, (
        f"measured {check.told(found.deviation)}, printed {stands[0]}: run `python -m tests.truth`"
    )
