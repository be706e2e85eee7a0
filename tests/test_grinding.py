"""The grinding plan: sums, straightness, what cannot be done and the proof of it, straightening, tolerance."""

from __future__ import annotations

import itertools
import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from typer.testing import CliRunner

from billet.blade import Blade, BladeDesign, Edge, Spine, SpineSet
from billet.blade.bevels import Bevel
from billet.cli import app
from billet.grinding import (
    Least,
    Plan,
    Reading,
    make_plan,
    midplane,
    on_blade,
    read_typed,
    scratch_depth,
    tolerance,
)
from billet.grinding.grinding_text import STEP, in_words, small, sum_of
from billet.grinding.least import SkinBand
from billet.grinding.straighten import before_grinding

MM, THOU = 1e-3, 2.54e-5
DEMOS = Path(__file__).parent.parent / "demo_billets"


def blade(bevel: str | dict[str, str] = "full flat", **spine: float) -> Blade:
    """A chef's knife 240 mm long and 48 mm high."""
    sizes = {"heel": 2.5e-3, "middle": 2.0e-3, "tip": 0.9e-3} | spine
    design = BladeDesign(
        length=0.240,
        heel_height=0.048,
        spine=Spine(finished=SpineSet(**sizes)),
        edge=Edge(hardening=0.7e-3, finished=0.3e-3),
        bevel=Bevel.model_validate(bevel),
    )
    return Blade(design)


KNIVES = {
    "flat": blade(),
    "convex": blade("convex"),
    "chisel": blade({"kind": "chisel", "flat": "left"}),
    "hardening": blade().in_state("hardening"),
}
PLACES = st.one_of(st.sampled_from(["spine", "edge"]), st.floats(1e-3, 8e-3))
WARPS = st.floats(-0.5e-3, 0.5e-3)


@st.composite
def measured(draw: st.DrawFn, spare: tuple[float, float] = (-0.1e-3, 1.5e-3)) -> tuple[Blade, tuple[Reading, ...]]:
    """A knife and readings with random spare metal and random warps."""
    knife = KNIVES[draw(st.sampled_from(sorted(KNIVES)))]
    spots = draw(
        st.lists(
            st.tuples(st.integers(0, 44), PLACES),
            min_size=1,
            max_size=7,
            unique_by=lambda s: (s[0], s[1] if isinstance(s[1], str) else "face"),
        )
    )
    readings = []
    for step, place in spots:
        bare = on_blade([Reading(step * 5 * MM, place, 1 * MM)], knife)[0]
        target = float(knife.thickness(bare.x, bare.y))
        thick = target + draw(st.floats(*spare))
        assume(thick > 0.05e-3)
        readings.append(Reading(step * 5 * MM, place, thick, draw(WARPS)))
    targets = [float(knife.thickness(s.x, s.y)) for s in on_blade(readings, knife)]
    assume(any(s.reading.thickness >= t for s, t in zip(on_blade(readings, knife), targets, strict=True)))
    return knife, tuple(readings)


HOLDS = st.sampled_from(["line", "heel", "free"])
LEASTS = st.floats(0.0, 0.3e-3)


def ground_faces(plan: Plan) -> tuple[np.ndarray, np.ndarray]:
    """Where left and right face lie after the prescribed removal, from the readings alone [m]."""
    left = [s.bow - s.station.reading.thickness / 2 + s.remove_left for s in plan.stations]
    right = [s.bow + s.station.reading.thickness / 2 - s.remove_right for s in plan.stations]
    return np.array(left), np.array(right)


