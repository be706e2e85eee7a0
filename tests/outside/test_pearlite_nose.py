"""The nose of pearlite by Li, Niebuhr, Meekisho and Atteridge (1998) and by Kirkaldy and Venugopalan (1984).

Source of the seconds: both laws worked out apart from this code, 1 % pearlite, grain 6 and 8.
"""

import pytest

from billet.hardening import LayerInput, Question, Station, advise
from billet.metal.limits import Range, weight_percent
from billet.metal.pearlite_nose import nose_kirkaldy_1984, nose_li_1998, pearlite_nose
from billet.steel.library import find
from tests.truth.registry import How, Pairs, checks

ROWS = [  # steel, Li at grain 6 and 8, Kirkaldy and Venugopalan at grain 6 and 8 [s]
    ("1075", 0.42, 0.27, 0.81, 0.40),
    ("1080", 1.29, 0.83, 0.85, 0.43),
    ("1095", 0.47, 0.30, 0.77, 0.39),
    ("15N20", 15.1, 9.7, 2.2, 1.1),
    ("5160", 10.4, 6.6, 6.4, 3.2),
    ("8670", 22, 14, 48, 24),
]


@pytest.mark.regression
@pytest.mark.parametrize(("name", "li6", "li8", "kv6", "kv8"), ROWS)
def test_both_laws(name, li6, li8, kv6, kv8):
    """The Li row of 1080 and 1095 leaves their silicon out (a tenth)."""
    steel = find(name).composition
    assert [nose_li_1998(steel, g)[1] for g in (6, 8)] == pytest.approx([li6, li8], rel=0.14)
    assert [nose_kirkaldy_1984(steel, g)[1] for g in (6, 8)] == pytest.approx([kv6, kv8], rel=0.05)


NOSE = "seconds before pearlite begins"


@checks(
    NOSE,
    "0.79 % carbon, 0.76 % manganese of the atlas of isothermal diagrams: 0.7 to 1 s at 540 C, from memory",
    How.HELD_OUT,
    unit="times",
    within=2.0,
)
def test_eutectoid_steel_of_the_atlas() -> Pairs:
    steel = weight_percent(C=0.79, Mn=0.76)
    band = pearlite_nose(steel, 0.79)
    assert band.low <= 1.0
    assert band.high >= 0.7
    assert 530.0 <= nose_li_1998(steel, 7)[0] - 273.15 <= 580.0
    return [(band.likely, (0.7, 1.0))]


@checks(
    NOSE,
    "Li 1998 against Kirkaldy and Venugopalan 1984, plain steels (15N20 is told as 1 to 15 s)",
    How.METHOD,
    unit="times",
    within=3.0,
)
def test_two_laws_on_plain_steels() -> Pairs:
    """Two published laws that share no data: what is printed is the band over both."""
    for name in ("1075", "1080", "1095"):
        for grain in (6, 8):
            yield nose_li_1998(find(name).composition, grain)[1], nose_kirkaldy_1984(find(name).composition, grain)[1]


def test_chromium_in_carbide_does_not_count():
    """52100 with 0.65 % C and so about 0.95 % Cr in solution: 1.3 to 7 s, against 20 to 30 s by Li from all of the bar."""
    steel = find("52100").composition
    band = pearlite_nose(steel, 0.65)
    assert band.low >= 1.0
    assert band.high <= 8.0
    assert nose_li_1998(steel, 6.0)[1] > 20.0


def test_the_nose_of_15n20_is_printed_as_one_to_fifteen_seconds():
    """Li gives nickel a factor 30, Kirkaldy and Venugopalan none: no claim of ten seconds may be printed."""
    layers = [LayerInput(find(n), 0.5, find(n).carbon, find(n).composition) for n in ("1084", "15N20")]
    advice = advise(layers, Question((Station("edge", 0.8e-3),)))
    text = " ".join(n.say() for n in advice.pearlite)
    assert "15N20 1 to 15 s" in text
    assert isinstance(advice.layers[1].pearlite_nose_s, Range)
