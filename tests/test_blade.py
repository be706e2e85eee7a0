"""The finished knife: its table, its faces, its placement in the bar, and the bar it needs."""

from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from billet.base.errors import InputError
from billet.blade import SHAPES, Allow, Blade, BladeDesign, Spine, fits, need, read_blade, read_points
from billet.blade.design import Shape
from billet.blade.outline import Outline
from billet.blade.thickness import Taper

CHEF: dict[str, Any] = {"length": "240 mm", "heel_height": "52 mm"}
MM = 1e-3


def design(**changes: Any) -> BladeDesign:
    """A recipe's blade table, read as through the door."""
    return BladeDesign.model_validate({**CHEF, **changes}, context={"door": True})


def test_every_shape_of_the_table_has_an_outline() -> None:
    assert set(get_args(Shape)) == set(SHAPES)


@pytest.mark.parametrize("shape", SHAPES)
def test_an_outline_spans_length_and_heel_height(shape: str) -> None:
    """The frame's definition: heel at (0, 0) and (0, heel height), point at x = length, edge under the spine."""
    blade = Blade(design(shape=shape))
    x = np.linspace(0, 0.24, 500)
    assert (blade.edge_y(0), blade.spine_y(0)) == (0, pytest.approx(0.052))
    assert np.all(blade.height(x)[:-1] > 0)
    assert blade.outline(50).shape == (2, 101)
    assert np.array_equal(blade.outline(50)[:, 0], blade.outline(50)[:, -1])


@pytest.mark.parametrize(("length", "height", "grams"), [(210, 48, 65), (240, 52, 80), (270, 54, 94), (150, 40, 39)])
def test_finished_mass_of_chefs_knives(length: float, height: float, grams: float) -> None:
    """Worked by hand for a simple profile, 2.6 mm at the heel to 1.0 at the tip, 0.3 mm edge; good to 15 %."""
    spine = {"heel": "2.6 mm", "middle": "1.8 mm", "tip": "1.0 mm"}
    made = design(
        length=f"{length} mm", heel_height=f"{height} mm", spine=spine, edge={"finished": "0.3 mm"}, bevel="full flat"
    )
    assert Blade(made).mass(7850) * 1e3 == pytest.approx(grams, rel=0.15)


falling = st.tuples(*[st.floats(0.5e-3, 6e-3)] * 4).map(lambda four: sorted(four, reverse=True))


@given(falling, st.floats(0.002, 0.08))
def test_the_taper_never_rises_and_never_overshoots(four: list[float], tip_at: float) -> None:
    """Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238 (from memory): never outside the knots."""
    taper = Taper(*four, tip_at, 0.24)
    found = taper(np.linspace(-0.01, 0.25, 400))
    assert np.all(np.diff(found) <= 1e-15)
    assert found.max() <= four[0] + 1e-15
    assert found.min() >= four[3] - 1e-15
    assert taper(taper.stations) == pytest.approx(four, rel=1e-12)


def test_the_spine_passes_through_the_stated_stations() -> None:
    """The table says where: heel, middle, and tip_at before the point."""
    blade = Blade(design(spine={"heel": "2.6 mm", "middle": "2.1 mm", "tip": "0.9 mm"}, tip_at="12 mm"))
    assert blade.spine_thickness([0, 0.12, 0.228]) == pytest.approx([2.6 * MM, 2.1 * MM, 0.9 * MM])


@pytest.mark.parametrize(("shape", "at_point"), [("chef", 0.25), ("nakiri", 0.77)])
def test_a_sharp_point_thins_to_the_edge_and_a_square_end_runs_on(shape: str, at_point: float) -> None:
    """By hand: the chef closes, so the edge's 0.25 mm; a nakiri ends 0.75 of the heel high where the tip
    station is 0.94, 0.25 + 0.65 x 0.75 / 0.94 = 0.77 mm, less than the taper run on, 0.9 - 1.2 x 10 / 110 = 0.79 mm."""
    blade = Blade(design(shape=shape, spine={"heel": "2.6 mm", "middle": "2.1 mm", "tip": "0.9 mm"}))
    assert blade.spine_thickness(0.24) / MM == pytest.approx(at_point, abs=0.01)