@settings(max_examples=120, deadline=None)
@given(measured(), HOLDS, LEASTS)
def test_after_grinding_every_station_is_on_thickness_straight_and_no_face_under_its_least(case, hold, least) -> None:
    """From the meaning of the words: faces are put where the removal leaves them, and measured again."""
    knife, readings = case
    plan = make_plan(on_blade(readings, knife), knife, Least(skin=least), hold)
    left, right = ground_faces(plan)
    x, y = (np.array([getattr(s.station, key) for s in plan.stations]) for key in ("x", "y"))
    target = knife.thickness(x, y)
    np.testing.assert_allclose(right - left, target - [s.thinner for s in plan.stations], atol=1e-9)
    assert all(s.thinner >= -1e-9 for s in plan.stations)
    assert plan.shortfall > 0 or plan.cost == 0
    for place in ("spine", "edge"):
        line = [(s.station.x, s.thinner) for s in plan.stations if s.station.place == place]
        slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in itertools.pairwise(line)]
        assert max(slopes, default=0.0) - min(slopes, default=0.0) < 1e-6  # what is given up keeps the taper straight
    middle = (left + right) / 2 - (knife.half(x, y, "right") - knife.half(x, y, "left")) / 2
    flat = np.stack([np.ones_like(x), x, y], axis=1)
    off = middle - flat @ np.linalg.lstsq(flat, middle, rcond=None)[0]
    assert np.abs(off).max() < 10e-6
    removals = [r for s in plan.stations for r in (s.remove_left, s.remove_right)]
    assert min(removals) >= least - 1e-8


@settings(max_examples=60, deadline=None)
@given(measured(), LEASTS)
def test_held_at_the_heel_the_metal_is_enough_just_when_the_tilts_that_suit_each_station_have_one_in_common(
    case, least
) -> None:
    """Hand derivation: with b x the plane, a station allows m - q <= b x <= m + q; intervals meet or they do not."""
    knife, readings = case
    stations = on_blade(readings, knife)
    plan = make_plan(stations, knife, Least(skin=least), "heel")
    low, high, margins = -np.inf, np.inf, [1.0]
    for s in stations:
        q = (s.reading.thickness - float(knife.thickness(s.x, s.y))) / 2 - least
        m = s.reading.bow - float(knife.half(s.x, s.y, "right") - knife.half(s.x, s.y, "left")) / 2
        margins.append(q - abs(m) if s.x == 0 else q)
        if s.x > 0:
            low, high = max(low, (m - q) / s.x), min(high, (m + q) / s.x)
    room = min(*margins, (high - low) * knife.length)
    assume(abs(room) > 1e-8)
    assert (plan.shortfall == 0) == (room > 0)


@settings(max_examples=40, deadline=None)
@given(
    measured(spare=(-0.1e-3, 0.4e-3)),
    st.floats(0.05e-3, 0.3e-3),
    st.lists(st.tuples(WARPS, WARPS, WARPS), min_size=30, max_size=30),
)
def test_what_cannot_be_done_is_proved_by_its_certificate_and_no_tried_plane_does_better(case, least, tries) -> None:
    """Farkas' lemma: weights >= 0 that sum to one and under which the plane drops out bound every plane's worst."""
    knife, readings = case
    stations = on_blade(readings, knife)
    plan = make_plan(stations, knife, Least(skin=least), "free")
    assume(plan.shortfall > 0)
    q = np.array([(s.reading.thickness - float(knife.thickness(s.x, s.y))) / 2 for s in stations])
    m = np.array(
        [s.reading.bow - float(knife.half(s.x, s.y, "right") - knife.half(s.x, s.y, "left")) / 2 for s in stations]
    )
    basis = np.array([[1.0, s.x / 0.24, s.y / 0.048] for s in stations])
    sign = np.array([1.0 if p.side == "right" else -1.0 for p in plan.pinches])
    weight, at = np.array([p.weight for p in plan.pinches]), [p.station for p in plan.pinches]
    assert weight.min() >= 0
    assert weight.sum() == pytest.approx(1.0, abs=1e-9)
    assert np.abs((weight * sign) @ basis[at]).max() < 1e-7
    assert weight @ (least - q[at] - sign * m[at]) == pytest.approx(plan.shortfall, abs=1e-9)
    for one in tries:
        stands = basis @ np.array(one)
        worst = max((least - q - m + stands).max(), (least - q + m - stands).max())
        assert worst >= plan.shortfall - 1e-9


