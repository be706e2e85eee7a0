"""The template is true: pages are set in pixels by somebody else's reader (pdfium) and measured there."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import svgelements
from scipy.integrate import trapezoid
from skimage.measure import label, regionprops

from billet.base.errors import InputError
from billet.blade import Blade, BladeDesign
from billet.recipe.blade import blade_of
from billet.recipe.read import load
from render.sheet.outline_files import as_dxf, as_svg, outline_of, write_outline
from render.sheet.pdf import PAPERS, as_pdf
from render.sheet.template import Label, drawn, shown_on, stations, tiles
from tests.sheets import BLADE, DEMOS, DRAW, MM, pages, raster, recipe, sheet

STEPS = DRAW.format(t=6)
TRUE_TO = 0.2  # [mm], what the sheet promises
PEN = 0.7 / MM  # width of the outline's line [mm]


def _black(data: bytes, page: int, dpi: int) -> list:
    """Connected black pieces of a page, widest first."""
    found = regionprops(label(raster(data, page, dpi) < 0.5, connectivity=2))
    return sorted(found, key=lambda r: r.bbox[1] - r.bbox[3])


def _wide(piece, dpi: int) -> float:
    return (piece.bbox[3] - piece.bbox[1]) / dpi * 25.4


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("dpi", [150, 400])
def test_bars_and_blade_are_as_long_as_they_say(tmp_path: Path, paper: str, dpi: int) -> None:
    """50 mm and 2 in (exactly 50.8 mm, international inch of 1959), and a blade of 180 mm without a tang,
    seen from the side and on its spine."""
    made = as_pdf(sheet(tmp_path, recipe(steps=STEPS, blade=BLADE.format(length="180 mm"))), paper)
    widest = _black(made.data, 0, dpi)
    solid = [piece for piece in widest[:6] if piece.extent > 0.98 and _wide(piece, dpi) > 20]
    assert sorted(_wide(bar, dpi) for bar in solid) == pytest.approx([50.0, 50.8], abs=TRUE_TO)
    assert [_wide(view, dpi) - PEN for view in widest[:2]] == pytest.approx([180.0, 180.0], abs=TRUE_TO)


@pytest.mark.parametrize("dpi", [150, 400])
def test_the_height_is_true_too(tmp_path: Path, dpi: int) -> None:
    made = as_pdf(sheet(tmp_path, recipe(steps=STEPS, blade=BLADE.format(length="180 mm"))), "a4")
    outline = max(_black(made.data, 0, dpi)[:2], key=lambda piece: piece.bbox[2] - piece.bbox[0])
    tall = (outline.bbox[2] - outline.bbox[0]) / dpi * 25.4 - PEN
    assert tall == pytest.approx(40.0, abs=TRUE_TO)


def test_pages_join_where_the_blade_is_longer_than_the_paper(tmp_path: Path) -> None:
    """The pieces left of the cut, and right of it on the last page, add up to the blade: 330 mm on two A4 pages."""
    dpi = 200
    made = as_pdf(sheet(tmp_path, recipe(steps=STEPS, blade=BLADE.format(length="330 mm"))), "a4")
    assert dict(made.pages)["template"] == 2
    ends = []
    for page in (0, 1):
        edges = [piece.bbox for piece in _black(made.data, page, dpi)[:1]]
        ends.append((edges[0][1] / dpi * 25.4, edges[0][3] / dpi * 25.4))
    cuts = [_cut(made.data, page) for page in (0, 1)]
    assert cuts[0] - ends[0][0] + ends[1][1] - cuts[1] - PEN == pytest.approx(330.0, abs=TRUE_TO)


def _cut(data: bytes, page: int) -> float:
    """Where the letter A of the cut stands on a page [mm], less its distance from the line."""
    _, boxes = pages(data)[page]
    letters = [box for box in boxes if box.text.strip() == "A"]
    assert len(letters) == 2
    return letters[0].left / MM


@pytest.mark.parametrize("size, room", [((330, 90), (273, 150)), ((700, 400), (273, 150)), ((20, 20), (273, 150))])
def test_tiles_cover_the_drawing_and_overlap(size: tuple[float, float], room: tuple[float, float]) -> None:
    found = tiles(size, room, 20.0)
    seen = np.zeros((int(size[1]), int(size[0])), bool)
    for tile in found:
        low, left = max(0, round(tile.y)), round(tile.x)
        seen[low : round(tile.y + room[1]), left : round(tile.x + room[0])] = True
    assert seen.all()
    columns = sorted({tile.x for tile in found})
    assert all(b - a == pytest.approx(room[0] - 20.0) for a, b in pairwise(columns))


@pytest.mark.parametrize("file", DEMOS, ids=lambda f: f.stem)
def test_every_demo_has_a_template_whose_labels_are_each_whole_on_some_page(file: Path) -> None:
    blade = blade_of(load(file))
    for units in ("metric", "imperial"):
        drawing = drawn(blade, units)
        room = (273.0, 150.0)
        boxes = [
            (drawing.box[0] + t.x, drawing.box[1] + t.y, drawing.box[0] + t.x + room[0], drawing.box[1] + t.y + room[1])
            for t in tiles(drawing.size, room, 20.0)
        ]
        lost = [one.text for one in drawing.labels if not any(shown_on(one, box) for box in boxes)]
        assert lost == []


def test_a_label_over_the_border_is_left_to_the_next_page() -> None:
    assert not shown_on(Label(10.0, 5.0, "3.00 / 2.60"), (0.0, 0.0, 12.0, 20.0))
    assert shown_on(Label(10.0, 5.0, "3.00 / 2.60"), (0.0, 0.0, 22.0, 20.0))


def test_the_stations_tell_the_thickness_the_recipe_asks_for() -> None:
    """At the heel the two figures are those of the design: 3.0 for hardening (0.4 more), 2.6 finished."""
    blade = Blade(BladeDesign(length=0.2, heel_height=0.05))
    words = [one.text for one in drawn(blade, "metric").labels]
    assert "3.00 / 2.60" in words and "0.70 / 0.25" in words
    assert stations(blade, "metric")[-1] == pytest.approx(190.0)


@pytest.mark.parametrize("name", ["chef", "integral", "nakiri"])
def test_the_outline_reads_back_the_same_from_svg_and_dxf(name: str, tmp_path: Path) -> None:
    """Read by svgelements and ezdxf: size of the whole knife to 0.01 mm, and the area both give by the shoelace formula."""
    blade = (
        Blade(BladeDesign(length=0.165, heel_height=0.05, shape="nakiri"))
        if name == "nakiri"
        else blade_of(load(next(f for f in DEMOS if f.stem == name)))
    )
    outline = outline_of(blade) * 1e3
    svg, dxf = tmp_path / "o.svg", tmp_path / "o.dxf"
    write_outline(svg, blade, 'knife <&> "x"')
    write_outline(dxf, blade, "knife")
    shape = next(
        one for one in svgelements.SVG.parse(str(svg), ppi=25.4).elements() if isinstance(one, svgelements.Polygon)
    )
    drawn_svg = np.array([(p.x, -p.y) for p in shape.points]).T
    [line] = ezdxf.readfile(dxf).modelspace().query("LWPOLYLINE")
    assert line.closed and ezdxf.readfile(dxf).units == ezdxf.units.MM
    drawn_dxf = np.array([(x, y) for x, y, *_ in line.get_points()]).T
    for points in (drawn_svg, drawn_dxf):
        assert np.ptp(points, axis=1) == pytest.approx(np.ptp(outline, axis=1), abs=0.01)
        assert _area(points) == pytest.approx(_area(outline), rel=1e-5)


def test_the_outline_follows_the_blade_to_a_hundredth_of_a_millimetre() -> None:
    """Area of the drawn blade against the trapezium rule over its own edge and spine."""
    blade = Blade(BladeDesign(length=0.2, heel_height=0.05, tang={"kind": "none"}))
    x = np.linspace(0, 0.2, 200_001)
    assert _area(outline_of(blade)) == pytest.approx(float(trapezoid(blade.height(x), x)), abs=0.2 * 1e-5)


def _area(points: np.ndarray) -> float:
    x, y = points
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2


def test_another_ending_is_refused(tmp_path: Path) -> None:
    from render.sheet.outline_files import check_outline

    with pytest.raises(InputError, match=r"\.svg or \.dxf"):
        check_outline(tmp_path / "o.pdf", False)


def test_svg_and_dxf_are_the_same_bytes_twice() -> None:
    outline = outline_of(Blade(BladeDesign(length=0.2, heel_height=0.05)))
    assert as_svg(outline, "a") == as_svg(outline, "a")
    assert as_dxf(outline).count("LWPOLYLINE") == as_dxf(outline).count("LWPOLYLINE") == 1
