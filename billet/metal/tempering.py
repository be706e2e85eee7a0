"""Hardness after tempering, forwards and backwards, for plain carbon steel and for steels with published rows.

The plain carbon model is a local fit: it holds only where it was fitted. It speaks of fully hardened steel that lost no
carbon; nickel and small additions of manganese shift it by less than 0.5 HRC here (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from billet.metal import references as ref
from billet.metal.constants import ZERO_CELSIUS
from billet.metal.limits import Array, OutsideRange, Range, within
from billet.metal.sources import cites

HOLLOMON_JAFFE_CONSTANT = 13.2  # time in seconds; one constant for all points of the fit
INTERCEPT, SLOPE, CARBON_SLOPE = 61.43, -3.78, 3.45  # [HRC], [HRC per unit of x], [HRC per wt% C from 0.80]

COLDEST, HOTTEST = 148.5 + ZERO_CELSIUS, 265.0 + ZERO_CELSIUS  # [K] the points begin at 150 C; 300 F is 148.9 C
SHORTEST = 600.0  # [s]
LEAST_X, MOST_X = -1.165, 1.49  # [-] span of the fitted points
LEAST_CARBON, MOST_CARBON = 0.74, 0.98  # [wt%]
MOST_STEEL_CARBON = 1.30  # [wt%] beyond it nothing is known of the hardness
CARBON_KNOWN_TO = 0.03  # [wt%]

FIT_EITHER_WAY = 1.5  # [HRC] the fit's worst point
#: From the first of these heats on the fit begins to read low against sheets that were not in it; from the second on
#: its band is 0.5 HRC narrower below and 1.0 HRC wider above [K].
LOW_FROM, LOW_AT = 205.0 + ZERO_CELSIUS, 230.0 + ZERO_CELSIUS
LESS_BELOW, MORE_ABOVE = 0.5, 1.0  # [HRC]

CAPPED_AT = 0.95  # [wt%] more carbon than this stays undissolved at a hardening heat and adds no hardness
LEAN_CARBON = 0.60  # [wt%] the carbon of the rows that stand at the lean end
PLAIN_CHROMIUM, CHROMIUM = 0.25, 0.55  # [wt%] between which chromium comes to count, judgement
CHROMIUM_GAIN = 0.5  # [HRC] what 0.55 % chromium adds after a temper; from memory
LEAN_EITHER_WAY = 2.0  # [HRC] between the lean rows and the fit
ROWS_EITHER_WAY = 2.5  # [HRC]


@dataclass(frozen=True)
class Cycle:
    """One temper: its temperature [K] and the time the blade was at it [s]."""

    temperature_K: float
    time_s: float


@cites(ref.HOLLOMON_JAFFE_1945)
def hollomon_jaffe(temperature_K: Any, time_s: Any) -> Array:
    """Tempering parameter P [K] = T (13.2 + log10 t), temperature [K] and time [s]; broadcasts. Hollomon and Jaffe
    1945.

    The constant is the one our local fit uses for time in seconds (theirs, 17.7 - 5.8 C, from memory, fits as well).
    """
    return np.asarray(np.asarray(temperature_K) * (HOLLOMON_JAFFE_CONSTANT + np.log10(time_s)))


@cites(ref.HOLLOMON_JAFFE_1945)
def time_at(parameter_K: Any, temperature_K: Any) -> Array:
    """Time [s] at a temperature [K] that amounts to a parameter [K]: the parameter solved for the time; broadcasts."""
    return np.asarray(10.0 ** (np.asarray(parameter_K) / np.asarray(temperature_K) - HOLLOMON_JAFFE_CONSTANT))


@cites(ref.HOLLOMON_JAFFE_1945)
def one_temper_for(cycles: Sequence[Cycle]) -> Cycle:
    """The single temper, at the last cycle's temperature, that amounts to all the cycles.

    Cycles at one temperature add their times; others are turned into seconds at the last temperature by equal
    parameter and added. It counts softening only: what a second cycle does to retained austenite and fresh martensite
    is not in it. Raises OutsideRange without a cycle, or with a time or temperature not above zero.
    """
    if not cycles or any(not (c.time_s > 0.0 and c.temperature_K > 0.0) for c in cycles):
        raise OutsideRange("a temper needs at least one cycle, each with a time and a temperature above zero")
    last = cycles[-1].temperature_K
    seconds = (time_at(hollomon_jaffe(c.temperature_K, c.time_s), last) for c in cycles)
    return Cycle(last, float(sum(seconds)))


@cites(ref.HOLLOMON_JAFFE_1945, ref.GRANGE_BAUGHMAN_1956, ref.LOCAL_TEMPER_FIT)
def tempered_plain_carbon(carbon_wt_percent: Any, temperature_K: Any, time_s: Any) -> Array:
    """Hardness after tempering [HRC] of plain carbon martensite: 61.43 - 3.78 x + 3.45 (C - 0.80), x = P / 1000 - 8.

    Carbon 0.74 to 0.98 wt%, 148.5 to 265 C, 10 min or longer, x from -1.165 to 1.49 (about 24 h at 250 C), else
    OutsideRange; broadcasts. Band 1.5 HRC either way. A local fit to 31 points of 1945 and 1956; it must not be used
    on other families, where a like fit read up to 5.5 HRC high.
    """
    carbon = within(carbon_wt_percent, LEAST_CARBON, MOST_CARBON, "carbon [wt%]", "the temper fit saw only such steel")
    return INTERCEPT + SLOPE * _fitted_x(temperature_K, time_s) + CARBON_SLOPE * (carbon - 0.80)


def _fitted_x(temperature_K: Any, time_s: Any) -> Array:
    """The fit's variable x = P / 1000 - 8 [-], refused (OutsideRange) outside the fitted span."""
    temperature = np.asarray(temperature_K, dtype=float)
    why = "the temper fit holds in the knife range only, and nothing is extrapolated"
    within(temperature - ZERO_CELSIUS, COLDEST - ZERO_CELSIUS, HOTTEST - ZERO_CELSIUS, "temper [C]", why)
    seconds = within(time_s, SHORTEST, np.inf, "time at temper [s]", "shorter than ten minutes was not measured")
    x = hollomon_jaffe(temperature, seconds) / 1000.0 - 8.0
    return within(
        x, LEAST_X, MOST_X, "time and temperature together (x)", "no measured point is that mild or that long"
    )


