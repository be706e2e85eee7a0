"""What the heat-treatment formulas must do whatever the numbers: order, direction, refusal."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import zero_Celsius

from billet.metal import critical_temperatures, hardenability, hardness, martensite, quench, tempering
from billet.metal.limits import OutsideRange, Range, weight_percent
from billet.metal.sources import sources_of
from billet.metal.tempering import Cycle

HOUR = 3600.0
carbons = st.floats(0.74, 0.98)
heats = st.floats(155.0, 240.0).map(lambda celsius: celsius + zero_Celsius)
times = st.floats(1.5 * HOUR, 6 * HOUR)
plain_steels = st.builds(
    lambda C, Mn, Si, Cr, Ni: weight_percent(C=C, Mn=Mn, Si=Si, Cr=Cr, Ni=Ni),
    *(st.floats(*span) for span in ((0.3, 1.0), (0.2, 1.2), (0.0, 0.5), (0.0, 0.5), (0.0, 2.5))),
)


@given(carbons, heats, times, st.floats(0.5, 20.0))
def test_hardness_falls_with_temperature(carbon, heat, time, more):
    hotter = tempering.tempered_plain_carbon(carbon, heat + more, time)
    assert hotter < tempering.tempered_plain_carbon(carbon, heat, time)


@given(carbons, heats, times, st.floats(1.05, 2.0))
def test_hardness_falls_with_time(carbon, heat, time, factor):
    assert tempering.tempered_plain_carbon(carbon, heat, factor * time) < tempering.tempered_plain_carbon(
        carbon, heat, time
    )


@given(carbons, heats, times)
def test_cycles_add(carbon, heat, time):
    once = tempering.tempered_hrc(carbon, [Cycle(heat, time)])
    twice = tempering.tempered_hrc(carbon, [Cycle(heat, time)] * 2)
    together = tempering.tempered_hrc(carbon, [Cycle(heat, 2 * time)])
    assert twice.likely < once.likely
    assert twice.likely == pytest.approx(together.likely, abs=1e-9)


@given(carbons, heats, heats, times)
def test_another_cycle_never_hardens(carbon, heat, second, time):
    """Softening is not undone by a later temper, hotter or cooler."""
    cycles = [Cycle(heat, time), Cycle(second, HOUR)]
    whole = tempering.one_temper_for(cycles)
    alone = tempering.hollomon_jaffe(heat, time)
    assert tempering.hollomon_jaffe(whole.temperature_K, whole.time_s) >= alone * (1 - 1e-12)


@given(plain_steels)
def test_bands_hold_the_likely_value(steel):
    bands = [
        critical_temperatures.ac1(steel),
        martensite.martensite_start(steel),
        martensite.martensite_nine_tenths(steel),
        martensite.retained_austenite(steel),
        hardness.as_quenched_hrc(float(steel[0])),
        hardenability.ideal_diameter(steel),
        hardenability.ideal_diameter(steel, certified=True),
    ]
    assert all(band.low < band.likely < band.high for band in bands)


@given(plain_steels, st.sampled_from(sorted(quench.MEDIA)), st.floats(0.5e-3, 8e-3))
def test_grades_are_in_order(steel, medium, thickness):
    through = quench.through_hardening(thickness, hardenability.ideal_diameter(steel), quench.MEDIA[medium])
    rank = [quench.GRADES.index(grade) for grade in (through.worst, through.likely, through.best)]
    assert rank == sorted(rank)


@given(st.floats(0.0, 0.9), st.floats(0.0, 0.9))
def test_more_thickness_never_hardens_better(a, b):
    thin, thick = sorted((0.2e-3 + a * 1e-2, 0.2e-3 + b * 1e-2))
    assert quench.ideal_diameter_for_plate(thin, 20.0) <= quench.ideal_diameter_for_plate(thick, 20.0)


@given(st.floats(0.81, 1.2), st.floats(0.0, 1.0))
def test_dissolved_carbon_reads_the_cementite_limit_backwards(carbon, chromium):
    steel = weight_percent(C=carbon, Cr=chromium)
    limit = critical_temperatures.acm_fe_c(steel)
    assert critical_temperatures.dissolved_carbon(steel, limit) == pytest.approx(carbon, abs=1e-9)
    assert critical_temperatures.dissolved_carbon(steel, limit + 30.0) == pytest.approx(carbon, abs=1e-9)


@given(st.floats(0.4, 1.3), st.floats(0.0, 1.9), st.floats(1000.0, 1270.0), st.floats(0.01, 1.0))
def test_dissolved_carbon_neither_jumps_nor_falls_with_heat(carbon, chromium, heat, more):
    """One line: the table's steepest stretch is 0.05 % in 18 K, so a kelvin never dissolves 0.003 %."""
    steel = weight_percent(C=carbon, Cr=chromium)
    before, after = critical_temperatures.dissolved_carbon(steel, np.array([heat, heat + more]))
    assert 0.0 <= after - before <= 0.003 * more
    assert after <= carbon


