"""Bevels against plain geometry worked by hand: right triangles, circles through three points.

The figures in the tables were computed for a workshop reference from s, e, h, T and D alone, to the digits printed; a
tolerance is half of the last digit unless a line says otherwise.
"""

import numpy as np
import pytest

from billet.blade import Blade, BladeDesign
from billet.blade.bevels import arc_dip
from billet.blade.exposure import full_flat_half_angle, line_shift
from tests.textbook.bevel import core_reveal, magnification

MM = 1e-3
LEVEL = {"heel": 2.5 * MM, "middle": 2.5 * MM, "tip": 2.5 * MM}


def usuba(**changes: object) -> Blade:
    """A blade with a level spine and edge, so that a section is a plain triangle or trapezium."""
    given = {"length": 0.21, "heel_height": 0.048, "shape": "usuba", "spine": LEVEL, "edge": {"finished": 0.3 * MM}}
    return Blade(BladeDesign.model_validate({**given, **changes}))


@pytest.mark.regression
@pytest.mark.parametrize(
    ("spine", "edge", "height", "degrees", "times"),
    [(2.0, 0.25, 45, 1.11, 51), (2.5, 0.3, 48, 1.31, 44), (3.0, 0.3, 50, 1.55, 37), (3.2, 0.5, 52, 1.49, 38)],
)
def test_full_flat_angle_and_magnification(
    spine: float, edge: float, height: float, degrees: float, times: float
) -> None:
    """Right triangle: half the difference of the thicknesses over the height; 1 / sin of the angle."""
    angle = full_flat_half_angle(spine * MM, edge * MM, height * MM)
    assert np.degrees(angle) == pytest.approx(degrees, abs=0.005)
    assert magnification(angle) == pytest.approx(times, abs=0.6)  # 38.53 was printed as 38


@pytest.mark.parametrize(
    ("wheel", "depth"), [(50, 3.35), (100, 1.59), (200, 0.78), (254, 0.62), (356, 0.44), (914, 0.17), (1829, 0.085)]
)
def test_hollow_depth(wheel: float, depth: float) -> None:
    """Sagitta of a 25 mm chord; the table prints two or three digits."""
    assert arc_dip(0.5, 25 * MM, 0.0, wheel * MM) / MM == pytest.approx(depth, abs=0.006)


@pytest.mark.regression
@pytest.mark.parametrize(("core", "bared"), [(0.6, 6.5), (0.83, 11.6), (1.0, 15.3), (1.25, 20.7), (0.2, 0), (2.6, 48)])
def test_core_reveal(core: float, bared: float) -> None:
    """Similar triangles: h (c - e) / (s - e); a core thinner than the edge bares nothing, one over the spine all."""
    assert core_reveal(core * MM, 2.5 * MM, 0.3 * MM, 48 * MM) / MM == pytest.approx(bared, abs=0.06)


@pytest.mark.parametrize(("offset", "moved"), [(0.1, 4.4), (0.25, 10.9)])
def test_offset_moves_the_line(offset: float, moved: float) -> None:
    """delta / tan(theta) on a blade 48 mm high, 2.5 mm at the spine, 0.3 mm at the edge."""
    angle = full_flat_half_angle(2.5 * MM, 0.3 * MM, 48 * MM)
    assert line_shift(offset * MM, angle) / MM == pytest.approx(moved, abs=0.05)


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_solid_has_the_angle_of_the_formula(side: str) -> None:
    """On a blade with a level spine the slope of a face is the angle of the right triangle, 1.31 degrees."""
    angle = usuba().angle(0.1, [0.001, 0.024, 0.047], side)  # type: ignore[arg-type]
    assert np.degrees(angle) == pytest.approx(1.31, abs=0.005)


@pytest.mark.parametrize("core", [0.6, 0.83, 1.0, 1.25])
def test_the_solid_bares_the_core_where_the_formula_says(core: float) -> None:
    """At the height of the formula the blade is as thick as the core."""
    height = core_reveal(core * MM, 2.5 * MM, 0.3 * MM, 48 * MM)
    assert usuba().thickness(0.1, height) == pytest.approx(core * MM, rel=1e-9)


