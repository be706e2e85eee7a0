"""Laws that hold for every step: the rows of the table in examples.py, one test a law.

Nothing here is a stored number: the laws are conservation of volume and mass, and agreement of the way forwards with
the way back.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from billet.bar.bar import Bar, Joined, Laminar, Material, Worked
from billet.bar.maps import PointMap
from billet.bar.measure import measure
from billet.bar.outcome import Outcome
from billet.bar.trace import cell_of, slope, steel_at, trace
from billet.base.fields import EXAMPLES as KIND_EXAMPLES
from billet.recipe.read import build
from billet.steps import step_types
from tests.examples import EXAMPLES, MARK, NUMERIC, as_worked, bench, step

EVERY = pytest.mark.parametrize("name", EXAMPLES)
DOOR_UNITS = {"length": "m", "temperature": "K", "time": "s", "angle": "rad"}


@cache
def done(name: str) -> tuple[Bar, Outcome]:
    """The bar of a row (as a worked one) and what the step made of it."""
    bar = as_worked(EXAMPLES[name].start())
    return bar, EXAMPLES[name].step.apply(bar, bench())


@cache
def done_to_layers(name: str) -> tuple[Bar, Outcome]:
    """The same on the bar as it is, laminar where the row has it so."""
    bar = EXAMPLES[name].start()
    return bar, EXAMPLES[name].step.apply(bar, bench())


def inside(bar: Bar, n: int, seed: int, margin: float = 0.96) -> np.ndarray:
    """Random points in a bar's metal, (3, n)."""
    points = np.random.default_rng(seed).uniform(-0.5, 0.5, (3, n)) * np.array(
        [[bar.length], [bar.width], [bar.thickness]]
    )
    return points[:, bar.contains(points / margin)]


