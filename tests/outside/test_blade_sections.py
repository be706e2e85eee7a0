"""The solid against two geometry libraries: plane polygons by shapely, closed surfaces by trimesh."""

import numpy as np
import pytest
from scipy.integrate import trapezoid

from billet.blade import SHAPES, Blade, BladeDesign

shapely = pytest.importorskip("shapely")
trimesh = pytest.importorskip("trimesh")

BEVELS: dict[str, object] = {
    "full flat": "full flat",
    "convex": "convex",
    "hollow": {"kind": "hollow", "wheel": 1.829},
    "sabre": {"kind": "sabre", "height": 0.02},
    "compound": {"kind": "compound", "wheel": 1.829},
    "chisel": {"kind": "chisel", "height": 0.03},
    "uneven": {"kind": "full flat", "right": {"kind": "convex", "radius": 2.0}},
}


def chef(bevel: object = "full flat", shape: str = "chef", state: str = "finished") -> Blade:
    """A chef's knife of ordinary size."""
    given = {"length": 0.21, "heel_height": 0.048, "bevel": bevel, "shape": shape}
    return Blade(BladeDesign.model_validate(given), state)  # type: ignore[arg-type]


def lofted(blade: Blade, stations: int = 400) -> "trimesh.Trimesh":
    """Return the closed surface through sections of the blade: rings joined by triangles, both ends capped."""
    x = 0.5 * blade.length * (1 - np.cos(np.linspace(0, np.pi, stations)))
    rings = [np.vstack([np.full(s.shape[1], at), s[1], s[0]]).T for at, s in ((v, ring(blade, v)) for v in x)]
    count = len(rings[0])
    here = np.arange(count)
    after = (here + 1) % count
    strip = np.concatenate([np.c_[here, after, after + count], np.c_[here, after + count, here + count]])
    sides = np.concatenate([strip + k * count for k in range(stations - 1)])
    fan = np.c_[np.zeros(count - 2, int), here[2:], here[1:-1]]
    faces = np.concatenate([sides, fan, fan[:, ::-1] + (stations - 1) * count])
    return trimesh.Trimesh(np.concatenate(rings), faces, process=False)


def ring(blade: Blade, x: float) -> np.ndarray:
    """Return the section at x as an open ring (z, y)."""
    return blade.section(x, 101).polygon[:, :-1]


@pytest.mark.parametrize("bevel", BEVELS.values(), ids=BEVELS)
@pytest.mark.parametrize("state", ["finished", "hardening"])
def test_volume_agrees_with_a_closed_surface(bevel: object, state: str) -> None:
    """trimesh integrates the volume over triangles; chords of 400 stations cost well under 0.1 %."""
    blade = chef(bevel, state=state)
    surface = lofted(blade)
    assert surface.is_watertight
    assert blade.volume() == pytest.approx(abs(surface.volume), rel=1e-3)


@pytest.mark.parametrize("shape", SHAPES)
def test_volume_of_every_shape_agrees_with_a_closed_surface(shape: str) -> None:
    """As above, for every outline; blunt ends turn within a few millimetres, hence 0.2 %."""
    blade = chef(shape=shape)
    assert blade.volume() == pytest.approx(abs(lofted(blade).volume), rel=2e-3)


@pytest.mark.parametrize("bevel", BEVELS.values(), ids=BEVELS)
@pytest.mark.parametrize("x", [0.0, 0.09, 0.2])
def test_section_polygon_holds_what_the_thickness_says(bevel: object, x: float) -> None:
    """shapely's area of the section equals the thickness summed up the height by the trapezium rule."""
    blade = chef(bevel)
    polygon = shapely.Polygon(blade.section(x, 2001).polygon.T)
    y = np.linspace(blade.edge_y(x), blade.spine_y(x), 20001)
    assert polygon.is_valid
    assert polygon.area == pytest.approx(trapezoid(blade.thickness(x, y), y), rel=1e-5)


@pytest.mark.parametrize("shape", SHAPES)
def test_outline_polygon_is_the_domain_of_the_faces(shape: str) -> None:
    """A point lies in shapely's polygon of the outline exactly where the faces have metal; border points left out."""
    blade = chef(shape=shape)
    polygon = shapely.Polygon(blade.outline(2000).T)
    rng = np.random.default_rng(5)
    x, y = rng.uniform(-0.01, 0.22, 4000), rng.uniform(-0.01, 0.058, 4000)
    clear = shapely.distance(polygon.exterior, shapely.points(x, y)) > 2e-5
    assert polygon.is_valid
    assert clear.sum() > 3900
    assert np.array_equal(np.isfinite(blade.thickness(x, y))[clear], shapely.contains_xy(polygon, x, y)[clear])


@pytest.mark.parametrize(("flat", "side"), [("left", -1), ("right", 1)])
def test_the_weight_of_a_chisel_grind_lies_towards_its_flat_face(flat: str, side: int) -> None:
    """trimesh's centre of mass lies on the side of the unground face: -z is left, +z right."""
    surface = lofted(chef({"kind": "chisel", "flat": flat}))
    assert side * surface.center_mass[2] > 0.2e-3


@pytest.mark.parametrize("bevel", BEVELS.values(), ids=BEVELS)
def test_faces_bound_the_section(bevel: object) -> None:
    """Points 10 um under either face lie in shapely's polygon of the section, those over it do not."""
    blade, x = chef(bevel), 0.12
    polygon = shapely.Polygon(blade.section(x, 2001).polygon.T)
    y = np.linspace(blade.edge_y(x), blade.spine_y(x), 41)[1:-1]
    right, left, nearly = blade.half(x, y, "right"), -blade.half(x, y, "left"), 1e-5
    assert all(shapely.contains_xy(polygon, z, y).all() for z in (right - nearly, left + nearly))
    assert not any(shapely.contains_xy(polygon, z, y).any() for z in (right + nearly, left - nearly))
