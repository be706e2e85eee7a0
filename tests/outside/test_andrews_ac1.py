"""Andrews, JISI 203 (1965) 721-727, and Grange 1961: values worked out by hand from the published coefficients, whole
degrees.
"""

import pytest
from scipy.constants import zero_Celsius

from billet.metal.critical_temperatures import ac1_andrews_1965, ac1_grange_1961, ac3_andrews_1965
from billet.metal.limits import OutsideRange, weight_percent

STEELS = {
    "1080": (weight_percent(C=0.80, Mn=0.75, Si=0.22), 721, 717),
    "1095": (weight_percent(C=0.95, Mn=0.40, Si=0.22), 725, 722),
    "15N20": (weight_percent(C=0.75, Mn=0.40, Si=0.25, Cr=0.10, Ni=2.0), 694, 696),
    "52100": (weight_percent(C=1.0, Mn=0.35, Si=0.25, Cr=1.45), 751, 757),
    "5160": (weight_percent(C=0.60, Mn=0.88, Si=0.22, Cr=0.80), 734, 735),
    "L6": (weight_percent(C=0.70, Mn=0.60, Si=0.25, Cr=0.80, Ni=1.5, Mo=0.25), 712, 717),
}


@pytest.mark.regression
@pytest.mark.parametrize("steel", STEELS)
def test_ac1(steel):
    composition, andrews, grange = STEELS[steel]
    assert ac1_andrews_1965(composition) - zero_Celsius == pytest.approx(andrews, abs=1.0)
    assert ac1_grange_1961(composition) - zero_Celsius == pytest.approx(grange, abs=1.5)


@pytest.mark.regression
def test_ac3_of_5160():
    """910 - 203 sqrt(0.60) + 44.7 x 0.22 = 762.6 C by hand; a check with 0.25 % silicon gave 764."""
    assert ac3_andrews_1965(STEELS["5160"][0]) - zero_Celsius == pytest.approx(762.6, abs=0.1)


# Fe-C calculated with pycalphad 0.11.2 (whole degrees): A3 by carbon; the fit's band is 20 K.
@pytest.mark.parametrize(("carbon", "a3"), [(0.2, 836), (0.4, 787), (0.6, 750)])
def test_ac3_of_iron_and_carbon(carbon, a3):
    assert ac3_andrews_1965(weight_percent(C=carbon)) - zero_Celsius == pytest.approx(a3, abs=20)


@pytest.mark.parametrize("steel", ["1080", "1095", "52100"])
def test_ac3_is_refused_past_the_eutectoid(steel):
    with pytest.raises(OutsideRange, match="Acm"):
        ac3_andrews_1965(STEELS[steel][0])


def test_ac3_is_refused_where_it_falls_below_ac1():
    """0.69 %C with 5 % Ni: 910 - 168.6 - 76 = 665 C against an Ac1 of 638.5 C holds; with 4 % Cr Ac1 rises to 706 C."""
    assert ac3_andrews_1965(weight_percent(C=0.69, Ni=5.0)) - zero_Celsius == pytest.approx(665.4, abs=0.1)
    with pytest.raises(OutsideRange, match="below this steel's own Ac1"):
        ac3_andrews_1965(weight_percent(C=0.69, Ni=5.0, Cr=4.0))
