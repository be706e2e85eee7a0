"""Carbon beside layers rich in nickel, silicon or chromium, where content and activity differ most."""

import numpy as np
import pytest

from billet.bar.laminate import plate, stacked
from billet.heating.layer_diffusion import even_out
from billet.metal.limits import weight_percent
from billet.metal.partition import capped_alloy_factor
from billet.metal.thin_layers import alloy_factor
from billet.steel.library import ELEMENTS, from_certificate, library

KELVIN, CARBON = 273.15, ELEMENTS.index("C")


@pytest.mark.parametrize(("celsius", "iron_holds"), [(1000, 1.5), (1150, 2.0)])
def test_nickel_holds_as_little_carbon_as_graphite_gives_it(celsius: float, iron_holds: float) -> None:
    """Lander, Kern and Beach 1952 (from memory): ln S = 2.480 - 4880/T; iron at graphite 1.5 and 2.0 % (textbook)."""
    nickel_holds = np.exp(2.480 - 4880.0 / (celsius + KELVIN))
    nickel = weight_percent(Ni=99.3, Mn=0.18, Si=0.1)
    assert capped_alloy_factor(nickel) == pytest.approx(iron_holds / nickel_holds, rel=0.2)


@pytest.mark.parametrize("steel", library().values(), ids=lambda s: s.name)
def test_both_ways_to_the_alloy_factor_agree(steel) -> None:  # type: ignore[no-untyped-def]
    """One is written for speed; between stainless and pure nickel it stays between a sixth and six."""
    composition = np.array([steel.composition])
    assert alloy_factor(composition) == pytest.approx(capped_alloy_factor(composition), rel=1e-12)
    assert 1 / 6 < alloy_factor(composition)[0] < 6.0


def test_a_nickel_shim_holds_carbon_back() -> None:
    """Common practice, no source: a shim of nickel between core and iron jacket saves the core carbon."""
    shelf = library()
    core, iron, nickel = (shelf[name] for name in ("1095", "wrought iron", "nickel"))
    bare = stacked([plate(iron, 6e-3), plate(core, 4e-3), plate(iron, 6e-3)]).welded(1)
    shim = [plate(nickel, 0.3e-3)]
    kept = stacked([plate(iron, 6e-3), *shim, plate(core, 4e-3), *shim, plate(iron, 6e-3)]).welded(1)
    left = []
    for stack in (bare, kept):
        after = even_out(stack, 1423.15, 1800.0)[0]
        mine = np.array([after.steels[k].name == "1095" for k in after.steel])
        left.append(float(np.average(after.composition[mine, CARBON], weights=after.thickness[mine])))
        assert float(after.thickness @ after.composition[:, CARBON]) == pytest.approx(
            float(stack.thickness @ stack.composition[:, CARBON]), rel=1e-10
        )
    assert left[0] < left[1] < core.carbon


@pytest.mark.parametrize("alloy", [{"Si": 1.8}, {"Cr": 1.5}, {}])
def test_a_face_with_nothing_to_burn_it_keeps_its_carbon(alloy: dict[str, float]) -> None:
    """A fire that draws the face nowhere changes no carbon in one steel, whatever its alloy; only scale takes metal."""
    steel = from_certificate("own", {"like": "1095", **alloy})
    after, _ = even_out(plate(steel, 10e-3), 1423.15, 600.0, recession=0.2e-3, decarb=0.0)
    assert after.composition[:, CARBON] == pytest.approx(steel.carbon, rel=1e-6)
    assert after.total == pytest.approx(9.6e-3)
