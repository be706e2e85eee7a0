"""Forging beside a bolster: the laws over random bolsters, sums by hand, and the whole integral knife."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billet.bar.bar import Bar
from billet.bar.carbon_remaining import depths
from billet.bar.profile import Profile, Reprofiled
from billet.bar.resize import pare
from billet.bar.trace import steel_at
from billet.base.messages import RefusedError
from billet.base.shop import Shop
from billet.blade.handle import Whole
from billet.blade.lying import held, lying
from billet.hardening import advise
from billet.hardening.bolster import bolster_advice
from billet.hardening.treatment import layers_of, question_of
from billet.ledger.recipe_warnings import holding, of_recipe
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import build, load, plain
from billet.steps.draw_out import DrawOut
from render.lines import figures
from render.request import Request
from render.subject import subject_of
from tests.examples import bench, marked

DEMO = Path("demo_billets/integral.toml")
COLD = replace(bench(), shop=Shop(scale_per_heat=0.0))


def drawn_out(bar: Bar, **changes: object) -> Bar:
    step = {"keep": 0.04, "thickness": 4e-3, "width": 0.045, "transition": 0.012, "temperature": 1300.0, "soak": 60.0}
    return DrawOut.model_validate({**step, **changes}).apply(bar, COLD).bar


sizes = st.tuples(
    st.floats(0.02, 0.06),
    st.floats(2e-3, 8e-3),
    st.floats(0.02, 0.06),
    st.floats(4e-3, 0.03),
    st.sampled_from(["middle", "spine", "edge"]),
    st.sampled_from(["point", "handle"]),
)


@settings(max_examples=60, deadline=None)
@given(sizes)
def test_volume_is_kept_at_every_point_of_any_bolster(
    size: tuple[float, float, float, float, str, str],
) -> None:
    """Forging moves metal: the determinant of the way back is one wherever it is asked, and the whole keeps its volume."""
    keep, thickness, width, transition, level, end = size
    block = marked(0.2, 0.04, 0.018)
    bar = drawn_out(block, keep=keep, thickness=thickness, width=width, transition=transition, level=level, end=end)
    assert bar.volume == pytest.approx(block.volume, rel=1e-12)
    assert bar.mass == pytest.approx(block.mass, rel=1e-12)
    assert bar.profile is not None
    points = np.random.default_rng(3).uniform(-0.5, 0.5, (3, 4000)) * np.array(
        [[bar.length], [bar.width], [bar.thickness]]
    )
    points = points[:, bar.contains(points)]
    by = bar.material.map  # type: ignore[union-attr]
    determinant = np.linalg.det(by.slope(points).transpose(2, 0, 1))
    assert determinant == pytest.approx(1.0, abs=2e-6)  # differences over 0.2 micrometres on the steepest shoulders
    back = by.backward(points).points
    inside = [
        np.abs(back[k]) <= 0.5 * s * (1 + 1e-9) for k, s in enumerate((block.length, block.width, block.thickness))
    ]
    assert np.all(inside)


def test_a_drawn_out_end_by_hand() -> None:
    """A block 200 x 40 x 18 mm keeps 60; the other 140 x 40 x 18 = 100,800 mm3. A transition of 20 mm to 45 x 4 holds
    20 (40*18 + (40*(-14) + 18*5)/2 + 13/35 * 5 * (-14)) = 9180 mm3 (mean of the smoothstep 1/2, of its square 13/35),
    so 91,620 / 180 = 509 mm of blade follow."""
    bar = drawn_out(marked(0.2, 0.04, 0.018), keep=0.06, thickness=4e-3, width=0.045, transition=0.02)
    assert bar.profile is not None
    assert np.diff(bar.profile.x) * 1e3 == pytest.approx([60.0, 20.0, 509.0], abs=1e-6)
    assert (bar.width, bar.thickness) == pytest.approx((0.045, 0.018))


@pytest.mark.parametrize(("level", "low", "high"), [("middle", -10, 10), ("spine", -20, 0), ("edge", 0, 20)])
def test_level_says_which_side_stays_in_line(level: str, low: float, high: float) -> None:
    """A block 20 mm wide drawn to 40: the block's two sides against the middle of the box, in mm from it."""
    bar = drawn_out(marked(0.2, 0.02, 0.018), width=0.04, thickness=4e-3, level=level)
    assert bar.profile is not None
    side = [bar.profile.middle[0] + s * 0.5 * bar.profile.width[0] for s in (-1, 1)]
    moved = {"middle": 0.0, "spine": 0.02, "edge": -0.02}[level]
    assert np.array(side) * 1e3 == pytest.approx(np.array([low, high]) + moved * 1e3 * (level != "middle"))


