"""Heats on bars whose layers are no longer flat, against the same heats on flat ones and against what must be
conserved.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from billet.bar.bar import Bar, Laminar, Worked
from billet.bar.carbon_remaining import carbon_left, composition_at, seam_carbon
from billet.bar.decarb_layer import BARE, Buried, Skin, Skins
from billet.bar.laminate import plate
from billet.bar.measure import measure, points_in
from billet.bar.outcome import Bench
from billet.base.shop import Shop
from billet.heating.decarb_diffusion import Fire, heated_seam, heated_skin
from billet.heating.heats import levelled, one_heat
from billet.heating.layer_diffusion import even_out
from billet.metal.decarburisation import depth_in_profile
from billet.metal.limits import ELEMENTS, weight_percent
from billet.metal.mesh import refine
from billet.metal.solve import Boundary, diffuse, diffusion_lengths
from billet.metal.thin_layers import carbon_on_blocks, spread
from billet.recipe.stack import plates_of, stack
from billet.steel.library import find
from billet.steps.join import join
from tests.examples import step
from tests.textbook.diffusion import contrast

WELDING, C, NI = 1423.15, ELEMENTS.index("C"), ELEMENTS.index("Ni")
FIRE = Fire(WELDING, 300.0, 0.08e-3, 0.6)
DEMOS = Path(__file__).parent.parent / "demo_billets"
UNEVEN = Skins(  # four different skins, so that none can stand for another
    *(
        Skin(np.full(4, deep), np.array([low, 0.7, 0.9, 0.97]))
        for deep, low in ((1e-4, 0.2), (2e-4, 0.3), (3e-4, 0.4), (4e-4, 0.5))
    )
)


def bench(**shop: object) -> Bench:
    """A shop that neither grinds nor crops, and loses no scale unless told."""
    return Bench(Shop.model_validate({"face_cleanup": 0.0, "end_trim": 0.0, "kerf": 0.0, **shop}))


def laid(plates: int = 24, each: str = "0.25 mm", width: float = 20e-3) -> Bar:
    """A welded bar of two steels in turn, nothing burnt out yet."""
    bar = stack("bar", plates_of([f"1095 {each}", f"15N20 {each}"], plates // 2, None, {}), 0.2, width)
    assert bar.laminate is not None
    return replace(bar, material=Laminar(bar.laminate.welded(1)), welded=True)


def turned(bar: Bar, quarters: int) -> Bar:
    return step(f'do = "roll"\nquarters = {quarters}').apply(bar, bench()).bar


def on_edge_and_back(bar: Bar) -> Bar:
    """The same metal in the same places, but no longer known as flat."""
    return turned(turned(bar, 1), -1)


def drawn(bar: Bar, thickness: float) -> Bar:
    from billet.bar.resize import reshape

    return reshape(bar, bar.length * bar.thickness / thickness, bar.width, thickness)


def along_z(bar: Bar, low: float, high: float) -> np.ndarray:
    """Points on the upright through a bar's middle between two heights (3, n) [m]."""
    z = np.linspace(low, high, 4000)
    return np.stack([np.zeros_like(z), np.zeros_like(z), z])


# the leaves


@pytest.mark.parametrize("thinner", [1.0, 0.4])
def test_a_worked_bar_evens_out_as_the_flat_one_it_equals(thinner: float) -> None:
    """Turned on edge and back it is the same bar, drawn or not: carbon and nickel inside both agree cell by cell."""
    flat, worked = (drawn(b, thinner * b.thickness) for b in (laid(), on_edge_and_back(laid())))
    assert worked.laminate is None
    shop = bench(scale_per_heat=0.0)
    for _ in range(2):
        flat, worked = one_heat(flat, shop, WELDING, 120.0)[0], one_heat(worked, shop, WELDING, 120.0)[0]
    points = along_z(flat, -0.15 * flat.thickness, 0.15 * flat.thickness)
    one, other = composition_at(flat, points), composition_at(worked, points)
    np.testing.assert_allclose(other[:, NI], one[:, NI], atol=0.02)
    np.testing.assert_allclose(other[:, C], one[:, C], atol=0.01)


