"""One heat by hand: spreading between plates, fine layers drawn from coarse ones, how deep skins go, welds that were thinned."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import erf

from billet.bar.bar import Worked
from billet.bar.carbon_remaining import depths
from billet.bar.decarb_layer import BARE, Buried, Skin, Skins
from billet.bar.laminate import Laminate, plate, stacked
from billet.heating.decarb_diffusion import Fire, heated_seam, heated_skin
from billet.heating.heats import burnt, heats, levelled, one_heat
from billet.heating.layer_diffusion import even_out, face_carbon
from billet.metal.decarburisation import surface_carbon
from billet.metal.limits import ELEMENTS, weight_percent
from billet.metal.solve import diffusion_lengths
from billet.steel.library import find
from tests.examples import step, wound
from tests.test_worked_heat import UNEVEN, WELDING, bench, drawn, laid, on_edge_and_back

C, NI = ELEMENTS.index("C"), ELEMENTS.index("Ni")
STEEL = weight_percent(C=0.8)
HOUR = Fire(WELDING, 3600.0, 0.0, 1.0)


def couple(below: str, above: str, each: float) -> Laminate:
    """Two plates welded to one another."""
    return stacked([plate(find(below), each), plate(find(above), each)]).welded(1)


# layers


def test_nickel_crosses_a_weld_as_an_error_function() -> None:
    """Two thick plates: c = (a + b)/2 + (b - a)/2 erf(x / 2 sqrt(Dt)) (Crank 1975, equation 2.14), within 2 % of b - a."""
    hold = (WELDING, 4 * 3600.0)
    length = float(diffusion_lengths([hold], elements=("Ni",))[0])
    after, _ = even_out(couple("1084", "15N20", 30 * length), *hold)
    low, high = (find(name).composition[NI] for name in ("1084", "15N20"))
    middle = 0.5 * (after.edges[1:] + after.edges[:-1])
    wanted = 0.5 * (low + high) + 0.5 * (high - low) * erf(middle / (2 * length))
    np.testing.assert_allclose(after.composition[:, NI], wanted, atol=0.02 * (high - low))
    assert np.count_nonzero(np.abs(middle) < length) >= 2


@pytest.mark.parametrize("thin", [0.8e-6, 1.5e-6])
def test_layers_drawn_from_coarse_ones_level_as_cranks_series_says(thin: float) -> None:
    """Heated while 0.1 mm thick, drawn under two micrometres, heated again: every element keeps its amount, the layers
    stay apart in nickel by 8/pi^2 sum of exp(-(2n+1)^2 pi^2 Fo)/(2n+1)^2, the mean over a layer of Crank's series for
    equal lamellae (the series integrated by hand), and carbon is level.
    """
    coarse = laid(60, "0.1 mm").laminate
    assert coarse is not None
    divided, _ = even_out(coarse, WELDING, 60.0)
    fine = divided.to(60 * thin)
    after, _ = even_out(fine, WELDING, 20.0)
    np.testing.assert_allclose(after.thickness @ after.composition, fine.thickness @ fine.composition, rtol=1e-10)
    assert after.distinct == coarse.distinct
    for heated in (divided, after):  # a heat makes no weld: sixty plates have 59 between them
        assert np.count_nonzero(heated.joint[1:]) == 59
    assert len(divided.thickness) > 60 and len(after.thickness) == 60  # mixed anyway, so one cell a layer
    length = float(diffusion_lengths([(WELDING, 20.0)], elements=("Ni",))[0])
    odd = 2.0 * np.arange(40) + 1.0
    stays = 8 / np.pi**2 * np.sum(np.exp(-((odd * np.pi * length / thin) ** 2)) / odd**2)
    mean = np.add.reduceat(after.thickness[:, None] * after.composition, after.starts, axis=0) / thin
    was = np.add.reduceat(fine.thickness[:, None] * fine.composition, fine.starts, axis=0) / thin
    inner = slice(15, 45)
    share = np.abs(np.diff(mean[inner, NI])).mean() / np.abs(np.diff(was[inner, NI])).mean()
    assert share == pytest.approx(stays, abs=0.03)
    by_activity = mean[inner, C]
    assert np.ptp(by_activity[::2]) + np.ptp(by_activity[1::2]) < 2e-3


def test_carbon_crosses_a_weld_of_like_steels() -> None:
    """Half an hour: the step at the weld is nearly gone, and every element keeps its amount."""
    bar = couple("1095", "1084", 2e-3)
    after, _ = even_out(bar, WELDING, 1800.0)
    np.testing.assert_allclose(after.thickness @ after.composition, bar.thickness @ bar.composition, rtol=1e-10)
    near = np.abs(after.edges[1:-1]).argmin()
    jump = abs(after.composition[near + 1, C] - after.composition[near, C])
    assert jump < 0.25 * abs(find("1095").carbon - find("1084").carbon)


def test_colder_than_carbon_moves_a_heat_only_eats_the_faces() -> None:
    """Under 727 C (the eutectoid of iron and carbon, textbook) no carbon moves; scale still takes metal, by its density."""
    bar = couple("1095", "15N20", 2e-3)
    after, taken = even_out(bar, 950.0, 3600.0, recession=0.1e-3, decarb=1.0)
    assert after.total == pytest.approx(3.8e-3)
    assert taken == pytest.approx(0.1e-3 * (find("1095").density + find("15N20").density), rel=1e-12)
    np.testing.assert_array_equal(np.unique(after.composition[:, C]), np.unique(bar.composition[:, C]))
    same, nothing = even_out(bar, 950.0, 3600.0)
    assert same is bar
    assert nothing == 0.0


@pytest.mark.parametrize("decarb", [0.0, 0.3, 1.0])
def test_a_face_tends_so_far_to_the_carbon_under_scale(decarb: float) -> None:
    """Between its own carbon and that under scale in proportion; below 850 C that of 850 C; iron takes up none."""
    under = float(surface_carbon(WELDING))
    assert face_carbon(0.8, WELDING, decarb) == pytest.approx((1 - decarb) * 0.8 + decarb * under, rel=1e-12)
    assert face_carbon(0.8, 1050.0, decarb) == face_carbon(0.8, 1123.15, decarb)
    assert face_carbon(0.001, WELDING, decarb) == 0.001


# skins


def test_a_skin_goes_no_deeper_than_half_the_bar_at_each_side() -> None:
    """Two millimetres thick and forty wide, an hour in a scaling fire: a millimetre under the faces, more at the sides."""
    bar = replace(drawn(on_edge_and_back(laid(width=40e-3)), 2e-3), skins=Skins())
    skins = burnt(bar, HOUR, STEEL)
    for face, side in ((skins.bottom, skins.low), (skins.top, skins.high)):
        assert face.depth == pytest.approx(1e-3, rel=1e-9)
        assert 1e-3 < side.depth <= 6e-3


def test_under_the_faces_of_a_round_bar_depth_is_told_to_its_outline() -> None:
    """On the two middle lines of a twisted section, from the outline inwards; at the middle half the section."""
    bar = wound()
    assert np.isfinite(bar.corner) and bar.width == pytest.approx(bar.thickness)
    off = np.array([0.0, 1e-3, -2e-3, 3e-3])
    for axis in (1, 2):
        points = np.zeros((3, 4))
        points[axis] = off
        np.testing.assert_allclose(depths(bar, points)[0], 0.5 * bar.width - np.abs(off), rtol=0, atol=1e-12)


@pytest.mark.parametrize("fire", [Fire(950.0, 600.0, 0.1e-3, 1.0), Fire(WELDING, 0.0, 0.1e-3, 1.0)])
def test_where_no_carbon_moves_a_skin_is_only_eaten(fire: Fire) -> None:
    """What was a tenth of a millimetre deeper lies at the face."""
    after = heated_skin(UNEVEN.top, fire, STEEL, 5e-3)
    depth = np.linspace(1e-7, 1e-3, 500)
    np.testing.assert_array_equal(after.at(depth), UNEVEN.top.at(depth + 0.1e-3))


def test_pure_iron_has_no_carbon_to_lose() -> None:
    """No skin, and a seam stays as it is."""
    iron = weight_percent(C=0.0)
    assert heated_skin(BARE, HOUR, iron, 5e-3).depth == 0.0
    seam = Buried(UNEVEN.top, UNEVEN.bottom)
    assert heated_seam(seam, HOUR, iron) is seam


def test_a_fire_that_eats_all_leaves_no_skin() -> None:
    """A bar half a millimetre to its middle, all of it gone to scale."""
    assert heated_skin(UNEVEN.bottom, Fire(WELDING, 3600.0, 0.5e-3, 1.0), STEEL, 0.5e-3).depth == 0.0


def test_carbon_that_left_a_face_is_what_the_skin_misses() -> None:
    """An open face held at no carbon loses 2 C sqrt(Dt/pi) (Crank 1975, equation 3.15 for a half space), the depth
    that would hold it 2 sqrt(Dt/pi). D hangs on carbon (Agren 1986), from half of its mean to one and a half: within 30 %.
    """
    length = float(diffusion_lengths([(WELDING, 600.0)])[C])
    skin = heated_skin(BARE, Fire(WELDING, 600.0, 0.0, 1.0), STEEL, 20e-3)
    drop = 1 - face_carbon(0.8, WELDING, 1.0) / 0.8
    assert skin.missing == pytest.approx(2 * drop * length / np.sqrt(np.pi), rel=0.3)
    assert skin.share[0] < 0.25


# welds


def test_a_thinned_weld_levels_by_the_square_of_its_thinning() -> None:
    """A weld drawn to a quarter, known as it was welded, is held 16 times as long: Fo = D t / h^2."""
    bar = replace(on_edge_and_back(laid()), skins=UNEVEN)
    new = step('do = "restack"\npieces = 2').apply(bar, bench()).bar
    thin = drawn(new, 0.25 * new.thickness)

    def seam(material: object) -> Buried:
        while not (isinstance(material, Worked) and material.buried):
            material = material.parent  # type: ignore[attr-defined]
        return material.buried[0]

    after = seam(levelled(thin, Fire(1373.15, 20.0), STEEL))
    alone = heated_seam(seam(thin.material), Fire(1373.15, 320.0), STEEL)
    near = np.linspace(-1e-3, 1e-3, 801)
    np.testing.assert_allclose(after.at(near), alone.at(near), rtol=1e-9)
    assert np.abs(after.at(near) - seam(thin.material).at(near)).max() > 0.05


@pytest.mark.parametrize("pieces", [2, 3])
def test_skins_in_a_weld_may_spread_to_the_middle_of_each_piece(pieces: int) -> None:
    """Half of the piece's thickness either side of every weld; nothing beyond, where the next weld's begins."""
    bar = replace(on_edge_and_back(laid()), skins=UNEVEN)
    new = step(f'do = "restack"\npieces = {pieces}').apply(bar, bench()).bar
    assert isinstance(new.material, Worked) and len(new.material.buried) == pieces - 1
    for seam in new.material.buried:
        assert (seam.below.depth, seam.above.depth) == pytest.approx((0.5 * bar.thickness,) * 2, rel=1e-9)


def test_unlike_sides_of_a_weld_stay_on_their_sides() -> None:
    """The poorer side stays the poorer, and far from the weld nothing changes."""
    seam = Buried(
        Skin(np.array([2e-4, 4e-3]), np.array([0.3, 1.0])), Skin(np.array([2e-4, 4e-3]), np.array([0.8, 1.0]))
    )
    after = heated_seam(seam, Fire(WELDING, 5.0), STEEL)
    far = np.array([3.9e-3])
    assert after.below.missing > after.above.missing
    assert after.at(-far) == pytest.approx(1.0, abs=1e-3)
    assert after.at(far) == pytest.approx(1.0, abs=1e-3)
    assert float(after.below.thickness.sum()) == pytest.approx(4.2e-3, rel=1e-12)


# the bar


def test_many_heats_are_one_heat_after_another() -> None:
    """Scale adds up and every heat starts its scale afresh."""
    bar, shop = laid(), bench()
    one, lost, scale = bar, None, 0.0
    for _ in range(3):
        one, lost = one_heat(one, shop, WELDING, 60.0)
        scale += lost.scale
    three, all_lost = heats(bar, shop, WELDING, 60.0, 3)
    assert all_lost.scale == pytest.approx(scale, rel=1e-12)
    assert three.mass == pytest.approx(one.mass, rel=1e-12)
    assert bar.mass - three.mass == pytest.approx(scale, rel=1e-9)


@pytest.mark.parametrize("worked", [False, True])
def test_all_six_faces_lose_the_same_depth(worked: bool) -> None:
    """Scale of a set depth a face: length, width and thickness less by twice as much each, flat or worked."""
    bar = on_edge_and_back(laid()) if worked else laid()
    after, _ = one_heat(bar, bench(scale_per_heat=0.1e-3), WELDING, 60.0)
    for name in ("length", "width", "thickness"):
        assert getattr(bar, name) - getattr(after, name) == pytest.approx(0.2e-3, rel=1e-6)
