"""Martensite starts measured by many hands: the open collection of Wentzien and others (steel research int. 2024, 2400210),
file MsDatabase_2022_complete.csv of their repository.

Taken over: of its first two hundred rows every steel of 0.62 to 1.05 % carbon that is plain or low-alloy (under 2 % Mn, 1.6 %
Cr, 3.4 % Ni, 0.5 % Mo and W together over 0.7 % left out). Ingber and Kunert's law, half of ours, may have seen some of
them; van Bohemen's, the other half, has its own set. All of the carbon is taken as dissolved, as the collection does.
"""

from scipy.constants import zero_Celsius

from billet.metal.limits import weight_percent
from billet.metal.martensite import martensite_start
from tests.truth.registry import How, Pairs, checks

# C, Mn, Si, Cr, Ni, Mo, V, W [wt%], measured start [K]
ROWS = [
    (1.03, 0.22, 0.17, 0.07, 0.10, 0.01, 0.0, 0.0, 433.0),
    (0.76, 0.29, 0.22, 0.11, 0.07, 0.019, 0.02, 0.0, 483.0),
    (0.75, 0.61, 0.27, 0.004, 0.0, 0.1, 0.0, 0.0, 538.0),
    (0.90, 1.07, 0.30, 0.49, 0.0, 0.0, 0.0, 0.63, 473.0),
    (0.65, 1.14, 0.40, 1.15, 0.0, 0.0, 0.15, 0.0, 463.0),
    (0.98, 1.84, 0.08, 0.0, 0.0, 0.0, 0.0, 0.0, 393.0),
    (0.62, 0.82, 2.01, 0.07, 0.0, 0.0, 0.0, 0.0, 523.0),
    (0.62, 0.85, 1.90, 0.0, 0.0, 0.0, 0.0, 0.0, 525.0),
    (0.87, 0.30, 0.0, 0.0, 0.0, 0.0, 0.27, 0.0, 470.0),
    (0.64, 0.73, 0.82, 1.26, 0.05, 0.0, 0.16, 0.0, 473.0),
    (0.96, 0.60, 0.20, 0.0, 0.0, 0.0, 0.0, 0.0, 469.0),
    (0.78, 0.86, 0.0, 0.49, 0.59, 0.21, 0.0, 0.0, 493.0),
    (0.70, 0.35, 0.16, 0.96, 3.24, 0.06, 0.0, 0.0, 462.0),
    (0.88, 0.66, 0.30, 0.56, 0.15, 0.44, 0.0, 0.0, 422.0),
    (1.00, 0.34, 0.022, 1.44, 0.35, 0.0, 0.0, 0.0, 402.6),
]
SOURCE = "fifteen measured steels of 0.62 to 1.03 % carbon, an open collection (Wentzien and others 2024) that one of our two laws may have seen"


def starts() -> Pairs:
    for C, Mn, Si, Cr, Ni, Mo, V, W, kelvin in ROWS:
        steel = weight_percent(C=C, Mn=Mn, Si=Si, Cr=Cr, Ni=Ni, Mo=Mo, V=V, W=W)
        yield martensite_start(steel).likely - zero_Celsius, kelvin - zero_Celsius


@checks(
    "heat at which martensite begins (Ms)",
    SOURCE,
    How.IN_THE_FIT,
    unit="C",
    within=50.0,
)
def test_measured_starts() -> Pairs:
    """One of the fifteen, of 0.75 % carbon, starts 60 C above its neighbours; it is kept."""
    return starts()


@checks("heat at which martensite begins (Ms)", SOURCE, How.IN_THE_FIT, unit="C", within=30.0, by="rms")
def test_measured_starts_on_the_whole() -> Pairs:
    return starts()