def test_thinned_layers_level_by_the_square_of_their_thinning() -> None:
    """Drawn to a quarter in the worked bar, 16 times the time in the leaf as laid: Fo = D t / h^2."""
    bar = on_edge_and_back(laid())
    thin = drawn(bar, 0.25 * bar.thickness)
    after = levelled(thin, Fire(1373.15, 20.0), weight_percent(C=0.8))
    leaf = replace(thin, material=after).leaves[0]
    alone, _ = even_out(bar.leaves[0], 1373.15, 320.0)
    np.testing.assert_allclose(leaf.deviation(), alone.deviation(), rtol=1e-9)


@pytest.mark.parametrize("how", ["twist", "bulge", "ladder"])
def test_leaves_keep_their_thickness_and_their_metal(how: str) -> None:
    """Cells keep their places and every element its amount (1e-10), whatever the map above."""
    text = {
        "twist": 'do = "twist"\nturns = 3',
        "bulge": 'do = "bulge"\namount = 0.8',
        "ladder": 'do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "1 mm"',
    }[how]
    bar = step(text).apply(turned(laid(80), 1), bench()).bar
    before, after = bar.leaves[0], replace(bar, material=levelled(bar, FIRE, weight_percent(C=0.8))).leaves[0]
    assert after.total == pytest.approx(before.total, rel=1e-14)
    held = [lam.thickness @ lam.composition for lam in (before, after)]
    np.testing.assert_allclose(held[1], held[0], rtol=1e-10)
    assert after.deviation()[0] < 0.9 * before.deviation()[0]


# the skins


def test_what_burns_out_of_a_worked_bar_is_what_burns_out_of_a_flat_one() -> None:
    """One steel, so the layers cannot matter: depth under 92 % and carbon lost agree, and nothing is counted twice."""
    steel = find("1084")
    shop = bench(atmosphere="neutral")
    flat = stack("bar", [(steel, 12e-3)], 0.2, 0.05)
    worked = on_edge_and_back(flat)
    for _ in range(3):
        flat, worked = one_heat(flat, shop, WELDING, 300.0)[0], one_heat(worked, shop, WELDING, 300.0)[0]
    one, other = measure(flat), measure(worked)
    assert other.soft_skin == pytest.approx(one.soft_skin, rel=0.05)
    lam = flat.laminate
    assert lam is not None
    lost = [
        lam.thickness @ (steel.carbon - lam.composition[:, C]) / steel.carbon,
        worked.skins.bottom.missing + worked.skins.top.missing,
    ]
    assert lost[1] == pytest.approx(lost[0], rel=0.03)


def test_a_skin_burnt_out_before_the_bar_was_worked_stays_in_its_leaf() -> None:
    """Nothing burns out a second time by being turned: the bar's skins are bare and its leaf has what the flat bar had."""
    bar = one_heat(laid(), bench(), WELDING, 300.0)[0]
    worked = on_edge_and_back(bar)
    assert worked.skins.bare
    points = along_z(bar, -0.499 * bar.thickness, 0.499 * bar.thickness)
    np.testing.assert_array_equal(composition_at(worked, points), composition_at(bar, points))
    assert measure(worked).soft_skin == pytest.approx(measure(bar).soft_skin, abs=0.06e-3)


def test_a_draw_thins_the_skins_and_grinding_cuts_them() -> None:
    """Depths go with the thickness and the width, exactly; what is ground off is gone and the rest unchanged."""
    bar = replace(on_edge_and_back(laid()), skins=UNEVEN)
    new = drawn(bar, 0.3 * bar.thickness)
    np.testing.assert_allclose(new.skins.top.thickness, 0.3 * UNEVEN.top.thickness, rtol=1e-14)
    np.testing.assert_array_equal(new.skins.high.thickness, UNEVEN.high.thickness)
    ground = step('do = "surface_grind"\ntop = "0.3 mm"').apply(bar, bench()).bar
    depth = np.linspace(1e-7, 1e-3, 991)
    np.testing.assert_array_equal(ground.skins.top.at(depth), UNEVEN.top.at(depth + 0.3e-3))
    assert ground.skins.bottom is UNEVEN.bottom