@pytest.mark.parametrize("seed", range(6))
def test_the_least_shortfall_is_that_of_brute_force_over_all_corners_of_the_problem(seed: int) -> None:
    """Brute force: a linear programme's optimum lies where as many faces as unknowns are equally short."""
    rng = np.random.default_rng(seed)
    knife = KNIVES["flat"]
    spots = list(
        zip(rng.choice(np.arange(0, 225, 5), 5, replace=False), ["spine", "edge", "spine", "edge", 0.01], strict=True)
    )
    bare = on_blade([Reading(x * MM, p, MM) for x, p in spots], knife)
    readings = [
        Reading(
            s.x,
            s.reading.place,
            float(knife.thickness(s.x, s.y)) + rng.uniform(0.1e-3, 0.4e-3),
            rng.uniform(-5e-4, 5e-4),
        )
        for s in bare
    ]
    stations = on_blade(readings, knife)
    q = np.array([(s.reading.thickness - float(knife.thickness(s.x, s.y))) / 2 - 0.1e-3 for s in stations])
    m = np.array([s.reading.bow for s in stations])
    plane = np.array([[1.0, s.x, s.y] for s in stations])
    rows = np.block([[plane, -np.ones((5, 1))], [-plane, -np.ones((5, 1))]])
    limits = np.concatenate([q + m, q - m])
    corners = []
    for four in itertools.combinations(range(10), 4):
        if abs(np.linalg.det(rows[list(four)])) > 1e-12:
            point = np.linalg.solve(rows[list(four)], limits[list(four)])
            if np.all(rows @ point <= limits + 1e-10):
                corners.append(point[3])
    plan = make_plan(stations, knife, Least(skin=0.1e-3), "free")
    assert plan.shortfall == pytest.approx(max(min(corners), 0.0), abs=1e-9)


def test_a_plane_is_found_where_the_solver_sees_no_room_in_the_finest_slack() -> None:
    """Five readings a hair over what must come off; the solver calls the last wish infeasible at a slack of a nanometre."""
    places = [(0.0, 0.001953125, 0.0003895182291666666), (0.005, 0.005, 0.0005286970998076548),
              (0.02, 0.0078125, 0.0006537129461981568), (0.025, "spine", 0.002450739613996991),
              (0.165, 0.00390625, 0.0004438385174870456)]  # fmt: skip
    knife, least = blade({"kind": "chisel", "flat": "left"}), 0.0001685898527586313
    plan = make_plan(on_blade([Reading(x, y, t) for x, y, t in places], knife), knife, Least(skin=least), "heel")
    bent = [replace(s.station.reading, bow=s.bow + s.straighten) for s in plan.stations]
    again = make_plan(on_blade(bent, knife), knife, Least(skin=least), "heel")
    assert again.shortfall <= plan.straightened + 2e-8


@settings(max_examples=40, deadline=None)
@given(measured(spare=(0.0, 0.6e-3)), st.floats(0.05e-3, 0.2e-3))
def test_bent_as_asked_the_warp_costs_nothing_any_more(case, least) -> None:
    """From the meaning: add the asked bend to each bow, plan again, and only thin steel may still fall short."""
    knife, readings = case
    plan = make_plan(on_blade(readings, knife), knife, Least(skin=least), "heel")
    bent = [replace(s.station.reading, bow=s.bow + s.straighten) for s in plan.stations]
    again = make_plan(on_blade(bent, knife), knife, Least(skin=least), "heel")
    assert again.shortfall <= plan.straightened + 2e-8


@settings(max_examples=40, deadline=None)
@given(measured(), LEASTS)
def test_a_mirrored_blade_has_a_mirrored_plan(case, least) -> None:
    """Left is right in a mirror; a chisel's flat face changes sides too."""
    knife, readings = case
    other = blade({"kind": "chisel", "flat": "right"}) if knife is KNIVES["chisel"] else knife
    mirrored = [replace(r, bow=-r.bow) for r in readings]
    one = make_plan(on_blade(readings, knife), knife, Least(skin=least), "heel")
    two = make_plan(on_blade(mirrored, other), other, Least(skin=least), "heel")
    np.testing.assert_allclose([s.remove_left for s in one.stations], [s.remove_right for s in two.stations], atol=1e-8)


