"""What a hardening heat leaves of the austenite of bearing steel (1 % carbon, 1.45 % chromium), by measured anchors.

Its chromium carbide dissolves late, so the formulas that serve other steels put its martensite start 50 K too high at a
low heat. Steel of less chromium or carbon is met half-way (`bearing_share`), so that nothing jumps.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from billet.metal import references as ref
from billet.metal.constants import ZERO_CELSIUS
from billet.metal.limits import Array, Range, part, with_carbon
from billet.metal.martensite import KOISTINEN_MARBURGER_RATE, MS_EITHER_WAY, ROOM_K, martensite_start
from billet.metal.sources import cites

#: Heat [C] and austenite kept [-] after oil to room temperature: 8 % at 816 C and 0.20 % more per kelvin to 871 C, from
#: there straight to 55 % at 1000 C; below 801 C level at 5 % (judgement).
ANCHORS = ((801.0, 0.05), (816.0, 0.08), (871.0, 0.19), (1000.0, 0.55))
EITHER_WAY, EITHER_WAY_AT_1000 = 0.04, 0.10  # [-]; the second is judgement
SOAK_OF_ANCHORS = 1500.0  # [s]
SPAN_CHROMIUM = ((0.6, 0.0), (1.3, 1.0), (1.7, 1.0), (2.0, 0.0))  # [wt%], share; judgement
SPAN_CARBON = ((0.80, 0.0), (0.93, 1.0))  # [wt%], share; judgement
_LEAST_CARBON = 0.30  # [wt%]


@cites(ref.BEARING_ANCHORS)
def bearing_share(composition: Any) -> float:
    """How far a composition [wt%], shape (11,), counts as bearing steel, 0 to 1: all from 0.93 %C and 1.3 %Cr."""
    steel = np.asarray(composition, dtype=float)
    return _read(SPAN_CHROMIUM, float(part(steel, "Cr"))) * _read(SPAN_CARBON, float(part(steel, "C")))


def _read(points: tuple[tuple[float, float], ...], at: float) -> float:
    """The straight line through points (x, y), level beyond its ends."""
    return float(np.interp(at, [x for x, _ in points], [y for _, y in points]))


@cites(ref.BEARING_ANCHORS)
def bearing_austenite(heat_K: float) -> Range:
    """Fraction of austenite kept [-] by bearing steel quenched from a heat [K], counted as held 25 min; 0.04 either
    way to 871 C, up to 0.10 at 1000 C.
    """
    celsius = heat_K - ZERO_CELSIUS
    likely = _read(ANCHORS, celsius)
    wide = float(np.interp(celsius, [ANCHORS[-2][0], ANCHORS[-1][0]], [EITHER_WAY, EITHER_WAY_AT_1000]))
    return Range(max(likely - wide, 0.01), likely, likely + wide)


@cites(ref.BEARING_ANCHORS, ref.KOISTINEN_MARBURGER_1959)
def bearing_start(heat_K: float) -> Range:
    """Martensite start [K] of bearing steel quenched from a heat [K]: the austenite kept read back through Koistinen
    and Marburger, 25 K either way. A maker's cards say 210 C for 850 C.
    """
    left = bearing_austenite(heat_K).likely
    return Range.around(ROOM_K + float(np.log(1.0 / left)) / KOISTINEN_MARBURGER_RATE, MS_EITHER_WAY)


@cites(ref.BEARING_ANCHORS, ref.VAN_BOHEMEN_2012, ref.INGBER_KUNERT_2022)
def bearing_dissolved(composition: Any, heat_K: float) -> Array:
    """The composition [wt%], shape (11,), whose carbon puts the formulas' martensite start where the anchors have it;
    never more carbon than the steel holds.
    """
    from scipy.optimize import brentq  # slow to load, and most commands never come here

    steel, wanted = np.asarray(composition, dtype=float), bearing_start(heat_K).likely

    def off(carbon: float) -> float:
        return martensite_start(with_carbon(steel, carbon)).likely - wanted

    most = float(part(steel, "C"))
    if most <= _LEAST_CARBON or off(most) >= 0.0:
        return steel
    return with_carbon(steel, float(brentq(off, 0.0, most, xtol=1e-6)))