@pytest.mark.parametrize("quarters", [1, 2, 3, -1])
def test_a_turn_takes_each_skin_to_where_its_face_went(quarters: int) -> None:
    """Carbon at a point after is the carbon of the point it came from, by the step's own way back."""
    bar = replace(on_edge_and_back(laid()), skins=UNEVEN)
    new = turned(bar, quarters)
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters]
    points = points_in(new)
    back = np.array([[1, 0, 0], [0, c, s], [0, -s, c]]) @ points
    np.testing.assert_array_equal(carbon_left(new, points), carbon_left(bar, back))
    assert carbon_left(new, points).min() < 0.25


# the seams


@pytest.mark.parametrize("turn", ["none", "alternate"])
@pytest.mark.parametrize("pieces", [2, 3])
def test_a_restack_buries_each_skin_once(pieces: int, turn: str) -> None:
    """The metal is the same before and after: carbon at a point is that of the point it came from, welds and faces
    alike.
    """
    bar = replace(on_edge_and_back(laid()), skins=UNEVEN)
    new = step(f'do = "restack"\npieces = {pieces}\nturn = "{turn}"').apply(bar, bench()).bar
    assert isinstance(new.material, Worked)
    points = points_in(new)
    back = new.material.map.backward(points).points
    np.testing.assert_array_equal(carbon_left(new, points), carbon_left(bar, back))
    assert len(new.material.buried) == pieces - 1


def test_a_fold_buries_the_top_against_itself() -> None:
    """The folded half lies upside down: both sides of the weld are the old top, and the old bottom is outside twice."""
    bar = replace(on_edge_and_back(laid()), skins=UNEVEN)
    new = step('do = "fold"').apply(bar, bench()).bar
    assert isinstance(new.material, Worked)
    (seam,) = new.material.buried
    near = np.linspace(0.0, 0.8e-3, 99)[:-1]
    np.testing.assert_array_equal(seam.at(-near - 1e-12), UNEVEN.top.at(near + 1e-12))
    np.testing.assert_array_equal(seam.at(near), UNEVEN.top.at(near))
    assert (new.skins.bottom, new.skins.top) == (UNEVEN.bottom, UNEVEN.bottom)


@pytest.mark.parametrize("how", ["layers", "side by side"])
def test_a_join_buries_the_faces_that_meet(how: str) -> None:
    """Layers meet top to bottom, side by side high to low; "over" brings the bottom up and "end for end" changes sides."""
    bars = [replace(on_edge_and_back(laid()), name=n, skins=UNEVEN) for n in "ab"]
    new = join("c", [(bars[0], None), (bars[1], "over" if how == "layers" else "end for end")], how, bench()).bar  # type: ignore[arg-type]
    (seam,) = new.material.buried  # type: ignore[union-attr]
    below, above = (UNEVEN.top, UNEVEN.top) if how == "layers" else (UNEVEN.high, UNEVEN.high)
    near = np.linspace(1e-9, 0.3e-3, 50)
    np.testing.assert_array_equal(seam.at(-near), below.at(near))
    np.testing.assert_array_equal(seam.at(near), above.at(near))
    outside = (new.skins.bottom, new.skins.top) if how == "layers" else (new.skins.low, new.skins.high)
    assert outside == ((UNEVEN.bottom, UNEVEN.bottom) if how == "layers" else (UNEVEN.low, UNEVEN.low))


def test_cleaning_the_faces_leaves_no_pale_weld() -> None:
    """Ground deeper than the skin before the restack, the welds hold all their carbon."""
    bar = replace(on_edge_and_back(laid()), skins=Skins(*[Skin(np.array([0.3e-3]), np.array([0.5]))] * 4))
    text = 'do = "restack"\npieces = 3'
    clean, dirty = (step(text).apply(bar, bench(face_cleanup=c)).bar for c in (0.4e-3, 0.2e-3))
    assert seam_carbon(clean.material, points_in(clean)).min() == 1.0
    assert seam_carbon(dirty.material, points_in(dirty)).min() == 0.5


def test_a_buried_skin_fades_and_keeps_its_carbon() -> None:
    """Heat after heat the weld line grows wider and weaker; what is missing stays missing, to 1e-9."""
    seam = Buried(
        Skin(np.array([1e-4, 1.9e-3]), np.array([0.3, 1.0])), Skin(np.array([5e-5, 1.95e-3]), np.array([0.5, 1.0]))
    )
    missing, darkest = [], []
    for _ in range(4):
        missing.append(seam.below.missing + seam.above.missing)
        darkest.append(min(seam.below.share.min(), seam.above.share.min()))
        seam = heated_seam(seam, Fire(WELDING, 60.0), weight_percent(C=0.8))
    np.testing.assert_allclose(missing, missing[0], rtol=1e-9)
    assert np.all(np.diff(darkest) > 0)


