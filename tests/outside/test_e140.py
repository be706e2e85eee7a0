"""ASTM E140-12b table 1: rows 68, 65, 60, 55, 50, 45, 40 as coded in a public program, the others from memory."""

import pytest

from billet.metal.hardness import rockwell_from_vickers, vickers_from_rockwell
from billet.metal.limits import OutsideRange

VERIFIED = {68: 940, 65: 832, 60: 697, 55: 595, 50: 513, 45: 446, 40: 392}
FROM_MEMORY = {67: 900, 66: 865, 64: 800, 63: 772, 62: 746, 61: 720, 59: 674, 58: 653, 57: 633, 56: 613,
               54: 577, 53: 560, 52: 544, 51: 528, 48: 484, 35: 345, 30: 302, 25: 266, 20: 238}  # fmt: skip
# Rows our table leaves out, from memory of the same standard: they test the reading between rows.
BETWEEN = {49: 498, 47: 471, 46: 458, 42: 412, 38: 372}


@pytest.mark.parametrize(("hrc", "hv"), [*VERIFIED.items(), *FROM_MEMORY.items()])
def test_rows_both_ways(hrc, hv):
    assert vickers_from_rockwell(hrc) == pytest.approx(hv)
    assert rockwell_from_vickers(hv) == pytest.approx(hrc)


@pytest.mark.parametrize(("hrc", "hv"), BETWEEN.items())
def test_between_the_rows(hrc, hv):
    """Straight lines across a five-point gap of a gently curved table are good to half a point of hardness."""
    assert rockwell_from_vickers(hv) == pytest.approx(hrc, abs=0.5)


@pytest.mark.parametrize("hrc", [19.0, 69.0])
def test_beyond_the_table_is_refused(hrc):
    with pytest.raises(OutsideRange, match="table ends"):
        vickers_from_rockwell(hrc)