@cites(ref.HOLLOMON_JAFFE_1945, ref.GRANGE_BAUGHMAN_1956, ref.LOCAL_TEMPER_FIT)
def tempered_hrc(carbon_wt_percent: float, cycles: Sequence[Cycle], either_way: float = FIT_EITHER_WAY) -> Range:
    """Hardness after a temper schedule [HRC] of plain carbon (or nickel) martensite, carbon [wt%]; OutsideRange as
    the fit.

    1.5 HRC either way in a controlled furnace, give 2 for a home oven. From 230 C up 1 HRC below and 2.5 above: against
    sheets of 1095, W2 and a 1.25 %C steel that were not in the fit it reads 1 to 2.5 HRC low there.
    """
    whole = one_temper_for(cycles)
    for cycle in cycles:
        _fitted_temperature(cycle)
    likely = float(tempered_plain_carbon(carbon_wt_percent, whole.temperature_K, whole.time_s))
    low = float(np.interp(max(c.temperature_K for c in cycles), [LOW_FROM, LOW_AT], [0.0, 1.0]))
    return Range(likely - either_way + LESS_BELOW * low, likely, likely + either_way + MORE_ABOVE * low)


@cites(ref.HOLLOMON_JAFFE_1945, ref.GRANGE_BAUGHMAN_1956, ref.LOCAL_TEMPER_FIT)
def tempered_kin(
    carbon_wt_percent: float,
    chromium_wt_percent: float,
    cycles: Sequence[Cycle],
    lean_rows: Sequence[tuple[float, float]] = (),
) -> Range:
    """Hardness after a temper schedule [HRC] of steel near plain carbon steel that has no rows of its own.

    From 0.74 %C the fit, its carbon counted to 0.95 %, with up to 0.5 HRC more for 0.25 to 0.55 % chromium and as much
    wider either way. From 0.60 to 0.74 %C linear in carbon between `lean_rows` (temperature [K], hardness [HRC]), those
    of a steel of 0.60 %C, and the fit at 0.74; 2 HRC either way. Carbon beyond an end by 0.03 % counts as the end.
    Raises OutsideRange as the fit and the rows do.
    """
    why = "the temper forecast is made for such steel"
    least = LEAN_CARBON if lean_rows else LEAST_CARBON
    within(carbon_wt_percent, least - CARBON_KNOWN_TO, MOST_STEEL_CARBON, "carbon [wt%]", why)
    gain = CHROMIUM_GAIN * float(np.interp(chromium_wt_percent, [PLAIN_CHROMIUM, CHROMIUM], [0.0, 1.0]))
    rich = tempered_hrc(float(np.clip(carbon_wt_percent, LEAST_CARBON, CAPPED_AT)), cycles)
    rich = Range(rich.low, rich.likely + gain, rich.high + 2.0 * gain)
    if carbon_wt_percent >= LEAST_CARBON or not lean_rows:
        return rich
    share = max(carbon_wt_percent - LEAN_CARBON, 0.0) / (LEAST_CARBON - LEAN_CARBON)
    lean = tempered_from_rows(lean_rows, cycles).likely
    likely = lean + share * (rich.likely - lean)
    above = max(LEAN_EITHER_WAY, share * (rich.high - rich.likely))
    return Range(likely - LEAN_EITHER_WAY, likely, likely + above)