def steps_back(material: Material, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points of a bar followed to the frame of the bar it began with, and a number for the way each took (-1: metal
    that was added).
    """
    if isinstance(material, Laminar):
        return points, np.zeros(points.shape[1], int)
    if isinstance(material, Worked):
        back = material.map.backward(points)
        start, way = steps_back(material.parent, back.points)
        return start, way if back.piece is None else np.where(way < 0, way, way * 997 + back.piece)
    out, ways = np.empty_like(points), np.empty(points.shape[1], int)
    faces = np.array(material.faces)
    axis = "xyz".index(material.axis)
    part = np.searchsorted(faces[1:-1], points[axis], side="right")
    for k, child in enumerate(material.parts):
        mine = part == k
        shifted = points[:, mine].copy()
        shifted[axis] -= 0.5 * (faces[k] + faces[k + 1])
        out[:, mine], way = steps_back(child, shifted)
        ways[mine] = -1 if isinstance(child, Laminar) else way * 997 + k
    return out, ways


def new_maps(name: str, seed: int = 0, n: int = 500) -> list[tuple[PointMap, np.ndarray]]:
    """The maps a step has put over its bar, each with random points of the metal in the frame after it."""
    before, outcome = done(name)
    todo, found = [(outcome.bar.material, inside(outcome.bar, n, seed))], []
    while todo:
        material, points = todo.pop()
        if isinstance(material, Joined):
            faces = np.array(material.faces)
            axis = "xyz".index(material.axis)
            for k, child in enumerate(material.parts):
                mine = points[:, (points[axis] > faces[k]) & (points[axis] < faces[k + 1])]
                mine[axis] -= 0.5 * (faces[k] + faces[k + 1])
                todo.append((child, mine))
        elif isinstance(material, Worked) and material.map is not before.material.map:
            found.append((material.map, points))
            todo.append((material.parent, material.map.backward(points).points))
    return found


def test_every_step_has_a_row() -> None:
    shown = {example.step.verb for example in EXAMPLES.values()}
    missing = sorted(set(step_types()) - shown)
    assert not missing, (
        f"no example of {', '.join(missing)}: add a row to EXAMPLES in tests/examples.py with the step as it stands "
        f"in a recipe "
        "and the bar it is done to, and every law is run over it"
    )


@EVERY
def test_every_bar_carries_the_mark_off_its_middle(name: str) -> None:
    laminate = EXAMPLES[name].start().leaves[0]
    middles = 0.5 * (laminate.edges[1:] + laminate.edges[:-1])
    of_mark = [s.name for s in laminate.steels].index(MARK)
    assert np.abs(middles[laminate.steel == of_mark]).min() > 0.1 * laminate.total


@EVERY
def test_metal_keeps_its_volume_at_every_point(name: str) -> None:
    _, outcome = done(name)
    points, reach = inside(outcome.bar, 3000, 1), 2e-7
    columns, way = [], steps_back(outcome.bar.material, points)[1]
    whole = way >= 0
    for axis in range(3):
        aside = np.zeros((3, 1))
        aside[axis] = reach
        (ahead, way_ahead), (behind, way_behind) = (
            steps_back(outcome.bar.material, points + s * aside) for s in (1, -1)
        )
        columns.append((ahead - behind) / (2 * reach))
        whole &= (way_ahead == way) & (way_behind == way)
    determinant = np.linalg.det(np.stack(columns, axis=1).transpose(2, 0, 1))[whole]
    assert whole.mean() > 0.8
    np.testing.assert_allclose(determinant, 1.0, rtol=0, atol=EXAMPLES[name].within)


@EVERY
def test_the_slope_a_map_gives_is_its_own(name: str) -> None:
    for one, points in new_maps(name, 2):
        given, measured = one.slope(points), PointMap.slope(one, points)
        whole = np.abs(measured).max((0, 1)) < 100  # a difference across a seam is no slope
        np.testing.assert_allclose(given[..., whole], measured[..., whole], atol=1e-5)
        determinant = np.linalg.det(given.transpose(2, 0, 1))
        np.testing.assert_allclose(determinant, 1.0, rtol=0, atol=EXAMPLES[name].within)


@EVERY
def test_a_slope_carried_along_is_that_of_the_heights_and_takes_their_way(name: str) -> None:
    """Through joins and pieces too: the same leaf and the same way as without it, and the gradient is what the height
    in the laminate rises by from one side of a point to the other, where both lie in one piece.
    """
    bar, reach = done(name)[1].bar, 1e-7
    points = inside(bar, 400, 7)
    found, plain = slope(bar.material, points), trace(bar.material, *points)
    for one, other in ((found.z, plain.z), (found.leaf, plain.leaf), (found.key, plain.key)):
        np.testing.assert_allclose(one, np.broadcast_to(other, one.shape), rtol=0, atol=1e-12)
    for axis in range(3):
        aside = np.zeros((3, 1))
        aside[axis] = reach
        ahead, behind = (trace(bar.material, *(points + s * aside)) for s in (1, -1))
        whole = np.broadcast_to((ahead.key == found.key) & (behind.key == found.key), found.z.shape)
        rise = np.broadcast_to((ahead.z - behind.z) / (2 * reach), found.z.shape)
        np.testing.assert_allclose(found.gradient[axis][whole], rise[whole], rtol=0.02, atol=0.01)
        assert whole.mean() > 0.8


@EVERY
def test_back_and_forth_again_is_where_it_was(name: str) -> None:
    for one, points in new_maps(name, 3, 2000):
        again = one.forward(one.backward(points).points)
        np.testing.assert_allclose(again, points, rtol=0, atol=2e-6 if EXAMPLES[name].within == NUMERIC else 1e-10)


@EVERY
def test_maps_do_not_write_into_what_they_are_given(name: str) -> None:
    for one, points in new_maps(name, 4):
        kept = points.copy()
        points.flags.writeable = False
        before = one.backward(points).points
        before.flags.writeable = False
        one.forward(before)
        np.testing.assert_array_equal(points, kept)


@EVERY
def test_single_precision_stays_single(name: str) -> None:
    for one, points in new_maps(name, 5):
        exact, single = one.pull(*points), one.pull(*points.astype(np.float32))
        assert {a.dtype for a in single[:3]} == {np.dtype(np.float32)}
        for a, b in zip(single[:3], exact[:3], strict=True):
            np.testing.assert_allclose(a, b, rtol=0, atol=2e-7)


@EVERY
def test_rows_and_columns_give_the_same_as_full_arrays(name: str) -> None:
    bar = done(name)[1].bar
    x, y = np.linspace(-0.4, 0.4, 7)[None, :] * bar.length, np.linspace(-0.37, 0.37, 5)[:, None] * bar.width
    z = np.array([[0.21 * bar.thickness]])
    full = [np.ascontiguousarray(np.broadcast_to(a, (5, 7))) for a in (x, y, z)]
    for one, _ in new_maps(name):
        for small, large in zip(one.pull(x, y, z)[:3], one.pull(*full)[:3], strict=True):
            np.testing.assert_allclose(np.broadcast_to(small, (5, 7)), large, rtol=0, atol=1e-12)


@EVERY
def test_a_step_reads_back_from_its_repr(name: str) -> None:
    one = EXAMPLES[name].step
    assert eval(repr(one), {type(one).__name__: type(one)}) == one


@EVERY
def test_a_map_reads_back_from_its_repr(name: str) -> None:
    for one, _ in new_maps(name):
        assert eval(repr(one), {"np": np, "inf": np.inf, **types_in(one)}) == one


def types_in(value: object) -> dict[str, type]:
    """The types a value is made of, by name."""
    if isinstance(value, tuple) and type(value) is tuple:
        return {k: v for inner in value for k, v in types_in(inner).items()}
    fields = getattr(value, "__dict__", {})
    inner = [types_in(v) for v in fields.values()]
    return {type(value).__name__: type(value), **{k: v for one in inner for k, v in one.items()}}


@EVERY
def test_a_step_comes_back_from_a_recipe(name: str) -> None:
    example = EXAMPLES[name]
    text = {
        "name": "a",
        "width": "40 mm",
        "length": "120 mm",
        "stack": ["1084 3 mm"],
        "step": [as_written(example.step)],
    }
    read = build({"bar": [text]})
    assert list(read.tables.bar[0].step) == [example.step]


def as_written(one) -> dict[str, object]:
    """A step as a table of a recipe, its quantities with units."""
    schema = type(one).model_json_schema()["properties"]
    out: dict[str, object] = {}
    for key, value in one.model_dump().items():
        options = [schema[key], *schema[key].get("anyOf", [])]
        kinds = [k.value for o in options for k, shown in KIND_EXAMPLES.items() if list(shown) == o.get("examples")]
        if value is not None:
            out[key] = f"{value!r} {DOOR_UNITS[kinds[0]]}" if kinds else value
    return out


@EVERY
@pytest.mark.parametrize("how", [done, done_to_layers], ids=["worked", "as laid"])
def test_mass_closes(name: str, how) -> None:
    before, outcome = how(name)
    left = before.mass + outcome.added - outcome.lost.total - outcome.bar.mass
    assert abs(left) < 1e-12 * before.mass
    assert min(outcome.lost) > -1e-15


@EVERY
@pytest.mark.parametrize("how", [done, done_to_layers], ids=["worked", "as laid"])
def test_steel_shares_traced_are_those_of_the_ledger(name: str, how) -> None:
    bar = how(name)[1].bar
    points = inside(bar, 40_000, 6, margin=1.0)
    steel, density = steel_at(bar, points), density_at(bar, points)
    for one, share in measure(bar).shares.items():
        assert density[steel == one].sum() / density.sum() == pytest.approx(
            share, abs=0.012
        )  # four standard errors of both samples


@EVERY
def test_mass_traced_is_that_of_the_ledger(name: str) -> None:
    before, outcome = done_to_layers(name)
    bar = outcome.bar
    points = inside(bar, 60_000, 7, margin=1.0)
    start, way = steps_back(bar.material, points)
    box = 0.5 * np.array([[before.length], [before.width], [before.thickness]])
    beyond = 0.0 if bar.laminate is not None else float((np.abs(start[:, way >= 0]) - box).max())
    assert beyond < (2e-6 if EXAMPLES[name].within == NUMERIC else 1e-12), "metal from outside the bar"
    assert bar.volume * density_at(bar, points).mean() == pytest.approx(bar.mass, rel=2e-4)


def density_at(bar: Bar, points: np.ndarray) -> np.ndarray:
    """Density at points of a bar [kg/m3]."""
    sample = trace(bar.material, *points)
    out = np.empty(points.shape[1])
    for k, laminate in enumerate(bar.leaves):
        mine = np.broadcast_to(sample.leaf, out.shape) == k
        out[mine] = laminate.density[cell_of(laminate, np.broadcast_to(sample.z, out.shape)[mine])]
    return out


def test_the_same_recipe_twice_is_the_same_bar() -> None:
    text = 'do = "raindrop"\nacross = "8 mm"\ndepth = "2 mm"\nspacing = "12 mm"\nseed = 9'
    bar = EXAMPLES["raindrop"].start()
    first, second = (step(text).apply(bar, bench()).bar for _ in range(2))
    other = step(text.replace("seed = 9", "seed = 8")).apply(bar, bench()).bar
    points = inside(first, 500, 8)
    heights = [trace(b.material, *points).z for b in (first, second, other)]
    np.testing.assert_array_equal(heights[0], heights[1])
    assert np.abs(heights[0] - heights[2]).max() > 1e-4


def test_a_rounded_bar_is_refused_a_relief() -> None:
    from billet.base.messages import RefusedError

    bar = replace(EXAMPLES["ladder"].start(), corner=5.0)
    with pytest.raises(RefusedError, match="draw the bar square first"):
        EXAMPLES["ladder"].step.apply(bar, bench())