def test_layers_follow_the_surface() -> None:
    """Along the middle of any section, whatever its thickness, the same plates are met at the same shares of it."""
    bar = drawn_out(marked(0.2, 0.04, 0.018))
    assert bar.profile is not None
    share = np.linspace(-0.499, 0.499, 60)
    met = []
    for x in (bar.profile.x[0] + 0.01, 0.5 * (bar.profile.x[1] + bar.profile.x[2]), bar.profile.x[-1] - 0.01):
        _, thickness, middle = bar.profile.at(np.array([x]))
        met.append(list(steel_at(bar, np.stack([np.full(60, x), np.full(60, middle[0]), share * thickness[0]]))))
    assert met[0] == met[1] == met[2]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"keep": 0.3}, "nothing is left to draw out"),
        ({"thickness": 0.03}, "cannot be drawn out"),
        ({"keep": 0.195, "transition": 0.05}, "transition alone needs"),
    ],
)
def test_what_cannot_be_forged_is_told(changes: dict[str, float], says: str) -> None:
    with pytest.raises(RefusedError) as refused:
        drawn_out(marked(0.2, 0.04, 0.018), **changes)
    assert says in refused.value.why.say("metric")


def test_an_end_is_drawn_out_once() -> None:
    with pytest.raises(RefusedError) as refused:
        drawn_out(drawn_out(marked(0.2, 0.04, 0.018)))
    assert "drawn out already" in refused.value.why.say("metric")


def test_the_way_there_and_back() -> None:
    old = Profile((-0.1, 0.1), (0.04, 0.04), (0.018, 0.018), (0.0, 0.0))
    bar = drawn_out(marked(0.2, 0.04, 0.018))
    assert bar.profile is not None
    by = Reprofiled(old, bar.profile)
    points = np.random.default_rng(1).uniform(-0.5, 0.5, (3, 500)) * np.array([[0.2], [0.04], [0.018]])
    assert by.backward(by.forward(points)).points == pytest.approx(points, abs=1e-12)


@pytest.fixture(scope="module")
def knife() -> Ledger:
    return run(load(DEMO))


def test_the_integral_is_checked_without_a_warning(knife: Ledger) -> None:
    assert holding(knife).enough
    assert [n.say("imperial") for n in of_recipe(knife)] == []
    assert [n.say("imperial") for r in knife.bars[0].rows for n in r.notes] == []


def test_its_metal_closes(knife: Ledger) -> None:
    """Mass in is mass out and what was lost, every row."""
    rows = knife.bars[0].rows
    for before, after in pairwise(rows):
        assert after.bar.mass + after.lost.total == pytest.approx(before.bar.mass + after.added, rel=1e-9)


def test_the_finished_knife_is_inside_the_forging(knife: Ledger) -> None:
    """Every point of both faces, from the end of the tang to the point, lies in metal."""
    blade = blade_of(knife.recipe)
    whole, at, bar = Whole(blade), lying(blade, knife.last), knife.last
    x = np.linspace(-whole.behind + 1e-5, blade.length - 1e-5, 900)
    y = whole.edge_y(x) + np.linspace(0.002, 0.998, 41)[:, None] * (whole.spine_y(x) - whole.edge_y(x))
    along = np.broadcast_to(x, y.shape).ravel()
    for side, sign in (("left", -1), ("right", 1)):
        z = sign * whole.half(along, y.ravel(), side)  # type: ignore[arg-type]
        assert bar.contains(np.stack([along + at.heel_x, y.ravel() + at.edge_y, z + at.offset])).all()


@pytest.mark.parametrize("side", ["left", "right"])
def test_lines_on_the_face_are_those_of_plane_geometry(knife: Ledger, side: str) -> None:
    """The drawn part is the flat block made thinner: at a station the face shows a line for every layer border whose
    height, scaled to the part's thickness, lies between the face's distance at the edge and at the spine."""
    blade, bar, subject = blade_of(knife.recipe), knife.last, subject_of(knife, Request())[0]
    assert subject.placement is not None
    found = figures(bar, blade, subject.placement, side)  # type: ignore[arg-type]
    block = next(r.bar.laminate for r in reversed(knife.bars[0].rows) if r.bar.laminate is not None)
    assert block is not None
    x = np.array([0.05 * blade.length])
    _, thickness, _ = bar.profile.at(x + subject.placement.heel_x)  # type: ignore[union-attr]
    low, high = (
        float(blade.half(x, f(x) + e, side)[0])  # type: ignore[arg-type]
        for f, e in ((blade.edge_y, 1e-8), (blade.spine_y, -1e-8))
    )
    lost = (
        block.total - knife.bars[0].rows[-1].bar.thickness
    ) / 2  # scale of the later heats, the same off either face
    starts = block.edges[block.starts[1:]]
    scaled = starts * float(thickness[0]) / (block.total - 2 * lost)
    z = -scaled if side == "left" else scaled
    assert found.lines == pytest.approx(int(np.count_nonzero((z > low) & (z < high))), abs=1)