WORKED = blade(heel=140 * THOU, middle=120 * THOU, tip=60 * THOU)


def test_two_hundred_thou_now_and_140_wanted_is_60_off_and_30_a_side_in_words() -> None:
    """Sum by hand: 200 - 140 = 60, 60 / 2 = 30."""
    plan = make_plan(on_blade([read_typed("heel spine 200 thou straight")], WORKED), WORKED)
    assert (
        in_words(plan.stations[0], "imperial")
        == "heel spine: 200 thou now, 140 thou wanted: 60 thou off, 30 thou a side"
    )


@pytest.mark.parametrize(
    ("thou", "metric"),
    [
        ("heel spine 200 thou straight", "heel spine 5.08 mm straight"),
        ("heel spine 0.2 in bow 10 thou right", "heel spine 5.08 mm bow 0.254 mm right"),
    ],
)
def test_thou_and_millimetres_take_off_the_same_metal(thou: str, metric: str) -> None:
    """1 in is 25.4 mm exactly (international yard, 1959), so 200 thou are 5.08 mm."""
    one, two = (make_plan(on_blade([read_typed(text)], WORKED), WORKED).stations[0] for text in (thou, metric))
    assert (one.remove_left, one.remove_right) == pytest.approx((two.remove_left, two.remove_right), abs=1e-12)


def test_a_bow_to_the_right_is_taken_off_the_right() -> None:
    """Sum by hand at the heel, held: 60 thou off, the middle 10 thou to the right: 30 + 10 right, 30 - 10 left."""
    plan = make_plan(on_blade([read_typed("heel spine 200 thou bow 10 thou right")], WORKED), WORKED)
    row = plan.stations[0]
    assert (row.remove_left / THOU, row.remove_right / THOU) == pytest.approx((20, 40))
    assert in_words(row, "imperial").endswith("60 thou off, 20 thou left, 40 thou right")
    assert [h / THOU for h in row.scribe] == pytest.approx([20, 160])


