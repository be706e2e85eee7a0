"""Figures for the grinder and of the knife against sums by hand, closed surfaces and somebody else's readers."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import trimesh

from billet.blade import Blade, BladeDesign, fits, need
from billet.blade.handle import Whole
from billet.grinding import Least, Reading, make_plan, next_reading, on_blade, tolerance
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import load
from billet.stages import stages
from billet.stages.metal import weighed
from render.sheet.pdf import as_pdf
from tests.sheets import BLADE, DRAW, recipe, sheet
from tests.test_grinding import KNIVES, MM, ground_faces
from tests.test_sheet_template import PEN, _black, _wide
from tests.test_solid import DEMOS, closed, made
from tests.truth.registry import How, Pairs, checks

LEVEL = {"heel": 2.5 * MM, "middle": 2.5 * MM, "tip": 2.5 * MM}
GIVEN: dict[str, Any] = {
    "length": 0.21,
    "heel_height": 0.048,
    "shape": "usuba",
    "spine": LEVEL,
    "edge": {"finished": 0.3 * MM},
}
SPOTS = (0.006, 0.012, 0.024, 0.036, 0.044)


@cache
def surface(demo: Path) -> trimesh.Trimesh:
    """The knife as trimesh reads it from the solid's file."""
    read = trimesh.load(io.BytesIO(made(demo)[1]), file_type="glb", force="mesh")
    return closed(read.vertices, read.faces)


@checks(
    "thickness at a station",
    "right triangles by hand, a full flat and a sabre grind",
    How.METHOD,
    unit="um",
    within=0.1,
)
def test_thickness_of_flat_grinds() -> Pairs:
    flat = Blade(BladeDesign.model_validate(GIVEN))
    sabre = Blade(BladeDesign.model_validate({**GIVEN, "bevel": {"kind": "sabre", "height": 0.02}}))
    for y in SPOTS:
        yield 1e6 * float(flat.thickness(0.1, y)), 300 + 2200 * y / 0.048
        yield 1e6 * float(sabre.thickness(0.1, y)), 300 + 2200 * min(y / 0.02, 1.0)


@checks("thickness at a station", "circle of the wheel by hand, a hollow grind", How.METHOD, unit="um", within=0.1)
def test_thickness_of_a_hollow_grind() -> Pairs:
    """A circle of the wheel's radius through edge and shoulder, centre outside the face: half the thickness is its near side."""
    wheel, top = 1.829, 0.024
    blade = Blade(BladeDesign.model_validate({**GIVEN, "bevel": {"kind": "hollow", "wheel": wheel, "height": top}}))
    a, b, r = np.array([0.0, 0.15e-3]), np.array([top, 1.25e-3]), wheel / 2
    chord = b - a
    across = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
    centre = 0.5 * (a + b) + across * np.sqrt(r**2 - 0.25 * chord @ chord)
    for y in (0.004, 0.012, 0.020):
        yield 1e6 * float(blade.thickness(0.1, y)), 2e6 * float(centre[1] - np.sqrt(r**2 - (y - centre[0]) ** 2))


@checks(
    "thickness at a station",
    "trimesh cutting the solid's own file, four demo knives",
    How.METHOD,
    unit="mm",
    within=0.05,
)
def test_thickness_of_the_solid() -> Pairs:
    """Width of the cut where a line up through it at half the blade's height meets it; facets cost some micrometres."""
    for demo in DEMOS[:4]:
        mesh, blade = surface(demo), blade_of(made(demo)[0].recipe)
        for share in (0.2, 0.5, 0.75):
            x = share * blade.length
            y = 0.5 * float(blade.edge_y(x) + blade.spine_y(x))
            ends = _across(mesh, x, y)
            yield 1e3 * float(blade.thickness(x, y)), 1e3 * float(np.ptp(ends))