def test_a_weld_line_is_followed_through_later_draws() -> None:
    """One line, in the middle of the bar, at half the width once the bar is drawn to half."""
    bar = replace(on_edge_and_back(laid()), skins=Skins(*[Skin(np.array([0.2e-3]), np.array([0.4]))] * 2))
    new = step('do = "restack"\npieces = 2').apply(bar, bench()).bar
    thin = drawn(new, 0.5 * new.thickness)
    for one, wide in ((new, 0.4e-3), (thin, 0.2e-3)):
        points = along_z(one, -0.4 * one.thickness, 0.4 * one.thickness)
        pale = seam_carbon(one.material, points) < 0.5
        assert np.count_nonzero(np.diff(pale.astype(int)) == 1) == 1
        assert np.ptp(points[2][pale]) == pytest.approx(wide, rel=0.05)
        assert points[2][pale].mean() == pytest.approx(0.0, abs=1e-5)


def test_a_skin_never_turns_dark_and_goes_deeper_heat_by_heat() -> None:
    """Sealed from within, open without: the share rises with depth, and each heat without scale loses more."""
    skin, missing = BARE, [0.0]
    for _ in range(4):
        skin = heated_skin(skin, FIRE._replace(recession=0.0), weight_percent(C=0.8, Cr=0.5), 5e-3)
        assert np.all(np.diff(skin.share) > -1e-3)
        missing.append(skin.missing)
    assert np.all(np.diff(missing) > 0)


# thin layers


@pytest.mark.parametrize("fourier", [0.02, 0.1, 0.2])
@pytest.mark.parametrize("holds", [1, 4])
def test_nickel_in_thin_layers_fades_as_cranks_series_says(fourier: float, holds: int) -> None:
    """Contrast in the middle of equal layers (Crank, series for periodic lamellae): within 5 %, in one hold or in four."""
    hold = [(WELDING, 600.0 / holds)]
    length = float(diffusion_lengths(hold, elements=("Ni",))[0])
    layer = length * np.sqrt(holds / fourier)
    cells = 12
    content = np.repeat(np.resize([2.0, 0.0], 41), cells)
    for _ in range(holds):
        content = spread(np.full(len(content), layer / cells), content, length)
    at = 20 * cells + cells // 2
    seen = 0.5 * (content[at - 1] + content[at]) - 0.5 * (content[at + cells - 1] + content[at + cells])
    assert seen / 2.0 == pytest.approx(contrast(fourier), rel=0.05)


