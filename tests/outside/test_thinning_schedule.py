"""Crank, The Mathematics of Diffusion (1975): equal lamellae through a whole evening of welds, draws and restacks.

Uniform thinning makes the problem one in x/h, so contrast depends on Fo = integral of D/h^2 dt alone. The root mean
square of the series 1/2 + (2/pi) sum sin((2n+1) pi x)/(2n+1) exp(-(2n+1)^2 pi^2 Fo), over a period and as a share of the
first, is summed here; the ledger is run without losses and with sealed faces. A heat counts with its heating-up, which is
checked by itself (test_heating_up.py).
"""

from collections.abc import Iterator
from contextlib import contextmanager
from unittest.mock import patch

import numpy as np

from billet.base import shop
from billet.heating.heats import coming_up
from billet.ledger.run import run
from billet.metal.carbon_diffusion import carbon_in_austenite_agren_1986
from billet.metal.substitutional_diffusion import substitutional_in_austenite
from billet.recipe.read import build
from tests.truth.registry import How, Pairs, checks

LAYER, PERIODS, PIECES = 2.5e-3, 4, 4
TOTAL = 2 * PERIODS * LAYER
WELD, FORGE = (1423.15, 600.0), (1323.15, 300.0)  # K, s
WIDTH = 60e-3
DRAWS = (0.63, 0.397, 0.25)
NO_LOSSES = {
    "scale_per_heat": "0 mm",
    "kerf": "0 mm",
    "face_cleanup": "0 mm",
    "end_trim": "0 mm",
    "press_opening": "2 m",
}


def rms_share(fourier: float) -> float:
    """Root mean square of the lamella series over that of sharp layers; the sine's mean square is a half."""
    odd = 2 * np.arange(20_000) + 1
    return float(np.sqrt(8 / np.pi**2 * np.sum(np.exp(-2 * (odd * np.pi) ** 2 * fourier) / odd**2)))


def contrasts(cycles: int, a: dict[str, float], b: dict[str, float], diffusivity, which: str):  # type: ignore[no-untyped-def]
    """Pairs (ledger's contrast, series' contrast) after each heat of weld, three draws to a quarter, restack."""
    steps, expected, thick, cut, fourier = [], [], TOTAL, 1, 0.0
    for cycle in range(cycles):
        if cycle:
            steps.append({"do": "restack", "pieces": PIECES})
            thick, cut = thick * PIECES, cut * PIECES
        heats = [({"do": "weld", "heat": "1150 C", "time": "10 min"}, WELD, thick)]
        for share in DRAWS:
            draw = {
                "do": "draw",
                "heat": "1050 C",
                "time": "5 min",
                "width": f"{WIDTH * 1e3} mm",
                "thickness": f"{TOTAL * share * 1e3} mm",
            }
            heats.append((draw, FORGE, TOTAL * share))
        for step, (kelvin, seconds), then in heats:
            steps.append(step)
            held = seconds + coming_up(kelvin, min(thick, WIDTH))
            fourier += diffusivity(kelvin) * held / (thick / (2 * PERIODS * cut)) ** 2
            expected.append(rms_share(fourier))
            thick = then
    half, inner = "a 1.25 mm", ["b 2.5 mm", "a 2.5 mm"] * (PERIODS - 1) + ["b 2.5 mm"]
    bar = {"name": "x", "width": f"{WIDTH * 1e3} mm", "length": "200 mm", "stack": [half, *inner, half], "step": steps}
    steels = {"a": {"like": "1084", **a}, "b": {"like": "1084", **b}}
    book = run(build({"title": "t", "shop": {**NO_LOSSES, "spread": 0.0}, "steels": steels, "bar": [bar]}))
    rows = [r for r in book.bars[0].rows if r.do in ("weld", "draw")]
    return [(getattr(r.measures, which), e) for r, e in zip(rows, expected, strict=True)]


@contextmanager
def sealed_faces() -> Iterator[None]:
    """No shop seals its faces; the series does."""
    with patch.dict(shop.DECARB, dict.fromkeys(shop.DECARB, 0.0)):
        yield


@checks(
    "carbon contrast left between layers", "Crank's series for equal layers through welds, draws and two restacks",
    How.METHOD, unit="% of the plates'", within=1.0,
)  # fmt: skip
def test_carbon_through_two_restacks() -> Pairs:
    """0.95 against 0.45 % C, Agren's D at their mean, from 78 % left to under 1 %."""
    with sealed_faces():
        found = contrasts(
            2, {"C": 0.95}, {"C": 0.45}, lambda T: float(carbon_in_austenite_agren_1986(0.70, T)), "carbon_contrast"
        )
    assert found[0][1] > 0.75
    assert found[-1][1] < 0.01
    return [(100 * ours, 100 * series) for ours, series in found]


@checks(
    "etching contrast left between layers", "Crank's series for equal layers, nickel down to ten micrometres",
    How.METHOD, unit="% of the plates'", within=2.0,
)  # fmt: skip
def test_nickel_down_to_ten_micrometres() -> Pairs:
    """0.5 % Ni against none, four cycles: nothing happens at plate thickness, a few percent are gone at ten micrometres."""
    with sealed_faces():
        found = contrasts(
            4,
            {"C": 0.7, "Ni": 0.0},
            {"C": 0.7, "Ni": 0.5},
            lambda T: float(substitutional_in_austenite("Ni", T)),
            "alloy_contrast",
        )
    assert found[0][1] > 0.999
    assert found[-1][1] < 0.95
    return [(100 * ours, 100 * series) for ours, series in found]