def _across(mesh: trimesh.Trimesh, x: float, y: float) -> np.ndarray:
    """Where a line across the knife meets its surface [m], by triangles that hold the spot (Moebius' coordinates)."""
    corner = mesh.triangles
    p, q, r = (corner[:, k, :2] for k in range(3))
    spot = np.array([x, y])
    area = (q[:, 0] - p[:, 0]) * (r[:, 1] - p[:, 1]) - (r[:, 0] - p[:, 0]) * (q[:, 1] - p[:, 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        v = ((spot[0] - p[:, 0]) * (r[:, 1] - p[:, 1]) - (r[:, 0] - p[:, 0]) * (spot[1] - p[:, 1])) / area
        w = ((q[:, 0] - p[:, 0]) * (spot[1] - p[:, 1]) - (spot[0] - p[:, 0]) * (q[:, 1] - p[:, 1])) / area
        held = (v >= 0) & (w >= 0) & (v + w <= 1) & (np.abs(area) > 1e-14)
        z = corner[:, 0, 2] + v * (corner[:, 1, 2] - corner[:, 0, 2]) + w * (corner[:, 2, 2] - corner[:, 0, 2])
    return np.asarray(z[held])


def warped(seed: int) -> tuple[Blade, list[Reading]]:
    """A knife with up to a millimetre to spare and a random warp."""
    rng = np.random.default_rng(seed)
    knife = KNIVES[sorted(KNIVES)[seed % len(KNIVES)]]
    readings = []
    for step in range(0, 45, 9):
        for place in ("spine", "edge"):
            bare = on_blade([Reading(step * 5 * MM, place, 1 * MM)], knife)[0]
            thick = float(knife.thickness(bare.x, bare.y)) + rng.uniform(0.4, 1.2) * MM
            readings.append(Reading(step * 5 * MM, place, thick, rng.uniform(-0.15, 0.15) * MM))
    return knife, readings


@checks(
    "what to take off left and right",
    "faces put where the removal leaves them and measured again, 40 warped blades",
    How.METHOD,
    unit="um",
    within=0.1,
)
def test_ground_faces_are_on_thickness() -> Pairs:
    for seed in range(40):
        knife, readings = warped(seed)
        plan = make_plan(on_blade(readings, knife), knife, Least(skin=0.0), "heel")
        left, right = ground_faces(plan)
        for s, a, b in zip(plan.stations, left, right, strict=True):
            yield 1e6 * (b - a), 1e6 * (float(knife.thickness(s.station.x, s.station.y)) - s.thinner)


@checks(
    "how far to bend a warped blade",
    "bent as asked and planned again: what is still short, 40 blades too thin",
    How.METHOD,
    unit="um",
    within=0.1,
)
def test_bent_as_asked_nothing_more_is_short() -> Pairs:
    short = 0
    for seed in range(40):
        knife, readings = warped(seed)
        thin = [replace(r, thickness=r.thickness - 0.3 * MM, bow=4 * (r.bow or 0.0)) for r in readings]
        plan = make_plan(on_blade(thin, knife), knife, Least(skin=0.1 * MM), "heel")
        bent = [replace(s.station.reading, bow=s.bow + s.straighten) for s in plan.stations]
        again = make_plan(on_blade(bent, knife), knife, Least(skin=0.1 * MM), "heel")
        short += plan.shortfall > 0
        yield 1e6 * again.shortfall, (0.0, 1e6 * plan.straightened + 0.02)
    assert short > 20


@checks("where to measure next", "a gap left on purpose among readings every 20 mm", How.METHOD, unit="mm", within=12.0)
def test_the_next_reading_is_asked_for_in_the_gap() -> Pairs:
    """Edge and spine are measured every 20 mm but for one gap along the edge."""
    knife = KNIVES["flat"]
    x = range(0, 240, 20)
    for gap in (60, 100, 140):
        readings = [Reading(a * MM, "spine", 3 * MM) for a in x]
        readings += [Reading(a * MM, "edge", 1 * MM) for a in x if abs(a - gap) > 25]
        found = next_reading(on_blade(readings, knife), knife)
        assert found is not None
        assert found.place == "edge"
        yield found.x / MM, float(gap)


@checks(
    "how far a line moves as the face is ground",
    "offset over the slope of the bevel, by hand",
    How.METHOD,
    unit="%",
    within=1.0,
)
def test_lines_move_as_plane_geometry_says() -> Pairs:
    """offset / tan(theta), tan(theta) = (2.5 - 0.3) / (2 x 48)."""
    bears = tolerance(KNIVES["flat"], 0.0)
    for offset in (0.1, 0.25):
        yield bears.moves(offset * MM, "left") / MM, offset * 2 * 48 / (2.5 - 0.3)
        assert bears.moves(offset * MM, "right") == -bears.moves(offset * MM, "left")


@checks(
    "what the bar must hold and what is to spare",
    "trimesh's extents of the solid's file: length, all demo knives made singly",
    How.METHOD,
    unit="mm",
    within=0.2,
)
def test_length_the_bar_must_hold() -> Pairs:
    for demo in (d for d in DEMOS if d.stem != "order"):
        blade = blade_of(made(demo)[0].recipe)
        yield 1e3 * need(blade).length, 1e3 * float(surface(demo).extents[0])


@checks(
    "what the bar must hold and what is to spare",
    "sums by hand: a bar of 350 x 50 x 3.6 mm, 0.2 mm off centre",
    How.METHOD,
    unit="mm",
    within=0.01,
)
def test_what_is_to_spare() -> Pairs:
    """240 and 100 of tang in 350, 52 in 50; 2.6 finished, 0.4 for hardening and twice 0.2 of face are 3.4 in 3.6 less twice
    0.2 off centre.
    """
    given_ = {"length": "240 mm", "heel_height": "52 mm"}
    blade = Blade(BladeDesign.model_validate(given_, context={"door": True}))
    answer = fits(need(blade), 0.35, 0.05, 3.6 * MM, offset=-0.2 * MM)
    yield 1e3 * answer.length.surplus, 10.0
    yield 1e3 * answer.heel_height.surplus, -2.0
    yield 1e3 * answer.thickness.surplus, -0.2


@checks(
    "weight of the knife at each stage",
    "trimesh's volume of the solid's file by the bar's density, all demo knives",
    How.METHOD,
    unit="%",
    within=0.5,
)
def test_weight_of_the_finished_knife() -> Pairs:
    for demo in DEMOS:
        book = run(load(demo), diffuse=False)
        finish = next(
            s.mass for s in weighed(stages(book.recipe, book), book) if s.do == "finish" and s.kind == "blade"
        )
        yield float(finish or 0.0), float(abs(surface(demo).volume)) * book.last.mean_density


@checks(
    "volume and size of the solid",
    "trimesh against Gauss's sections: volume, all demo knives",
    How.METHOD,
    unit="%",
    within=0.5,
)
def test_volume_of_the_solid() -> Pairs:
    for demo in DEMOS:
        whole = Whole(blade_of(made(demo)[0].recipe))
        yield whole.blade.volume() + whole.volume_behind(), float(abs(surface(demo).volume))


@checks(
    "volume and size of the solid",
    "trimesh reading the file: length, all demo knives",
    How.METHOD,
    unit="mm",
    within=0.2,
)
def test_length_of_the_solid() -> Pairs:
    for demo in DEMOS:
        whole = Whole(blade_of(made(demo)[0].recipe))
        yield 1e3 * (whole.blade.length + whole.behind), 1e3 * float(surface(demo).extents[0])


@checks(
    "lengths on paper",
    "PDFium setting the page in pixels: bars of 50 mm and 2 in, a blade of 180 mm, A4 and Letter",
    How.METHOD,
    unit="mm",
    within=0.2,
)
def test_lengths_on_the_printed_page() -> Pairs:
    """The pen's own width is taken off the blade's."""
    for paper in ("a4", "letter"):
        with TemporaryDirectory() as folder:
            made_ = as_pdf(
                sheet(Path(folder), recipe(steps=DRAW.format(t=6), blade=BLADE.format(length="180 mm"))), paper
            )
        widest = _black(made_.data, 0, 400)
        solid = sorted(_wide(p, 400) for p in widest[:6] if p.extent > 0.98 and _wide(p, 400) > 20)
        yield from zip(solid, (50.0, 50.8), strict=True)
        yield from ((_wide(view, 400) - PEN, 180.0) for view in widest[:2])
