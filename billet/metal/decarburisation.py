"""Carbon burnt out of the skin while the skin itself scales away.

The faster the face recedes, the thinner the decarburised skin left behind; still, without any scaling the depth is only
a quarter larger, so an error in the scaling hardly matters here. Everything is model: no open measurement of depths at
welding heat was found.
"""

from typing import Any

import numpy as np

from billet.metal.carbon_diffusion import R
from billet.metal.limits import Array, within
from billet.metal.sources import Source, cites

BIRKS_1970 = Source(
    "birks1970",
    "Birks and Nicholson 1970; Birks, Meier, Pettit, Introduction to the High-Temperature Oxidation of Metals, ch. 5",
    "from memory",
)
ELLINGHAM = Source("ellingham", "FeO + C = Fe + CO, dG = 152300 - 152.24 T J/mol, CO at 1 atm", "from memory")
FE_C_ACTIVITY = Source("fe-c-activity", "carbon activity in Fe-C austenite, 850 to 1150 C, open database", "computed")

_ACTIVITY_K = np.array([1123.15, 1223.15, 1423.15])
_ACTIVITY_AT_04 = np.array([0.308, 0.210, 0.1145])  # activity against graphite at 0.4 % C


@cites(ELLINGHAM)
def carbon_activity_under_scale(temperature_K: Any) -> Array:
    """Carbon activity against graphite [1] that iron oxide and CO at 1 atm hold at the face, `temperature_K` [K].

    a = exp((152300 - 152.24 T)/RT): 0.067 at 900 C, 0.007 at 1100 C.
    """
    T = np.asarray(temperature_K, dtype=float)
    return np.exp((152300.0 - 152.24 * T) / (R * T))


@cites(ELLINGHAM, FE_C_ACTIVITY)
def surface_carbon(temperature_K: Any) -> Array:
    """Carbon content [wt%] the face of plain austenite tends to under scale at `temperature_K` [K], any shape.

    The activity under scale read back through that of Fe-C at 0.4 % C, log a linear in 1/T between 850 and 1150 C and
    extended proportionally to low carbon. About 0.1 % at 900 C, 0.02 % at 1100 C. Either way 0.03 % C. Raises
    OutsideRange below 850 C.
    """
    T = within(temperature_K, 1123.15, np.inf, "the temperature [K]", "below 850 C the face is ferrite under scale")
    slope, start = np.polyfit(1.0 / _ACTIVITY_K, np.log(_ACTIVITY_AT_04), 1)
    return 0.4 * carbon_activity_under_scale(T) / np.exp(start + slope / T)


def depth_in_profile(thickness: Any, carbon: Any, level: float) -> float:
    """Depth [m] below the first face of a stack at which carbon first reaches `level` [wt%].

    `thickness` [m] and `carbon` [wt%] of the cells, shape (n,), face first; linear between cell middles, zero when the
    first cell already reaches it, the whole thickness when none does.
    """
    h, c = np.asarray(thickness, dtype=float), np.asarray(carbon, dtype=float)
    reached = c >= level
    first = int(reached.argmax())
    if not reached[first]:
        return float(h.sum())
    if first == 0:
        return 0.0
    below = float(h[: first - 1].sum()) + 0.5 * float(h[first - 1])
    share = (level - c[first - 1]) / (c[first] - c[first - 1])
    return float(below + share * 0.5 * (h[first - 1] + h[first]))