@pytest.mark.parametrize("shape", ["chef", "santoku", "petty", "slicer", "boning"])
@pytest.mark.parametrize("tip_at", ["6 mm", "10 mm", "20 mm"])
def test_the_spine_rounds_over_to_the_point_without_a_kink(shape: str, tip_at: str) -> None:
    """A kink is a step in the slope, told by second differences: on a smooth curve those on both sides of a place are
    alike, and over a taper that only ever steepens they never change sign (plane geometry)."""
    blade = Blade(design(shape=shape, tip_at=tip_at))
    step, at = 0.05e-3, blade.length - blade.design.tip_at
    x = np.arange(0.51 * blade.length, blade.length, step)
    bend = np.diff(blade.spine_thickness(x), 2) / step**2
    assert bend.max() <= 1e-6
    before, after = (bend[np.searchsorted(x[1:-1], at + aside)] for aside in (-0.3e-3, 0.3e-3))
    assert after == pytest.approx(before, rel=0.15)  # 0.6 mm apart


@pytest.mark.parametrize(("flat", "ground", "sign"), [("left", "right", 1), ("right", "left", -1)])
def test_a_chisel_grind_leaves_the_named_face_flat(flat: Any, ground: Any, sign: int) -> None:
    """One plane at half the heel's 2.6 mm; the other face holds taper and bevel. A mirror would swap left and right."""
    blade = Blade(design(bevel={"kind": "chisel", "flat": flat}))
    x, y = np.array([0.0, 0.1, 0.2]), np.array([0.002, 0.02, 0.03])
    assert blade.half(x, y, flat) == pytest.approx(1.3 * MM)
    assert np.all(blade.half(x, y, ground) < 1.3 * MM)
    assert sign * blade.face_points(x, y, flat)[2] == pytest.approx(-1.3 * MM)
    assert blade.thickness(0.0, 0.0) == pytest.approx(0.25 * MM)


def test_faces_may_differ() -> None:
    """Left straight, right bulging 0.2 mm half way up at the heel: stated numbers."""
    blade = Blade(design(bevel={"kind": "full flat", "right": {"kind": "convex", "amount": "0.2 mm"}}))
    assert blade.half(0, 0.026, "right") - blade.half(0, 0.026, "left") == pytest.approx(0.2 * MM)


def test_a_face_with_an_override_keeps_the_shared_numbers() -> None:
    bevel = design(bevel={"kind": "sabre", "height": "20 mm", "left": {"height": "25 mm"}}).bevel
    assert (bevel.left.height, bevel.right.height) == (pytest.approx(0.025), pytest.approx(0.020))


@pytest.mark.parametrize("bevel", ["full flat", "convex", {"kind": "hollow", "wheel": "1829 mm", "height": "20 mm"}])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_finish_grind_only_takes_away(shape: str, bevel: Any) -> None:
    """Nowhere is the finished blade thicker than the hardened one; the heel loses the stated 0.4 mm."""
    done = Blade(design(shape=shape, bevel=bevel))
    hard = done.in_state("hardening")
    x, w = np.meshgrid(np.linspace(0, 0.2399, 97), np.linspace(0, 1, 41))
    y = done.edge_y(x) + w * done.height(x) * (1 - 1e-12)
    assert np.nanmin(hard.thickness(x, y) - done.thickness(x, y)) > -1e-9
    assert hard.spine_thickness(0) - done.spine_thickness(0) == pytest.approx(0.4 * MM)


def test_the_tip_keeps_at_least_1_3_mm_for_hardening() -> None:
    """The stated default: 0.4 mm more, the tip never under 1.3 mm; 0.7 + 0.4 = 1.1 is lifted."""
    hard = Spine.model_validate({"heel": 2.4 * MM, "middle": 0.8 * MM, "tip": 0.7 * MM}).at("hardening")
    assert (hard.heel, hard.middle, hard.tip) == pytest.approx((2.8 * MM, 1.3 * MM, 1.3 * MM))


def test_outside_the_outline_there_is_no_metal() -> None:
    blade = Blade(design())
    outside = blade.thickness([-0.001, 0.241, 0.1, 0.1, 0.235], [0.02, 0.03, -0.001, 0.0525, 0.001])
    assert np.isnan(outside).all()
    assert np.isfinite(blade.thickness(0.1, 0.02))


def test_the_knife_is_centred_with_its_tang() -> None:
    """240 mm of blade before and a 100 mm tang behind the heel: the heel lies 70 mm handle-ward of the bar's middle."""
    at = Blade(design(tang={"kind": "stick", "length": "100 mm"}, offset="-0.2 mm")).placement()
    assert (at.heel_x, at.edge_y, at.offset) == pytest.approx((-0.07, -0.026, -0.0002))


