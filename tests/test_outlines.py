"""The outlines: none crosses itself, every point stands at its height, and drawings of one's own are read as drawn."""

from pathlib import Path

import ezdxf
import numpy as np
import pytest
from shapely.geometry import Polygon

from billet.base.errors import InputError
from billet.blade import SHAPES, Blade, BladeDesign, read_points
from billet.blade.outline import shaped

LENGTH, HEIGHT = 0.24, 0.052

# Where the point stands over the edge line, in heel heights, and how high the spine still is at seven tenths of the
# length; common practice, no source.
POINT = {
    "chef": ((0.30, 0.45), 0.88),
    "gyuto": ((0.20, 0.35), 0.86),
    "sujihiki": ((0.45, 0.60), 0.88),
    "santoku": ((0.20, 0.35), 0.85),
    "bunka": ((0.20, 0.40), 0.85),
    "honesuki": ((0.30, 0.50), 0.80),
    "paring": ((0.45, 0.65), 0.85),
    "petty": ((0.45, 0.75), 0.80),
    "slicer": ((0.45, 0.75), 0.85),
    "boning": ((0.70, 1.00), 0.80),
}
SQUARE_ENDED = ("nakiri", "usuba", "cleaver", "bread")


def test_every_outline_is_listed_here() -> None:
    assert {*POINT, *SQUARE_ENDED} == set(SHAPES)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("radius", [0.0, 0.004])
def test_no_outline_crosses_itself(shape: str, radius: float) -> None:
    """Asked of shapely: a simple, valid polygon, whose area is that between the two curves."""
    blade = Blade(BladeDesign(length=LENGTH, heel_height=HEIGHT, shape=shape, heel={"radius": radius}))  # type: ignore[arg-type]
    ring = Polygon(blade.outline(1500).T)
    assert ring.is_valid
    x = (np.arange(20_000) + 0.5) * LENGTH / 20_000
    assert ring.area == pytest.approx(float(blade.height(x).mean()) * LENGTH, rel=2e-4)


@pytest.mark.parametrize("shape", SHAPES)
def test_edge_and_spine_run_from_heel_to_point_without_a_step_back(shape: str) -> None:
    """The curves are parametric: x must grow all along, or the outline is folded."""
    for points in SHAPES[shape]:
        xs = np.array([p[0] for p in points])
        assert np.all(np.diff(xs) >= 0)


@pytest.mark.parametrize("shape", POINT)
def test_the_point_stands_at_the_height_of_the_trade(shape: str) -> None:
    (low, high), spine = POINT[shape]
    outline = shaped(shape, 1.0, 1.0)
    assert low <= float(outline.edge_y(1.0)) <= high
    assert float(outline.spine_y(1.0)) == pytest.approx(float(outline.edge_y(1.0)))
    assert float(outline.spine_y(0.7)) >= spine


@pytest.mark.parametrize("shape", SQUARE_ENDED)
def test_a_square_end_stands_up(shape: str) -> None:
    outline = shaped(shape, 1.0, 1.0)
    assert float(outline.spine_y(1.0) - outline.edge_y(1.0)) > 0.2


def test_the_chefs_spine_is_nearly_straight() -> None:
    """The first seven tenths stray less than 1.5 mm from their chord on a 52 mm heel; common practice, no source."""
    outline = shaped("chef", LENGTH, HEIGHT)
    x = np.linspace(0, 0.7 * LENGTH, 200)
    y = outline.spine_y(x)
    assert np.abs(y - np.linspace(y[0], y[-1], 200)).max() < 1.5e-3


def test_the_heels_corner_is_a_quarter_circle() -> None:
    """Plane geometry: at x the circle of radius r round (r, r) stands r - sqrt(r^2 - (r - x)^2) over the edge."""
    blade = Blade(BladeDesign(length=LENGTH, heel_height=HEIGHT, shape="usuba", heel={"radius": 0.005}))  # type: ignore[arg-type]
    assert blade.edge_y([0.0, 0.001, 0.002, 0.005, 0.02]) == pytest.approx([5e-3, 2e-3, 1e-3, 0.0, 0.0], abs=2e-7)


def _points(shape: str) -> list[tuple[float, float]]:
    return [(float(a), float(b)) for a, b in shaped(shape, LENGTH, HEIGHT).polygon(300).T[:-1]]


@pytest.mark.parametrize(("unit", "size"), [(4, 1e-3), (1, 0.0254)])
def test_a_dxf_is_read_as_drawn(tmp_path: Path, unit: int, size: float) -> None:
    """Written by ezdxf in pieces and in no order: two lines and two open polylines, one drawn backwards; $INSUNITS 4 is
    millimetres and 1 inches (DXF reference)."""
    document = ezdxf.new()
    document.units = unit
    space = document.modelspace()
    drawn = [(a / size, b / size) for a, b in _points("gyuto")]
    half = len(drawn) // 2
    space.add_text("gyuto")
    space.add_lwpolyline(drawn[half:][::-1])
    space.add_line(drawn[-1], drawn[0])
    space.add_lwpolyline(drawn[:half])
    space.add_line(drawn[half - 1], drawn[half])
    path = tmp_path / "own.dxf"
    document.saveas(path)
    _same(path, "gyuto")


def test_an_svg_is_read_as_drawn(tmp_path: Path) -> None:
    """Cubic curves in a drawing 300 mm wide whose user unit is 2 mm, y downwards as SVG 1.1 has it, moved by a group;
    a smaller closed line beside it does not count."""
    edge, spine = SHAPES["chef"]

    def at(points: tuple[tuple[float, float], ...]) -> str:
        return " ".join(f"{p[0] * LENGTH * 500},{60 - p[1] * HEIGHT * 500}" for p in points)

    (tmp_path / "own.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 150 100">'
        f'<g transform="translate(7 3)"><path d="M {at(edge[:1])} C {at(edge[1:])} C {at(spine[::-1][1:])} Z"/></g>'
        '<circle cx="9" cy="9" r="4"/></svg>'
    )
    _same(tmp_path / "own.svg", "chef")


def _same(path: Path, shape: str) -> None:
    found, meant = read_points(path), shaped(shape, LENGTH, HEIGHT)
    x = np.linspace(0, LENGTH * 0.995, 300)
    assert found.length == pytest.approx(LENGTH, abs=2e-6)
    assert found.edge_y(x) == pytest.approx(meant.edge_y(x), abs=3e-5)
    assert found.spine_y(x) == pytest.approx(meant.spine_y(x), abs=3e-5)


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("a.svg", '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"/>', "does not say how large"),
        ("a.svg", '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0 L9 9"/></svg>', "no closed line"),
        ("a.svg", '<svg width="9mm" <', "cannot be read|can be read|how large"),
        ("a.dxf", "nothing of the kind", "not a DXF drawing"),
    ],
)  # fmt: skip
def test_a_drawing_that_does_not_serve_is_told_in_a_sentence(tmp_path: Path, name: str, text: str, says: str) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(InputError, match=says):
        read_points(tmp_path / name)


def test_a_dxf_without_a_unit_is_asked_for_one(tmp_path: Path) -> None:
    document = ezdxf.new()
    document.units = 0
    document.modelspace().add_lwpolyline([(0, 0), (9, 0), (9, 3), (0, 3)], close=True)
    document.saveas(tmp_path / "a.dxf")
    with pytest.raises(InputError, match="does not say its unit"):
        read_points(tmp_path / "a.dxf")
