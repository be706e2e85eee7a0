"""Critical points on heating at 28 C an hour: the table of carbon and low-alloy steels of an ASM handbook, from memory.

Whole fives of degrees. No formula of ours was made from it; Andrews's fit used other steels.
"""

from scipy.constants import zero_Celsius

from billet.metal.critical_temperatures import ac1, ac3
from billet.metal.limits import weight_percent
from tests.truth.registry import How, Pairs, checks

# Middle of the grade: C, Mn, Si, Cr, Ni, Mo [wt%], Ac1 and Ac3 [C].
STEELS = {
    "1040": (0.40, 0.75, 0.22, 0, 0, 0, 725, 795),
    "1050": (0.50, 0.75, 0.22, 0, 0, 0, 725, 770),
    "1060": (0.60, 0.75, 0.22, 0, 0, 0, 725, 765),
    "1070": (0.70, 0.75, 0.22, 0, 0, 0, 725, 730),
    "1080": (0.80, 0.75, 0.22, 0, 0, 0, 730, 735),
    "4140": (0.40, 0.88, 0.22, 0.95, 0, 0.20, 730, 805),
    "4340": (0.40, 0.70, 0.22, 0.80, 1.82, 0.25, 725, 775),
    "5140": (0.40, 0.80, 0.22, 0.80, 0, 0, 740, 790),
    "5160": (0.60, 0.88, 0.22, 0.80, 0, 0, 710, 765),
    "52100": (1.00, 0.35, 0.25, 1.45, 0, 0, 725, None),
    "9260": (0.60, 0.88, 2.00, 0, 0, 0, 745, 815),
}


@checks(
    "heat at which austenite begins (Ac1)",
    "eleven steels of an ASM handbook, heated at 28 C an hour, from memory",
    How.HELD_OUT,
    unit="C",
    within=40.0,
)
def test_ac1_of_eleven_steels() -> Pairs:
    for C, Mn, Si, Cr, Ni, Mo, start, _ in STEELS.values():
        yield ac1(weight_percent(C=C, Mn=Mn, Si=Si, Cr=Cr, Ni=Ni, Mo=Mo)).likely - zero_Celsius, start


@checks("heat at which austenite begins (Ac1)", "the same eleven", How.HELD_OUT, unit="C", within=20.0, by="rms")
def test_ac1_of_eleven_steels_on_the_whole() -> Pairs:
    for C, Mn, Si, Cr, Ni, Mo, start, _ in STEELS.values():
        yield ac1(weight_percent(C=C, Mn=Mn, Si=Si, Cr=Cr, Ni=Ni, Mo=Mo)).likely - zero_Celsius, start


@checks(
    "heat at which austenite begins (Ac1)",
    "where ferrite ends (Ac3): six steels of that handbook with under 0.70 % carbon",
    How.HELD_OUT,
    unit="C",
    within=35.0,
)
def test_ac3_below_the_eutectoid() -> Pairs:
    for name in ("1040", "1050", "1060", "5140", "5160", "4340"):
        C, Mn, Si, Cr, Ni, Mo, _, end = STEELS[name]
        assert end is not None
        yield ac3(weight_percent(C=C, Mn=Mn, Si=Si, Cr=Cr, Ni=Ni, Mo=Mo)).likely - zero_Celsius, end