def test_the_knife_lies_where_the_design_says() -> None:
    """Heel 120 mm from the end of a 400 mm bar, edge line 3 mm from the side of a 60 mm bar."""
    blade = Blade(design(heel_at="120 mm", edge_at="3 mm", offset="0.2 mm"))
    right = blade.face_points([0.0], [0.01], "right", blade.placement(0.4, 0.06))
    left = blade.face_points([0.0], [0.01], "left", blade.placement(0.4, 0.06))
    assert right[:2, 0] == pytest.approx([-0.08, -0.017])
    assert (right + left)[2, 0] / 2 == pytest.approx(0.2 * MM)
    assert right[2, 0] > left[2, 0]


def test_a_place_in_the_bar_needs_the_bar() -> None:
    with pytest.raises(InputError, match="heel_at is measured from the bar, so the length"):
        Blade(design(heel_at="120 mm")).placement()


@pytest.mark.parametrize(
    ("length", "height", "stock", "grams"),
    [
        (210, 48, 3.2, 253),
        (240, 52, 3.2, 313),
        (270, 54, 3.2, 366),
        (150, 40, 3.2, 151),
        (210, 48, 4.5, 356),
        (240, 52, 4.5, 441),
        (270, 54, 4.5, 515),
        (150, 40, 4.5, 212),
    ],
)
def test_mass_of_the_blank(length: float, height: float, stock: float, grams: float) -> None:
    """Length x height x thickness x 7.85 g/cm3, worked by hand to the gram; the stock is the hardening spine."""
    thick = {"heel": stock * MM, "middle": stock * MM, "tip": stock * MM}
    made = BladeDesign(
        length=length * MM,
        heel_height=height * MM,
        spine=Spine.model_validate({"finished": {**thick, "tip": 1 * MM}, "hardening": thick}),
        tang={"kind": "none"},  # type: ignore[arg-type]
    )
    asked = need(Blade(made), Allow(face=0.0))
    assert asked.mass * 1e3 == pytest.approx(grams, abs=1.0)
    assert (asked.length, asked.width, asked.thickness) == pytest.approx((length * MM, height * MM, stock * MM))


def test_tang_and_bolster_are_in_the_need() -> None:
    """By hand: a 100 x 14 x 3.2 mm tang 35 g, a 25 x 20 x 15 mm bolster block 59 g, both faces without allowance."""
    block = {"length": "25 mm", "width": "20 mm", "thickness": "15 mm"}
    tang = {"kind": "stick", "length": "100 mm", "width": "14 mm", "thickness": "3.2 mm"}
    none = Allow(face=0.0)
    bare, with_tang, whole = (
        need(Blade(design(**parts)), none)
        for parts in ({"tang": {"kind": "none"}}, {"tang": tang}, {"tang": tang, "bolster": block})
    )
    assert (with_tang.mass - bare.mass) * 1e3 == pytest.approx(35, abs=0.5)
    assert (whole.mass - with_tang.mass) * 1e3 == pytest.approx(59, abs=0.5)
    assert whole.length == pytest.approx(0.365)
    assert whole.thickness == pytest.approx(0.015)


def test_the_allowance_lies_on_both_faces() -> None:
    """2.6 mm finished, 0.4 mm for hardening, twice 0.3 mm of face: 3.6 mm."""
    assert need(Blade(design(allow={"face": "0.3 mm"}))).thickness == pytest.approx(3.6 * MM)


def test_three_answers_apart() -> None:
    """A 350 x 50 x 3.6 mm bar for 340 x 52 x 3.4 mm, 0.2 mm off centre: +10, -2 and 3.6 - 0.4 - 3.4 = -0.2 mm."""
    answer = fits(need(Blade(design())), 0.35, 0.05, 3.6 * MM, offset=-0.2 * MM)
    surplus = (answer.length.surplus, answer.heel_height.surplus, answer.thickness.surplus)
    assert surplus == pytest.approx((10 * MM, -2 * MM, -0.2 * MM))
    assert (answer.length.enough, answer.heel_height.enough, answer.thickness.enough) == (True, False, False)
    assert not answer.enough


