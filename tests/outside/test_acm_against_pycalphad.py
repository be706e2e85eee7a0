"""Cementite limit and A1 of Fe-C against pycalphad and the assessed Fe-C database its wheel carries for its own
tests.
"""

from importlib.resources import files

import numpy as np
import pytest
from scipy.optimize import brentq

from billet.metal.critical_temperatures import ac1_andrews_1965, acm_fe_c
from billet.metal.limits import weight_percent

pycalphad = pytest.importorskip("pycalphad", reason="pycalphad is in the extra `outside`")

CARBON, IRON = 12.011, 55.845  # atomic weights, IUPAC


@pytest.fixture(scope="module")
def fe_c():
    path = files("pycalphad").joinpath("tests/databases/cfe_broshe.tdb")
    if not path.is_file():
        pytest.skip("this pycalphad was installed without its test databases")
    return pycalphad.Database(str(path))


def phases(database, carbon_wt_percent, temperature_K):
    """The stable phases, graphite left out."""
    moles = carbon_wt_percent / CARBON
    fraction = moles / (moles + (100.0 - carbon_wt_percent) / IRON)
    v = pycalphad.variables
    conditions = {v.X("C"): fraction, v.T: temperature_K, v.P: 101325, v.N: 1}
    names = ["FCC_A1", "BCC_A2", "CEMENTITE_D011"]
    found = pycalphad.equilibrium(database, ["C", "FE", "VA"], names, conditions)
    return {str(name) for name in np.ravel(found.Phase.values) if name}


def boundary(database, carbon_wt_percent, phase, low_K, high_K):
    """Temperature at which a phase vanishes on heating, by bisection to 0.25 K."""
    return brentq(lambda T: 1.0 if phase in phases(database, carbon_wt_percent, T) else -1.0, low_K, high_K, xtol=0.25)


@pytest.mark.parametrize("carbon", [0.80, 0.90, 1.00, 1.20])
def test_cementite_limit(fe_c, carbon):
    """Two kelvin: the table is printed to whole degrees and read linearly."""
    calculated = boundary(fe_c, carbon, "CEMENTITE_D011", 1001.0, 1250.0)
    assert acm_fe_c(weight_percent(C=carbon)) == pytest.approx(calculated, abs=2.0)


def test_eutectoid_temperature(fe_c):
    """Andrews's constant is 723 C, the calculated A1 726.5 C: within the formula's 12 K band."""
    calculated = boundary(fe_c, 0.76, "BCC_A2", 950.0, 1050.0)
    assert calculated == pytest.approx(727.0 + 273.15, abs=2.0)  # textbook value
    assert ac1_andrews_1965(weight_percent(C=0.76)) == pytest.approx(calculated, abs=12.0)
