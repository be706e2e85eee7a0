"""Published observations on welded billets and on decarburising bars, which a model must not contradict.

"Microstructural analysis of a welded Damascus knife blade billet" (abstract): W2 and A203E, plates of about 6 mm worked
to layers of about 150 micrometres: carbon had become homogenised, but little nickel had diffused. "A Modern Look at
Decarburization" (executive summary): scale depth had little effect on decarburisation depth.
"""

import numpy as np
import pytest

from billet.metal.decarburisation import depth_in_profile
from billet.metal.limits import ELEMENTS, weight_percent
from billet.metal.mesh import merge, refine
from billet.metal.scale import metal_loss
from billet.metal.solve import Boundary, diffuse, diffusion_lengths
from tests.truth.registry import How, Pairs, checks

W2 = weight_percent(C=0.95, Mn=0.3, Si=0.25)
A203E = weight_percent(C=0.15, Mn=0.6, Si=0.25, Ni=3.5)
CARBON, NICKEL = ELEMENTS.index("C"), ELEMENTS.index("Ni")
PERIODS = 4


def deviation(thickness: np.ndarray, content: np.ndarray) -> float:
    """Root-mean-square deviation of a content over the thickness [wt%]."""
    mean = np.average(content, weights=thickness)
    return float(np.sqrt(np.average((content - mean) ** 2, weights=thickness)))


def forged_stack() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Plates of 6 mm, the outermost of half that so that the row goes on by reflection, as in a large stack.

    10 min welding heat at 1150 C, drawn to a quarter, three heats of 5 min at 1050 C there, and again until 0.15 mm.
    """
    layer = np.arange(2 * PERIODS + 1)
    c = np.array([W2, A203E])[layer % 2]
    h = np.where((layer == 0) | (layer == 2 * PERIODS), 3e-3, 6e-3)
    for to in (1.5e-3, 0.375e-3, 0.15e-3):
        for hold, drawn in (([(1423.15, 600.0)], 1.0), ([(1323.15, 900.0)], to * 2 * PERIODS / h.sum())):
            mesh = refine(h * drawn, c, layer, diffusion_lengths(hold))
            after = diffuse(mesh.thickness, mesh.composition, hold)
            coarse = merge(after.thickness, after.composition, layer[mesh.parent])
            h, c, layer = coarse.thickness, coarse.composition, layer[mesh.parent][coarse.parent]
    return h, c, layer


def forged_contrast(element: int, plates: float) -> float:
    """Contrast left at 150 micrometres [% of the plates']."""
    h, c, layer = forged_stack()
    assert h.sum() / (2 * PERIODS) == pytest.approx(0.15e-3)
    assert len(set(layer)) == 2 * PERIODS + 1
    return 100 * deviation(h, c[:, element]) / (plates / 2)


@checks(
    "carbon contrast left between layers", "a published welded billet of W2 and A203E: levelled at 0.15 mm (in words)",
    How.HELD_OUT, unit="% of the plates'", within=1.0,
)  # fmt: skip
def test_carbon_levels() -> Pairs:
    """Become homogenised: read as a tenth of the plates' at most."""
    return [(forged_contrast(CARBON, W2[CARBON] - A203E[CARBON]), (0.0, 10.0))]


@checks(
    "etching contrast left between layers", "a published welded billet of W2 and A203E: little nickel had diffused at 0.15 mm (in words)",
    How.HELD_OUT, unit="% of the plates'", within=1.0,
)  # fmt: skip
def test_nickel_stays() -> Pairs:
    """Little: read as a tenth of the plates' at most."""
    return [(forged_contrast(NICKEL, A203E[NICKEL]), (90.0, 100.0))]


@pytest.mark.parametrize("celsius", [900, 1000, 1100, 1200])
def test_scale_has_little_effect_on_the_depth_of_decarburisation(celsius: float) -> None:
    """Taking scaling away altogether moves the depth of 92 % carbon by less than 30 % (constant D: 20 to 27 %)."""
    T, minutes = celsius + 273.15, 60
    lost = float(metal_loss(T, 60 * minutes))
    length = float(diffusion_lengths([(T, 60.0 * minutes)], carbon=0.95)[0])
    h = np.concatenate([np.full(120, (lost + 2 * length) / 120), np.full(60, length / 6)])
    start = np.full((len(h), 1), 0.95)
    depths = []
    for recession in (lost, 0.0):
        after = diffuse(h, start, [(T, 60.0 * minutes)], elements=("C",), left=Boundary(0.0, recession))
        there = after.thickness > 0
        depths.append(depth_in_profile(after.thickness[there], after.composition[there, 0], 0.92 * 0.95))
    assert 1.1 < depths[1] / depths[0] < 1.3