def test_a_placed_blade_is_short_on_its_tighter_side() -> None:
    """Heel at 120 of 400 mm: 20 mm spare behind the tang, 40 mm before; edge at 10 of 60 mm: 2 mm short above."""
    answer = fits(need(Blade(design())), 0.4, 0.06, 4 * MM, heel_at=0.12, edge_at=0.010)
    assert (answer.length.surplus, answer.heel_height.surplus) == pytest.approx((20 * MM, -2 * MM))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"spine": {"heel": "2 mm", "middle": "1.5 mm", "tip": "1.8 mm"}}, r"thicker at the tip \(1.8 mm\)"),
        ({"spine": {"heel": "2 mm", "middle": "2.5 mm", "tip": "1 mm"}}, "thicker at the middle"),
        ({"edge": {"hardening": "0.3 mm", "finished": "0.5 mm"}}, "grinding only takes away"),
        ({"edge": {"hardening": "2 mm", "finished": "1 mm"}}, "not thinner than the spine near the tip"),
        ({"heel_height": "300 mm"}, "may be swapped"),
        ({"tip_at": "130 mm"}, "between the middle of the blade and the point"),
        ({"bevel": "ful flat"}, 'did you mean "full flat"'),
        ({"bevel": "sabre"}, 'needs height, for example height = "25 mm"'),
        ({"bevel": {"kind": "full flat", "wheel": "1 m"}}, "does not take wheel"),
        ({"bevel": {"kind": "hollow", "weel": "1 m"}}, 'did you mean "wheel"'),
        ({"bevel": {"kind": "sabre", "height": "60 mm"}}, "60 mm high on a blade 52 mm high"),
        ({"bevel": {"kind": "full flat", "flat": "left"}}, "belongs to kind"),
        ({"bevel": {"kind": "chisel", "flat": "both"}}, 'wanted "left" or "right"'),
        ({"bevel": {"kind": "compound", "wheel": "2 m", "lower": "40 mm"}}, "lower zone"),
        ({"bevel": {"kind": "unground"}}, "both faces are unground"),
        ({"tang": {"kind": "none", "length": "100 mm"}}, "has no length"),
        ({"shape": "chief"}, "Input should be"),
        ({"length": 240}, "without a unit"),
        ({"lenght": "240 mm"}, "Extra inputs"),
        (
            {
                "spine": {
                    "finished": {"heel": "3 mm", "middle": "2 mm", "tip": "1 mm"},
                    "hardening": {"heel": "2.5 mm", "middle": "2 mm", "tip": "1 mm"},
                }
            },
            "thinner at hardening",
        ),
    ],
)
def test_an_impossible_knife_is_told_in_a_sentence(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        design(**changes)


@pytest.mark.parametrize(
    ("bevel", "says"),
    [
        ({"kind": "hollow", "wheel": "254 mm"}, "ground thinner than the edge .* larger wheel"),
        ({"kind": "hollow", "wheel": "20 mm"}, "ground thinner than the edge"),
        ({"kind": "convex", "amount": "0.6 mm"}, "bulge past the spine"),
    ],
)
def test_a_bevel_the_blade_cannot_hold(bevel: Any, says: str) -> None:
    with pytest.raises(InputError, match=says):
        Blade(design(bevel=bevel))


def test_a_blade_is_a_value() -> None:
    """Equal by content, and its design's repr is enough to build it again."""
    assert Blade(design()) == Blade(design())
    assert Blade(design()) != Blade(design(length="241 mm"))
    assert BladeDesign.model_validate(design(bevel="convex").model_dump()) == design(bevel="convex")


OUTLINE = "x mm,y mm\n0,0\n120,0\n200,10\n240,30\n180,50\n0,52\n"


def written(folder: Path, text: str) -> Path:
    path = folder / "smokehouse.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("walk", ["as drawn", "turned round", "closed"])
def test_an_outline_of_ones_own(tmp_path: Path, walk: str) -> None:
    """The points themselves, whichever way round they were walked."""
    head, *rows = OUTLINE.strip().split("\n")
    rows = {"as drawn": rows, "turned round": rows[::-1], "closed": [*rows, rows[0]]}[walk]
    outline = read_points(written(tmp_path, "\n".join([head, *rows])))
    assert outline.edge_y([0, 0.12, 0.2, 0.24]) == pytest.approx([0, 0, 0.01, 0.03])
    assert outline.spine_y([0, 0.18, 0.24]) == pytest.approx([0.052, 0.05, 0.03])


def test_the_heel_stands_on_the_line_and_a_belly_may_hang_under_it(tmp_path: Path) -> None:
    """Heights count from the lowest point of the first third of the edge, here the heel, two up in the drawing."""
    drawn = "x mm,y mm\n0,2\n70,3\n160,-2\n240,30\n180,50\n0,54\n"
    outline = read_points(written(tmp_path, drawn))
    assert outline.edge_y([0, 0.07, 0.16, 0.24]) == pytest.approx([0, 0.001, -0.004, 0.028])
    assert outline.spine_y(0) == pytest.approx(0.052)


@pytest.mark.parametrize(
    ("plain", "spelt"),
    [
        ({"kind": "compound", "wheel": "1800 mm"}, {"lower": "17 mm", "height": "38.25 mm"}),
        ({"kind": "hollow", "wheel": "1800 mm"}, {"height": "25.5 mm"}),
    ],
)
def test_zones_of_a_bevel_left_out_are_the_shares_the_manual_tells(
    plain: dict[str, str], spelt: dict[str, str]
) -> None:
    """Heel 51 mm high: a third and three quarters of it for a compound grind, half of it for a hollow."""
    x, y = np.meshgrid(np.linspace(0, 0.2, 21), np.linspace(0.5e-3, 50e-3, 60))
    faces = [Blade(design(bevel=b, heel_height="51 mm")).half(x, y, "left") for b in (plain, {**plain, **spelt})]
    np.testing.assert_allclose(faces[0], faces[1], rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("bevel", "says"),
    [
        ({"kind": "chisel", "left": {"kind": "convex"}}, "no left or right"),
        ({"kind": "chisel", "flat": "top"}, 'wanted "left" or "right"'),
    ],
)
def test_a_chisel_bevel_is_one_sided(bevel: Any, says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        design(bevel=bevel)


def test_own_points_in_inches_moved_to_the_heel(tmp_path: Path) -> None:
    """1 in = 25.4 mm; the walk starts 1 in along and 2 in up, the outline at the heel."""
    outline = read_points(written(tmp_path, "y in,note,x in\n2,a,1\n2,,9\n3,,10\n4,b,1\n"))
    assert outline.length == pytest.approx(9 * 0.0254)
    assert outline.spine_y(0) == pytest.approx(2 * 0.0254)


def test_a_blade_of_own_points(tmp_path: Path) -> None:
    written(tmp_path, OUTLINE)
    blade = read_blade(design(points="smokehouse.csv"), tmp_path)
    assert blade.edge_y(0.2) == pytest.approx(0.01)
    assert np.isfinite(blade.thickness(0.2, 0.012))
    assert blade.in_state("hardening").edge_y(0.2) == pytest.approx(0.01)


def test_own_points_must_agree_with_the_table(tmp_path: Path) -> None:
    written(tmp_path, OUTLINE)
    with pytest.raises(InputError, match=r"length of 240.0 mm, the recipe says 210.0 mm"):
        read_blade(design(points="smokehouse.csv", length="210 mm"), tmp_path)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("x,y\n0,0\n", 'header "x,y"; it should be "x mm,y mm"'),
        ("x mm,y bananas\n0,0\n", "does not end in a unit of length"),
        ("x mm,y mm\n0,0\n10,ten\n", 'line 3: "10,ten"'),
        ("x mm,y mm\n0,0\n10\n", "line 3"),
        ("x mm,y mm\n0,0\n10,nan\n", 'line 3: found "10,nan", wanted two plain numbers'),
        ("x mm,y mm\n0,0\n10,0\n10,0\n0,5\n", "3 different points"),
        ("x mm,y mm\n0,0\n10,0\n0,5\n0,0\n", "3 different points"),
        ("x mm,y mm\n0,0\n100,0\n80,10\n150,20\n0,50\n", "edge of the outline .* runs back"),
        ("x mm,y mm\n0,0\n100,30\n100,0\n0,30\n50,40\n", "outline"),
    ],
)
def test_a_faulty_points_file_is_told_in_a_sentence(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read_points(written(tmp_path, text))


def test_a_missing_points_file_is_told_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r'"nowhere\.csv" is not there'):
        read_blade(design(points="nowhere.csv"), tmp_path)


def test_the_point_belongs_to_the_blade_though_edge_and_spine_cross_there_by_rounding() -> None:
    """24 mm reached from below and from above, as two sums give it: 1e-17 m apart and the wrong way round."""
    edge, spine = (
        ((0.0, 0.0), (0.1, 0.005), (0.21, 0.024000000000000007)),
        ((0.0, 0.048), (0.1, 0.046), (0.21, 0.023999999999999997)),
    )
    outline = Outline(edge, spine, "through")
    assert bool(outline.inside(0.21, 0.024))
    assert not bool(outline.inside(0.21, 0.0240001))
    blade = Blade(design(length="210 mm", heel_height="48 mm"), shape=outline)
    assert np.isfinite(blade.half(0.21, outline.edge_y(0.21), "right"))