def test_distal_taper_adds_its_angle() -> None:
    """1.6 mm of taper over 210 mm leans each face 0.22 degrees along the blade: atan(1.6 / 420)."""
    straight = {"heel": 2.6 * MM, "middle": 1.8 * MM, "tip": (1.0 + 1.6 * 10 / 210) * MM}
    along, _ = usuba(spine=straight).slope(0.05, 0.048, "left")
    assert -np.degrees(np.arctan(along)) == pytest.approx(0.218, abs=0.001)
    assert np.degrees(full_flat_half_angle(2.6 * MM, 1.0 * MM, 0.21)) == pytest.approx(0.218, abs=0.001)


def circle_through(points: np.ndarray) -> float:
    """Return the radius of the circle through three points (2, 3): product of the sides over four times the area."""
    a, b, c = (np.hypot(*(points[:, i] - points[:, j])) for i, j in ((0, 1), (1, 2), (2, 0)))
    (x1, x2, x3), (y1, y2, y3) = points
    area = abs((x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)) / 2
    return float(a * b * c / (4 * area))


@pytest.mark.parametrize("wheel", [1.2, 1.829, 5.0])
@pytest.mark.parametrize("picked", [(0.0, 0.012, 0.024), (0.003, 0.004, 0.02)])
def test_a_hollow_is_an_arc_of_its_wheel(wheel: float, picked: tuple[float, ...]) -> None:
    """Any three points of the hollow lie on a circle of the wheel's radius (Euclid: the circumcircle)."""
    half = usuba(bevel={"kind": "hollow", "wheel": wheel, "height": 0.024}).half(0.1, picked, "right")
    assert circle_through(np.array([picked, half])) == pytest.approx(wheel / 2, rel=1e-6)


def test_a_convex_face_is_an_arc_of_its_radius() -> None:
    """Three points on the convex face lie on a circle of the stated radius."""
    picked = np.array([0.0, 0.02, 0.048])
    half = usuba(bevel={"kind": "convex", "radius": 2.0}).half(0.1, picked, "right")
    assert circle_through(np.array([picked, half])) == pytest.approx(2.0, rel=1e-6)
    assert half[1] > 0.15 * MM + 1.1 * MM * 20 / 48  # outside the straight line


def test_the_dip_is_the_hollow_depth_on_a_level_chord() -> None:
    """Half way along a level 25 mm chord under a 10 in wheel: 0.62 mm."""
    assert arc_dip(0.5, 25 * MM, 0.0, 254 * MM) / MM == pytest.approx(0.62, abs=0.006)


@pytest.mark.parametrize(
    ("bevel", "wider_at"),
    [
        ({"kind": "hollow", "wheel": 1.829, "height": 0.04}, "edge"),  # bunched at the shoulder
        ({"kind": "convex"}, "spine"),  # tight near the edge
    ],
)
def test_where_lines_are_wide(bevel: dict[str, object], wider_at: str) -> None:
    """Common practice, no source: what smiths see on hollow and convex faces; follows from the arc's slope."""
    low, high = magnification(usuba(bevel=bevel).angle(0.1, [0.004, 0.036], "left"))
    assert {"edge": low, "spine": high}[wider_at] > 1.3 * {"edge": high, "spine": low}[wider_at]


def test_s_grind_has_three_zones_that_meet_without_a_ridge() -> None:
    """Convex, hollow, flat: the slope falls, then rises, then is nil; the lower two share it where they meet."""
    blade = usuba(bevel={"kind": "compound", "wheel": 1.829, "lower": 0.016, "height": 0.036})
    _, slope = blade.slope(0.1, np.array([0.002, 0.0159, 0.0161, 0.034, 0.040]), "left")
    assert slope[0] > slope[1] > 0
    assert slope[2] == pytest.approx(slope[1], rel=0.02)  # two tenths of a millimetre apart on curves
    assert slope[3] > slope[2]
    assert slope[4] == pytest.approx(0, abs=1e-9)


def test_sabre_is_flat_above_its_line() -> None:
    """Above the shoulder only the flat: half the spine; at half the shoulder's height half way between."""
    half = usuba(bevel={"kind": "sabre", "height": 0.02}).half(0.1, [0.01, 0.02, 0.04], "right")
    assert half == pytest.approx(np.array([(0.15 + 1.25) / 2, 1.25, 1.25]) * MM, rel=1e-9)