def test_check_names_the_bolster(tmp_path: Path) -> None:
    """The same knife from a bar that is drawn flat: 0.8 in of bolster and twice 0.2 mm out of 0.92 - scale is fine, out of
    0.5 in it is not."""
    table = plain(DEMO.read_text("utf-8"), DEMO)
    steps = [s for s in table["bar"][0]["step"] if s["do"] not in ("draw_out", "normalise")]
    table["bar"][0]["step"] = [*steps, {**steps[1], "thickness": "0.5 in", "width": "2.2 in"}]
    said = [n.say("imperial") for n in of_recipe(run(build(table), diffuse=False))]
    assert any("the bolster asks for" in line and "draw_out" in line for line in said)


def test_a_thin_blank_beside_the_bolster_is_told(knife: Ledger) -> None:
    blade = blade_of(knife.recipe)
    bar = knife.last
    assert bar.profile is not None
    thinner = replace(bar.profile, thickness=(*bar.profile.thickness[:-2], 2e-3, 2e-3))
    found = held(blade, replace(bar, profile=thinner))
    assert not found.thickness.enough
    assert found.thickness.part in ("blade", "bolster's transition")


def test_the_bolster_takes_longer_to_come_to_heat(knife: Ledger) -> None:
    """Time goes with volume over surface: the bolster 0.8 x 1 in has a sixth of their product over the sum of its sides,
    w t / (w + t) = 0.444 in, against the spine's own thickness; both in one furnace, so their ratio is theirs."""
    question = question_of(knife)
    advice = advise(layers_of(knife), question)
    blade = blade_of(knife.recipe)
    found = bolster_advice(blade, advice.layers, question.bath, advice.heat_K)
    assert found is not None
    spine = blade.design.spine.at("hardening").heel
    assert found.bolster_s / found.spine_s == pytest.approx(0.8 * 1.0 / 1.8 * 0.0254 / spine, rel=1e-9)


@pytest.mark.parametrize("level", ["middle", "spine", "edge"])
def test_depths_under_the_faces_are_those_of_the_section_a_point_lies_in(level: str) -> None:
    """Half a millimetre from each face of the drawn part and of the block, and from their sides, by the sizes asked for:
    between two sides lies what was forged there.
    """
    before = marked()
    bar = drawn_out(before, level=level)
    assert bar.profile is not None
    for x, wide, thick in ((0.499, 0.045, 4e-3), (-0.499, before.width, before.thickness)):
        (_, _, middle) = bar.profile.at(np.array([x * bar.length]))
        y = middle + np.array([-0.5, -0.5, 0.5]) * wide + np.array([0.5e-3, 2e-3, -0.5e-3])
        z = np.array([-0.5, 0.5, 0.5]) * thick + np.array([1e-3, -0.5e-3, -1.5e-3])
        under = depths(bar, np.stack([np.full(3, x * bar.length), y, z]))
        bottom, top, low, high = (np.round(d, 12) for d in under)
        assert bottom == pytest.approx([1e-3, thick - 0.5e-3, thick - 1.5e-3])
        assert top == pytest.approx([thick - 1e-3, 0.5e-3, 1.5e-3])
        assert low == pytest.approx([0.5e-3, 2e-3, wide - 0.5e-3])
        assert high == pytest.approx([wide - 0.5e-3, wide - 2e-3, 0.5e-3])


def test_before_and_beyond_a_bar_its_ends_go_on() -> None:
    """Volume up to a place, sections of 40 x 9 and 45 x 4 mm going on past the ends; the place of a volume is its inverse."""
    bar = Profile((-0.06, 0.0, 0.02, 0.06), (0.040, 0.040, 0.045, 0.045), (9e-3, 9e-3, 4e-3, 4e-3), (0.0,) * 4)
    beyond = np.array([-0.08, -0.06, -0.05, 0.06, 0.09])
    wanted = np.array([-0.02 * 0.04 * 9e-3, 0.0, 0.01 * 0.04 * 9e-3, bar.volume, bar.volume + 0.03 * 0.045 * 4e-3])
    np.testing.assert_allclose(bar.before(beyond), wanted, rtol=1e-12, atol=1e-18)
    np.testing.assert_allclose(bar.where(wanted), beyond, rtol=0, atol=1e-12)
    inside = np.linspace(-0.07, 0.07, 57)
    np.testing.assert_allclose(bar.where(bar.before(inside)), inside, rtol=0, atol=1e-12)


@pytest.mark.parametrize(
    ("off", "says"),
    [
        ({"bottom": 5e-3}, "5.00 mm would come off a thickness of 4.00 mm"),
        ({"sides": 20.5e-3}, "41.00 mm would come off a width of 40.00 mm"),
    ],
)
def test_more_than_the_thinnest_part_has_cannot_be_ground_off(off: dict[str, float], says: str) -> None:
    """Told with what would come off, both sides together, and off what: five off four, forty-one off forty."""
    with pytest.raises(RefusedError) as refused:
        pare(drawn_out(marked()), **off)
    assert says in refused.value.why.say("metric")
