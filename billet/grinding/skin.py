"""The carbon-poor skin the ledger foresees, as a band from a rich fire or coated bar to one that scales freely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from billet.base.errors import InputError
from billet.grinding.least import SkinBand
from billet.ledger.run import run
from billet.metal.decarburisation import depth_in_profile
from billet.recipe.recipe import Recipe
from billet.steel.library import ELEMENTS

FUNCTIONAL = 0.70  # wt% carbon a working edge wants; common practice, no source
_LEANER = 0.90  # of the mean, where the steel itself holds less
_CLADDING = 0.25  # a "skin" deeper than this share of the bar is cladding, not burnt carbon
_CARBON = ELEMENTS.index("C")


def skin_band(recipe: Recipe) -> SkinBand | None:
    """Return the functional skin of the unground bar: the depth under 0.70 % carbon, or 90 % of a leaner body.

    None where the layers no longer lie flat, where there is no bar, or where it is cladding. Runs the ledger twice.
    """
    found = [_skin(recipe, atmosphere) for atmosphere in ("rich", "oxidising")]
    if any(one is None for one in found):
        return None
    depths = [one[0] for one in found if one]
    return SkinBand(min(depths), max(depths), "the ledger's", min(one[1] for one in found if one))


def _skin(recipe: Recipe, atmosphere: str) -> tuple[float, float] | None:
    """Return skin and thickness of the last bar [m] in one atmosphere."""
    shop = recipe.tables.shop.model_copy(update={"atmosphere": atmosphere})
    try:
        laminate = run(replace(recipe, tables=recipe.tables.model_copy(update={"shop": shop}))).last.laminate
    except InputError:
        return None
    if laminate is None:
        return None
    level = min(FUNCTIONAL, _LEANER * float(laminate.mean()[_CARBON]))
    carbon, thick = laminate.composition[:, _CARBON], laminate.thickness
    skin = max(depth_in_profile(h, c, level) for h, c in ((thick, carbon), (thick[::-1], carbon[::-1])))
    return None if skin > _CLADDING * laminate.total else (float(np.round(skin, 9)), laminate.total)