ZERO_TWO = weight_percent(C=0.80, Mn=0.75, Si=0.22)
REFUSALS = {
    "hardly hardens": lambda: hardness.as_quenched_hrc(0.25),
    "nothing to go by": lambda: hardness.as_quenched_hrc(1.35),
    "hardens beyond the heats": lambda: hardenability.ideal_diameter(weight_percent(C=1.25, Mn=0.35)),
    "temper too cold": lambda: tempering.tempered_hrc(0.80, [Cycle(147 + zero_Celsius, 2 * HOUR)]),
    "temper too hot": lambda: tempering.tempered_hrc(0.80, [Cycle(266 + zero_Celsius, 2 * HOUR)]),
    "one of two tempers too hot": lambda: tempering.tempered_hrc(
        0.80, [Cycle(280 + zero_Celsius, 600.0), Cycle(200 + zero_Celsius, 2 * HOUR)]
    ),
    "temper too short": lambda: tempering.tempered_hrc(0.80, [Cycle(200 + zero_Celsius, 300.0)]),
    "no temper": lambda: tempering.tempered_hrc(0.80, []),
    "no rows": lambda: tempering.tempered_from_rows([], [Cycle(200 + zero_Celsius, 2 * HOUR)]),
    "no analysis": lambda: critical_temperatures.ac1(None),
    "analysis with a gap": lambda: martensite.martensite_start(np.full(11, np.nan)),
    "analysis of another length": lambda: hardenability.ideal_diameter_a255(np.zeros(8)),
    "negative content": lambda: critical_temperatures.ac1(-ZERO_TWO),
    "stainless": lambda: critical_temperatures.ac1(weight_percent(C=0.07, Cr=18.5, Ni=9.0)),
    "cementite limit below the table": lambda: critical_temperatures.acm(weight_percent(C=0.70)),
    "too much chromium for the cementite limit": lambda: critical_temperatures.dissolved_carbon(
        weight_percent(C=0.95, Cr=2.5), 1100.0
    ),
    "no thickness": lambda: quench.grade_at(0.0, 0.03, 20.0),
    "no severity": lambda: quench.plate_for_ideal_diameter(0.03, 0.0),
}


@pytest.mark.parametrize("case", REFUSALS)
def test_refusals(case):
    with pytest.raises(OutsideRange, match=r"\w{4,}"):
        REFUSALS[case]()


def test_a_range_must_ascend():
    with pytest.raises(ValueError, match="ascend"):
        Range(1.0, 0.5, 2.0)


def test_nothing_writes_into_its_argument():
    steel = weight_percent(C=0.95, Mn=0.4)
    kept = steel.copy()
    martensite.in_solution(steel, 1060.0)
    hardenability.ideal_diameter(steel)
    assert np.array_equal(steel, kept)


@pytest.mark.parametrize("module", [critical_temperatures, hardenability, hardness, martensite, quench, tempering])
def test_every_public_formula_names_its_source(module):
    formulas = [f for f in vars(module).values() if callable(f) and getattr(f, "__module__", "") == module.__name__]
    public = [f for f in formulas if not f.__name__.startswith("_") and not isinstance(f, type)]
    assert public
    assert not [f.__name__ for f in public if not sources_of(f)]