@pytest.mark.parametrize("layer", [4e-6, 15e-6, 40e-6])
def test_blocks_serve_as_well_as_resolving_every_layer(layer: float) -> None:
    """Two steels in a sealed stack for 5 min at 1150 C against every layer stepped: contrast 5 %, mean of carbon 1e-10."""
    names = [find(n) for n in ("1095", "15N20")]
    n, hold = 240, [(WELDING, 300.0)]
    composition = np.resize(np.array([s.composition for s in names], float), (n, len(ELEMENTS)))
    composition[n // 2 :, C] += 0.1
    h = np.full(n, layer)
    resolved = diffuse(h, composition, hold, tolerance=1e-4).composition[:, C]
    blocked = carbon_on_blocks(h, composition, h, hold, None, None)
    assert h @ blocked == pytest.approx(h @ composition[:, C], rel=1e-10)
    assert blocked[::2].std() + blocked[1::2].std() == pytest.approx(
        resolved[::2].std() + resolved[1::2].std(), rel=0.05, abs=2e-4
    )
    assert (blocked[::2] - blocked[1::2]).mean() == pytest.approx((resolved[::2] - resolved[1::2]).mean(), rel=0.05)


@pytest.mark.parametrize("recession", [0.0, 0.06e-3])
def test_the_skin_on_blocks_is_that_of_every_layer_resolved(recession: float) -> None:
    """Depth under 92 % and half of the carbon below the final face against cells an eighth of the diffusion length and
    less: 5 %.
    """
    n, layer, hold = 1200, 5e-6, [(WELDING, 300.0)]
    h, composition = np.full(n, layer), np.tile(weight_percent(C=0.8, Mn=0.5), (n, 1))
    face = Boundary(0.05, recession)
    mesh = refine(
        h,
        composition,
        np.zeros(n, int),
        diffusion_lengths(hold),
        open_faces=(True, True),
        recession=(recession, recession),
    )
    after = diffuse(mesh.thickness, mesh.composition, hold, left=face, right=face, tolerance=5e-4)
    blocked = carbon_on_blocks(h, composition, h, hold, face, face)
    left = np.maximum(np.cumsum(h) - recession, 0.0)
    kept = np.diff(np.concatenate([[0.0], left]))
    for share in (0.92, 0.5):
        wanted = depth_in_profile(
            after.thickness[after.thickness > 0], after.composition[after.thickness > 0, C], share * 0.8
        )
        found = depth_in_profile(kept[kept > 0], blocked[kept > 0], share * 0.8)
        assert found == pytest.approx(wanted, rel=0.05)


@given(arrays(float, st.integers(2, 40), elements=st.floats(0.0, 3.0)), st.floats(1e-7, 1e-4), st.floats(1e-8, 1e-5))
@settings(max_examples=80, deadline=None)
def test_spreading_conserves_and_makes_no_new_extremes(content: np.ndarray, cell: float, length: float) -> None:
    """A rising profile goes on rising, sums stay (1e-10), nothing leaves the range there was.

    The Gaussian ends at five widths, beyond which lie 6e-7 of it.
    """
    h, rising = np.full(len(content), cell), np.sort(content)
    for profile in (content, rising):
        after = spread(h, profile, length)
        assert h @ after == pytest.approx(h @ profile, rel=1e-10, abs=1e-18)
        assert after.min() >= profile.min() - 1e-6
        assert after.max() <= profile.max() + 1e-6
    assert np.all(np.diff(spread(h, rising, length)) >= -1e-6)


@pytest.mark.parametrize("layers", [60, 3000])
def test_a_heat_of_a_sealed_laminate_loses_nothing(layers: int) -> None:
    """Every element of a stack of any fineness, 1e-10; its thickness too."""
    bar = laid(layers, f"{6.0 / layers:.6f} mm")
    lam = bar.laminate
    assert lam is not None
    after, taken = even_out(lam, WELDING, 600.0)
    assert taken == 0.0
    np.testing.assert_allclose(after.thickness @ after.composition, lam.thickness @ lam.composition, rtol=1e-10)
    assert after.total == pytest.approx(lam.total, rel=1e-12)


def test_one_plate_is_not_changed_by_a_sealed_heat() -> None:
    lam = plate(find("1084"), 5e-3)
    after, _ = even_out(lam, WELDING, 3600.0)
    np.testing.assert_allclose(after.mean(), lam.mean(), rtol=1e-12)


# the command

KEYS = {
    "step", "carbon_wt_percent", "carbon_either_way_wt_percent", "carbon_contrast", "alloy_contrast", "soft_skin_m", "half_carbon_m",
    "functional_skin_m", "edge", "washes_out_at_step", "half_gone_at_step", "profile", "warnings",
}  # fmt: skip


@pytest.mark.parametrize("demo", ["slicer", "twist"])
def test_carbon_in_json_has_its_keys_for_flat_and_worked_bars(demo: str) -> None:
    """Skins are told for both; contrasts are shares."""
    words = [sys.executable, "-m", "billet.cli", "carbon", str(DEMOS / f"{demo}.toml"), "--json"]
    data = json.loads(subprocess.run(words, capture_output=True, text=True, check=True).stdout)
    assert set(data) >= KEYS
    assert set(data["edge"]) >= {"steel", "carbon_wt_percent", "bought_wt_percent", "layer_wt_percent"}
    assert 0.0 <= data["half_carbon_m"] <= data["soft_skin_m"]
    assert len(data["functional_skin_m"]) == 3
    assert 0.0 < data["alloy_contrast"] <= 1.05
    assert len(data["profile"]["height_m"]) == len(data["profile"]["carbon_wt_percent"])