def _fitted_temperature(cycle: Cycle) -> None:
    celsius = cycle.temperature_K - ZERO_CELSIUS
    within(
        celsius, COLDEST - ZERO_CELSIUS, HOTTEST - ZERO_CELSIUS, "temper [C]", "the temper fit holds in the knife range"
    )


@cites(ref.TEMPER_ROWS)
def tempered_from_rows(
    rows: Sequence[tuple[float, float]], cycles: Sequence[Cycle], either_way: float = ROWS_EITHER_WAY
) -> Range:
    """Hardness after a temper schedule [HRC] of a steel outside the fit, read from its published rows; 2.5 HRC either
    way unless the rows' own width is given.

    Rows are (temperature [K], hardness [HRC]) for ordinary tempers of 1 to 6 h in all, which is what published rows
    mean by one or two cycles; time inside that span is not resolved. The hottest cycle decides. Raises OutsideRange
    without two rows, outside their span, or for another total time.
    """
    temperatures, hardnesses = _sorted_rows(rows)
    _ordinary(sum(cycle.time_s for cycle in cycles))
    hottest = max(cycle.temperature_K for cycle in cycles) - ZERO_CELSIUS
    first, last = temperatures[0] - ZERO_CELSIUS, temperatures[-1] - ZERO_CELSIUS
    within(hottest, first, last, "temper [C]", "the published rows end there")
    return Range.around(float(np.interp(hottest, temperatures - ZERO_CELSIUS, hardnesses)), either_way)


def _sorted_rows(rows: Sequence[tuple[float, float]]) -> tuple[Array, Array]:
    """Temperatures [K] ascending and hardness [HRC] falling, both shape (n,)."""
    if len(rows) < 2:
        raise OutsideRange(
            "no tempering table of this steel could be read, so only its hardness as quenched can be told"
        )
    table = np.array(sorted((row[0], row[1]) for row in rows))
    return table[:, 0], table[:, 1]


def _ordinary(total_s: float) -> None:
    why = "published rows mean one or two ordinary tempers"
    within(total_s / 3600.0, 1.0, 6.0, "total time at temper [h]", why)
