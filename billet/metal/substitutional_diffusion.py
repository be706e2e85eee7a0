"""How fast the alloying elements move in austenite: thousands of times slower than carbon, all but phosphorus."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from billet.metal.carbon_diffusion import R
from billet.metal.limits import Array
from billet.metal.sources import Source, cites

_OPEN_MOBILITY = "assessed mobilities in an open mobility data file for multicomponent steel"
OIKAWA_1982 = Source("oikawa1982", "H. Oikawa, Technology Reports, Tohoku University (1982)", "second-hand")
LIU_2009 = Source("liu2009", "chromium in austenite, attributed to H. Liu 2009 (as Bowen and Leak 1970)", "second-hand")
ZHENG_2015 = Source("zheng2015", f"silicon after Zheng 2015, {_OPEN_MOBILITY}", "verified")
ZHENG_2017 = Source("zheng2017", f"molybdenum after Zheng 2017, {_OPEN_MOBILITY}", "verified")
NICKEL_MOBILITY = Source("nickel-mobility", f"nickel in austenite, {_OPEN_MOBILITY}", "verified")
BADIA_VIGNES_1969 = Source("badia1969", f"cobalt after Badia and Vignes 1969, {_OPEN_MOBILITY}", "verified")
SMITHELLS = Source("smithells", "Smithells Metals Reference Book, tracer diffusion in gamma iron", "from memory")
HEYWARD_1973 = Source("heyward1973", "Heyward and Goldstein, phosphorus in austenite (1973)", "from memory")
SALJE = Source("salje", "Salje and Feller-Kniepmeier, copper in gamma iron", "from memory")


@dataclass(frozen=True)
class Arrhenius:
    """One row of the table: D = D0 exp(-Q/RT); D0 [m2/s], Q [J/mol], true within a factor `uncertainty` either way."""

    D0: float
    Q: float
    uncertainty: float
    source: Source


SUBSTITUTIONAL: Mapping[str, Arrhenius] = MappingProxyType(
    {
        "Mn": Arrhenius(1.78e-5, 264.0e3, 1.3, OIKAWA_1982),
        "Si": Arrhenius(1.8e-6, 228.0e3, 2.5, ZHENG_2015),
        "Cr": Arrhenius(1.69e-5, 263.9e3, 1.8, LIU_2009),
        "Ni": Arrhenius(3.01e-5, 279.7e3, 2.4, NICKEL_MOBILITY),
        "Mo": Arrhenius(1.20e-4, 285.0e3, 1.4, ZHENG_2017),
        "V": Arrhenius(2.5e-5, 264.2e3, 3.0, SMITHELLS),
        "W": Arrhenius(1.3e-5, 267.4e3, 3.0, SMITHELLS),
        "P": Arrhenius(6.3e-6, 193.4e3, 3.0, HEYWARD_1973),
        "Cu": Arrhenius(4.3e-5, 280.0e3, 3.0, SALJE),
        "Co": Arrhenius(1.0e-4, 301.9e3, 3.0, BADIA_VIGNES_1969),
    }
)


@cites(*dict.fromkeys(row.source for row in SUBSTITUTIONAL.values()))
def substitutional_in_austenite(element: str, temperature_K: Any) -> Array:
    """Diffusivity of a dilute alloying element in austenite [m2/s] at `temperature_K` [K], any shape.

    D = D0 exp(-Q/RT) with the row of `SUBSTITUTIONAL`, which also holds source, status and uncertainty (a factor 1.3 to
    3). Raises KeyError for an element that has no row; carbon has its own page.
    """
    row = SUBSTITUTIONAL[element]
    return row.D0 * np.exp(-row.Q / (R * np.asarray(temperature_K, dtype=float)))
