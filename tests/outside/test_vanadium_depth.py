"""Vanadium in the depth of hardening: ASTM A255 prints its factor, 1 + 1.73 V, to 0.20 %; tool steels may hold 0.35 %.

W2 of ASTM A686 holds 0.15 to 0.35 % vanadium, O1 of ASTM A681 up to 0.30 %: certificates of either must be answered.
"""

import numpy as np
import pytest

from billet.hardening import LayerInput, Question, Station, advise
from billet.metal.hardenability import ideal_diameter, ideal_diameter_a255
from billet.metal.limits import OutsideRange, weight_percent, within
from billet.steel.library import from_certificate

EDGE = (Station("edge", 0.8e-3),)


@pytest.mark.parametrize("vanadium", [0.20000000000000007, 0.2 + 1e-15, 0.1 + 0.1 + 1e-16])
def test_rounding_alone_refuses_nothing(vanadium: float) -> None:
    """A weighted mean of 0.2 and 0.2 % may come out one part in 1e15 above 0.2."""
    steel = weight_percent(C=0.80, Mn=0.4, V=vanadium)
    assert ideal_diameter_a255(steel) == pytest.approx(float(ideal_diameter_a255(weight_percent(C=0.8, Mn=0.4, V=0.2))))


@pytest.mark.parametrize(("value", "limit"), [(0.75 * (1 - 1e-12), 0.75), (1.5 * (1 + 1e-12), 1.5)])
def test_a_value_beyond_a_limit_by_rounding_is_the_limit(value: float, limit: float) -> None:
    assert float(within(value, 0.75, 1.5, "x", "y")) == limit


@pytest.mark.parametrize("value", [0.7499, 1.5001, np.nan])
def test_a_value_truly_beyond_a_limit_is_still_refused(value: float) -> None:
    with pytest.raises(OutsideRange):
        within(value, 0.75, 1.5, "x", "y")


@pytest.mark.parametrize("vanadium", [0.21, 0.25, 0.30, 0.35])
@pytest.mark.parametrize("certified", [True, False])
def test_beyond_the_printed_factor_the_band_widens_by_the_factor_itself(vanadium: float, certified: bool) -> None:
    """By hand: (1 + 1.73 V) / (1 + 1.73 x 0.20), 1.19 at 0.35 %, lies between the ends more than at 0.20 %."""
    known = ideal_diameter(weight_percent(C=0.80, Mn=0.4, V=0.20), certified)
    band = ideal_diameter(weight_percent(C=0.80, Mn=0.4, V=vanadium), certified)
    assert band.low == pytest.approx(known.low)
    assert band.high / known.high == pytest.approx((1 + 1.73 * vanadium) / (1 + 1.73 * 0.20))


@pytest.mark.parametrize(("steel", "vanadium"), [("W2", 0.30), ("W2", 0.35), ("O1", 0.28), ("80CrV2", 0.25)])
def test_certificates_within_the_standards_are_answered(steel: str, vanadium: float) -> None:
    own = from_certificate("own", {"like": steel, "V": vanadium})
    advice = advise([LayerInput(own, 1.0, own.carbon, own.composition)], Question(EDGE))
    assert advice.layers[0].ideal_diameter_m is not None
    assert advice.through_hardening is not None