def test_a_straight_blade_with_an_even_taper_loses_the_same_on_both_sides() -> None:
    """By symmetry."""
    knife = KNIVES["flat"]
    texts = [
        f"{x} mm, {place}, thick {3 - x / 200} mm, straight" for x in (0, 60, 120, 180) for place in ("spine", "edge")
    ]
    plan = make_plan(on_blade([read_typed(t) for t in texts], knife), knife)
    assert plan.verdict == "on target"
    assert [s.remove_left for s in plan.stations] == pytest.approx([s.remove_right for s in plan.stations], abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(measured(), HOLDS, st.sampled_from(["metric", "imperial"]))
def test_printed_sums_add_up_and_stay_within_a_step_of_the_true_figures(case, hold, units) -> None:
    """Arithmetic: now - leave = left + right as printed, to 0.05 mm or 1 thou."""
    knife, readings = case
    for row in make_plan(on_blade(readings, knife), knife, hold=hold).stations:
        s = sum_of(row, units)
        assert s.now - s.final == s.left + s.right
        assert abs(s.final * STEP[units] - row.final) <= 0.51 * STEP[units]
        assert abs(s.left * STEP[units] - row.remove_left) <= 1.01 * STEP[units]
        assert abs(s.right * STEP[units] - row.remove_right) <= 1.01 * STEP[units]


def test_before_hardening_thickness_lost_stays_over_the_finished_blade_or_it_is_to_be_straightened() -> None:
    """By hand: spine 2.9 for hardening, 2.5 finished. A bow of 0.3 mm on 3.2 mm leaves 3.2 - 0.6 = 2.6 mm."""
    knife = KNIVES["hardening"]
    small_bow, large_bow = (
        make_plan(on_blade([read_typed(f"heel spine 3.2 mm bow {bow} mm left")], knife), knife, Least(skin=0.0))
        for bow in (0.3, 0.4)
    )
    assert small_bow.stations[0].final == pytest.approx(2.6e-3)
    assert (small_bow.verdict, large_bow.verdict) == ("thinner", "straighten")
    assert large_bow.stations[0].straighten == pytest.approx(0.25e-3)  # 0.4 less the 0.15 a side there is to spare


def test_steel_too_thin_is_not_to_be_straightened() -> None:
    """A bend adds no metal."""
    knife = KNIVES["flat"]
    texts = ["heel spine 2.3 mm straight", "120 mm spine 2.6 mm straight"]
    plan = make_plan(on_blade([read_typed(t) for t in texts], knife), knife)
    assert plan.verdict == "too thin"
    assert before_grinding(plan, "metric", small) == []


def test_straightening_hardened_steel_is_a_list_of_steps_that_warns_first() -> None:
    """Common practice, no source."""
    knife = KNIVES["flat"]
    plan = make_plan(on_blade([read_typed("heel spine 2.9 mm bow 0.4 mm right")], knife), knife, Least(skin=0.1e-3))
    steps = before_grinding(plan, "metric", small)
    assert "heel spine 0.30 mm to the left" in steps[0]  # 0.4 less the 0.1 to spare beside the least of 0.1
    assert "snaps" in steps[1]
    assert any("no higher" in step for step in steps)


def test_the_core_line_of_a_blade_moved_to_the_right_comes_down_on_the_right() -> None:
    """Hand derivation: half(y) + offset meets the core's face at c/2 in y = (c/2 - offset - e/2) / tan(theta)."""
    knife = KNIVES["flat"]
    core, offset, tan = 1.0e-3, 0.1e-3, (2.5 - 0.3) / 2 / 48
    y = np.linspace(0, 0.048, 200001)
    right = y[np.argmin(np.abs(offset + knife.half(0.0, y, "right") - core / 2))]
    assert right == pytest.approx((core / 2 - offset - 0.15e-3) / tan, abs=1e-6)
    centred = (core / 2 - 0.15e-3) / tan
    assert right - centred == pytest.approx(tolerance(knife, 0.0).moves(offset, "right"), rel=1e-3)


@pytest.mark.parametrize(
    ("already", "more"), [(0.0, 0.35e-3), (0.2e-3, 0.15e-3), (-0.2e-3, 0.15e-3), (0.4e-3, -0.05e-3)]
)
def test_a_core_bears_half_itself_less_half_the_edge_less_the_offset(already: float, more: float) -> None:
    """By hand: 1.0 / 2 - 0.3 / 2 - offset; past that the edge is cladding."""
    assert tolerance(KNIVES["flat"], core=1.0e-3, already=already).more == pytest.approx(more)


def test_the_measured_midplane_is_the_natural_cubic_spline_along_one_line() -> None:
    """Against scipy's natural cubic spline: the thin plate through one line of stations is the beam."""
    knife = KNIVES["flat"]
    x, bow = np.array([0, 50, 120, 180, 230]) * MM, np.array([0, 1, 3, 2, -1]) * 1e-4
    stations = on_blade([Reading(float(a), "spine", 3 * MM, float(b)) for a, b in zip(x, bow, strict=True)], knife)
    between = np.linspace(0, 0.23, 47)
    found = midplane(stations, knife)(between, knife.spine_y(between))
    np.testing.assert_allclose(found, CubicSpline(x, bow, bc_type="natural")(between), atol=1e-9)


def test_the_measured_midplane_keeps_the_readings_and_any_flat_lean() -> None:
    """From the definition: an interpolant that reproduces what is linear along and up."""
    knife = KNIVES["flat"]
    spots = [(0, "spine"), (0, "edge"), (90, "spine"), (140, "edge"), (200, "spine"), (60, 0.02)]
    bare = on_blade([Reading(x * MM, place, MM) for x, place in spots], knife)
    lean = {(s.x, s.y): 1e-3 * s.x + 2e-3 * s.share for s in bare}
    stations = on_blade([replace(s.reading, bow=lean[s.x, s.y]) for s in bare], knife)
    found = midplane(stations, knife)
    assert [float(found(s.x, s.y)) for s in stations] == pytest.approx([s.reading.bow for s in stations], abs=1e-10)
    half_way = 0.5 * (knife.edge_y(0.1) + knife.spine_y(0.1))
    assert float(found(0.1, half_way)) == pytest.approx(1e-3 * 0.1 + 2e-3 * 0.5, abs=1e-10)
    assert found == midplane(stations, knife)


def test_the_doubt_is_none_at_the_stations_and_some_between() -> None:
    """From the definition of kriging."""
    knife = KNIVES["flat"]
    stations = on_blade([Reading(a * MM, p, MM) for a in (0, 80, 160) for p in ("spine", "edge")], knife)
    plate = midplane(stations, knife).plate
    points = np.array(plate.points)
    assert plate.doubt(points[:, 0], points[:, 1]).max() < 1e-5 * float(plate.doubt(0.12, 0.024)[0])


def test_scratches_of_120_grit_take_about_a_twentieth_of_a_millimetre() -> None:
    """Common practice, from memory: 120 grit to polish takes about 0.05 mm a face."""
    assert scratch_depth(120) == pytest.approx(0.05e-3, rel=0.1)
    assert scratch_depth(36) > scratch_depth(60) > scratch_depth(100) > scratch_depth(110) > scratch_depth(120)


def test_the_ledgers_skin_warns_but_only_the_smiths_own_figure_constrains() -> None:
    """From the rule that only a file test or the smith's figure constrains a plan."""
    knife = KNIVES["hardening"]
    stations = on_blade([read_typed("heel spine 3.1 mm straight")], knife)
    skin = SkinBand(0.2e-3, 0.5e-3, "the ledger's", bar=3.1e-3)
    bare, warned, told = (
        make_plan(stations, knife, Least(skin=own), skin=band)
        for own, band in ((None, None), (None, skin), (0.1e-3, skin))
    )
    assert bare.stations[0].remove_left == warned.stations[0].remove_left
    assert [f.side for f in warned.stations[0].soft] == ["left", "right"]
    assert told.stations[0].soft == ()
    # 0.1 mm now and (2.9 - 2.5) / 2 later come off each face: 0.3 mm, by hand
    assert warned.stations[0].soft[0].off == pytest.approx(0.3e-3)


def test_skin_already_ground_off_is_not_warned_of_again() -> None:
    """By hand: of a skin of 0.5 mm on a bar of 4.1 mm nothing is left at 3.1 mm."""
    assert SkinBand(0.2e-3, 0.5e-3, "x", bar=4.1e-3).left(3.1e-3) == pytest.approx((0.0, 0.0))


PROPELLER = """position,place,thickness,bow
0 in,spine,130 thou,0 thou
0 in,edge,40 thou,0 thou
3 in,spine,110 thou,40 thou right
3 in,edge,40 thou,40 thou left
6 in,spine,80 thou,90 thou left
6 in,edge,40 thou,90 thou right
"""


def test_a_blade_twisted_like_a_propeller_is_never_told_to_leave_less_than_nothing(tmp_path) -> None:
    """Bent by more than its thickness either way, no straight blade is in it: no figures to grind to, only to bend."""
    stations = tmp_path / "propeller.csv"
    stations.write_text(PROPELLER)
    words = ["grind", str(DEMOS / "chef.toml"), str(stations), "--no-record"]
    said = CliRunner().invoke(app, [*words, "--full"]).stdout
    assert not re.findall(r"(?<![\d])-\d", said)
    assert "Straighten first" in said and " ".join(said.split()).count("nothing would be left here") == 3
    table = [line for line in said.splitlines() if "nothing  " in line]
    assert len(table) == 3 and all("off" not in line for line in table)
    rows = json.loads(CliRunner().invoke(app, [*words, "--json"]).stdout)["stations"]
    assert min(row["final_m"] for row in rows) >= 0
    assert sum(row["remove_left_m"] is None for row in rows) == 3
