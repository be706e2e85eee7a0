"""The hand in a draw: layers wander, and nothing else changes. Laws of mechanics are the source: the determinant of a
volume-preserving map is one, and a map that keeps the faces keeps the metal between them.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from billet.bar.bar import Bar, Laminar, Worked
from billet.bar.hand import Hand, Wave, hand_of, lifted
from billet.bar.outcome import Bench
from billet.bar.resize import reshape
from billet.bar.trace import steel_at, trace
from billet.base.shop import Shop
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import build, load
from billet.steps.join import join
from billet.steps.restack import Fold, Restack
from billet.steps.roll import Roll
from render.lines import figures
from render.request import Request
from render.session import session
from render.subject import subject_of
from tests import picture_recipes as recipes

KINDS = pytest.mark.parametrize("kind", ["press", "hammer"])
DRAWN = {"length": 0.3, "width": 0.05, "thickness": 6e-3}


def hand(kind: str = "press", strength: float = 1.0, seed: int = 5) -> Hand:
    return Hand(**DRAWN, kind=kind, strength=strength, seed=seed)


def inside(n: int = 4000, share: float = 0.49) -> Any:
    size = np.array([DRAWN["length"], DRAWN["width"], DRAWN["thickness"]])[:, None]
    return np.random.default_rng(3).uniform(-share, share, (3, n)) * size


def ledger_of(name: str = "laminate", **shop: Any) -> Ledger:
    data = recipes.laminate(41) if name == "laminate" else recipes.RECIPES[name]()
    return run(build({**data, "shop": {**recipes.SHOP, **shop}}), diffuse=False)


@KINDS
@pytest.mark.parametrize("strength", [0.5, 1.0, 1.5])
def test_the_volume_is_kept_at_every_point(kind: str, strength: float) -> None:
    by = hand(kind, strength)
    jacobian = np.moveaxis(by.slope(inside()), 2, 0)
    assert np.abs(np.linalg.det(jacobian) - 1).max() < 1e-3


@KINDS
def test_there_and_back(kind: str) -> None:
    by, points = hand(kind), inside()
    assert by.backward(by.forward(points)).points == pytest.approx(points, abs=1e-9)


@KINDS
def test_faces_and_ends_stay_where_they_are_and_layers_between_wander(kind: str) -> None:
    points = inside(share=0.4)
    for side in (-1, 1):
        face = points.copy()
        face[2] = side * 0.5 * DRAWN["thickness"]
        assert hand(kind).backward(face).points[2] == pytest.approx(face[2], abs=1e-12)
        end = points.copy()
        end[0] = side * 0.5 * DRAWN["length"]
        assert hand(kind).backward(end).points[0] == pytest.approx(end[0], abs=1e-12)
    moved = hand(kind).backward(points).points[2] - points[2]
    assert 0.005 < moved.std() / (0.5 * DRAWN["thickness"]) < 0.05


def test_a_hammer_leaves_shorter_waves_than_a_press() -> None:
    """Crossings of zero along the bar; a wave crosses twice."""
    x = np.linspace(-0.15, 0.15, 3001)
    crossings = []
    for kind in ("press", "hammer"):
        counted = []
        for seed in range(8):
            z = hand(kind, seed=seed).height(x, np.zeros_like(x), np.full_like(x, 1.5e-3)) - 1.5e-3
            counted.append(np.count_nonzero(np.diff(np.sign(z))))
        crossings.append(np.mean(counted))
    assert crossings[1] > 1.7 * crossings[0]


def test_every_bar_and_every_draw_has_its_own_and_keeps_it() -> None:
    sizes = (0.3, 0.05, 6e-3, 9e-3)
    one, again, step, bar = (hand_of("press", 1.0, n, k, *sizes) for n, k in (("a", 3), ("a", 3), ("a", 4), ("b", 3)))
    assert one == again
    assert len({one.seed, step.seed, bar.seed}) == 3  # type: ignore[union-attr]
    assert hand_of("rolled", 1.0, "a", 3, *sizes) is None
    assert hand_of("press", 0.0, "a", 3, *sizes) is None


@pytest.mark.parametrize("name", ["laminate", "ladder", "twist", "seamed"])
def test_without_strength_pictures_are_the_same_bit_for_bit(name: str) -> None:
    request = Request(view="right", width=300)
    drawn = [
        session(ledger_of(name, **shop), request).codes()
        for shop in ({}, {"hand": "rolled"}, {"hand": "press", "hand_strength": 0.0}, {"hand": "press"})
    ]
    assert np.array_equal(drawn[0], drawn[1])
    assert np.array_equal(drawn[0], drawn[2])
    assert not np.array_equal(drawn[0], drawn[3])


@KINDS
def test_the_ledger_of_a_laminar_bar_does_not_know_the_hand(kind: str) -> None:
    plain, drawn = ledger_of("laminate"), ledger_of("laminate", hand=kind)
    for before, after in zip(plain.bars[-1].rows, drawn.bars[-1].rows, strict=True):
        assert before.measures == after.measures
        assert before.bar.mass == after.bar.mass
        assert before.bar.layers_counted == after.bar.layers_counted


@pytest.mark.parametrize("name", ["laminate", "ladder", "seamed", "twist"])
def test_the_metal_is_shared_out_as_before(name: str) -> None:
    """Shares of steels sampled through the bar, with and without a hand: within a hundredth."""
    shares = []
    for shop in ({}, {"hand": "press"}):
        bar = ledger_of(name, **shop).last
        size = np.array([bar.length, bar.width, bar.thickness])[:, None]
        found = steel_at(bar, np.random.default_rng(1).uniform(-0.49, 0.49, (3, 40_000)) * size)
        shares.append([np.mean(found == s) for s in ("1084", "15N20")])
    assert shares[1] == pytest.approx(shares[0], abs=0.01)


@KINDS
def test_lines_and_core_lines_stay_within_what_the_waves_move(kind: str) -> None:
    """A layer shifted by d comes out d / tan(theta) further up the face (plain geometry); three deviations are allowed."""
    bar = {
        "name": "clad",
        "width": "54 mm",
        "length": "150 mm",
        "stack": ["1075 3 mm", "W2 2 mm", "1075 3 mm"],
        "step": [recipes.WELD, recipes.draw("3.6 mm", "54 mm")],
    }
    faces = []
    for shop in ({}, {"hand": kind}):
        data = {"title": "Clad", "shop": {**recipes.SHOP, **shop}, "bar": [bar], "blade": recipes.BLADE}
        subject, _ = subject_of(run(build(data), diffuse=False), Request())
        assert subject.blade is not None and subject.placement is not None
        faces.append([figures(subject.bar, subject.blade, subject.placement, s) for s in ("left", "right")])
    tan = (2.5e-3 - 0.3e-3) / (2 * 48e-3)
    for before, after in zip(*faces, strict=True):
        assert before.core_line is not None and after.core_line is not None
        assert abs(after.core_line - before.core_line) < 3 * 0.03 * 1.8e-3 / tan
    plain, drawn = (
        figures(s.bar, s.blade, s.placement, "right")  # type: ignore[arg-type]
        for s in (subject_of(ledger_of("laminate", **shop), Request())[0] for shop in ({}, {"hand": kind}))
    )
    assert abs(drawn.lines - plain.lines) <= 4


def pressed(name: str = "bar") -> Bar:
    """A drawn laminar bar with the hand of a press in it."""
    data = recipes.laminate(11)
    data["bar"][0]["name"] = name
    data["bar"][0]["step"] = [recipes.WELD, recipes.draw("8 mm", "54 mm")]
    return run(build({**data, "shop": {**recipes.SHOP, "hand": "press"}}), diffuse=False).last


@pytest.mark.parametrize("pieces", [1, 3])
def test_waves_are_drawn_with_the_bar_they_are_in(pieces: int) -> None:
    """A draw without a hand of its own stretches all there is alike: heights in the laminate, at the same share of every
    side, are the old ones by the share of the thickness. One piece or several, single points or a block of a picture.
    """
    bar = pressed()
    if pieces > 1:
        bar = Restack(do="restack", pieces=pieces).apply(bar, Bench(Shop(), 7, diffuse=False)).bar
    after = reshape(bar, bar.length * 2.5, bar.width * 0.8, bar.thickness * 0.5)
    share = np.random.default_rng(4).uniform(-0.48, 0.48, (3, 4000))
    before, now = (lifted(b.waves, *(share * np.array([[b.length], [b.width], [b.thickness]]))) for b in (bar, after))
    np.testing.assert_allclose(now, 0.5 * before, rtol=0, atol=1e-10)
    assert np.abs(before - share[2] * bar.thickness).max() > 20e-6
    row, column = share[0, :50][None, :], share[1, :40][:, None]
    height = np.broadcast_to(0.3 + 0.1 * row, (40, 50))
    block, drawn = (lifted(b.waves, row * b.length, column * b.width, height * b.thickness) for b in (bar, after))
    np.testing.assert_allclose(drawn, 0.5 * block, rtol=0, atol=4e-6)


@pytest.mark.parametrize(
    "step", [Restack(do="restack", pieces=3), Restack(do="restack", pieces=4, flip="alternate"), Fold(do="fold")]
)
def test_laid_up_pieces_carry_the_waves_they_had_in_the_bar(step: Restack | Fold) -> None:
    """The same restack of a bar whose waves are a map over it, which is cut up by other code: the same steel everywhere."""
    bar = pressed()
    assert isinstance(bar.material, Laminar)
    (wave,) = bar.waves
    over = replace(bar, material=Worked(Laminar(bar.material.laminate), wave.hand))
    bench = Bench(Shop(face_cleanup="0.3 mm"), 7, diffuse=False)  # type: ignore[arg-type]
    one, other = (step.apply(b, bench).bar for b in (bar, over))
    size = np.array([one.length, one.width, one.thickness])[:, None]
    points = np.random.default_rng(2).uniform(-0.49, 0.49, (3, 20_000)) * size
    assert np.mean(steel_at(one, points) == steel_at(other, points)) > 0.999


@pytest.mark.parametrize("turn", [None, "over", "end for end"])
@pytest.mark.parametrize("how", ["layers", "side by side"])
def test_joined_pieces_carry_the_waves_they_had_in_the_bar(how: Any, turn: Any) -> None:
    """The same join of a bar whose waves are a map over it: the same steel everywhere."""
    bar = pressed()
    assert isinstance(bar.material, Laminar)
    over = replace(bar, material=Worked(Laminar(bar.material.laminate), bar.waves[0].hand))
    bench = Bench(Shop(face_cleanup="0.3 mm"), 7, diffuse=False)  # type: ignore[arg-type]
    one, other = (join("j", [(b, turn), (b, None)], how, bench).bar for b in (bar, over))
    size = np.array([one.length, one.width, one.thickness])[:, None]
    points = np.random.default_rng(2).uniform(-0.49, 0.49, (3, 20_000)) * size
    assert np.mean(steel_at(one, points) == steel_at(other, points)) > 0.999


def test_a_picture_asked_in_blocks_and_point_by_point_is_one() -> None:
    """Grids, single points in double and in single precision take three ways through the same waves: within 2
    micrometres, a tenth of a fine layer."""
    bar = Restack(do="restack", pieces=4).apply(pressed(), Bench(Shop(), 7, diffuse=False)).bar
    x = np.linspace(-0.4, 0.4, 90)[None, :] * bar.length
    y = np.linspace(-0.4, 0.4, 70)[:, None] * bar.width
    z = 0.45 * bar.thickness * np.sin(9 * x / bar.length + 40 * y)
    grid = trace(bar.material, x, y, z).z
    flat = [np.broadcast_to(a, z.shape).ravel() for a in (x, y, z)]
    assert trace(bar.material, *flat).z == pytest.approx(grid.ravel(), abs=1e-9)
    single = trace(bar.material, *(a.astype(np.float32) for a in flat)).z
    assert single == pytest.approx(grid.ravel(), abs=2e-6)


def test_turning_a_bar_over_turns_its_waves() -> None:
    bar = pressed()
    over = Roll(do="roll", quarters=2).apply(bar, Bench(Shop(), 7)).bar
    points = inside(500) * np.array([[0.5], [0.9], [1.0]])
    turned = points * np.array([[1.0], [-1.0], [-1.0]])
    assert np.mean(steel_at(bar, points) == steel_at(over, turned)) > 0.998


def test_a_strength_past_reason_is_refused() -> None:
    with pytest.raises(ValidationError):
        Shop(hand="press", hand_strength=9)


DEMOS = Path(__file__).parents[1] / "demo_billets"


@pytest.mark.parametrize("width", [1000, 2400])
@pytest.mark.parametrize("demo", ["slicer", "santoku", "chef"])
def test_a_picture_lifted_between_columns_is_lifted_point_by_point_to_two_micrometres(demo: str, width: int) -> None:
    drawing = session(run(load(DEMOS / f"{demo}.toml"), diffuse=False), Request("right", width=width))
    window, material = drawing.window("right"), drawing.subject.bar.material
    assert isinstance(material, Laminar) and any(isinstance(wave, Wave) for wave in material.waves)
    view = drawing.subject.view("right", window, np.float64)
    x, y, z = view.surface.grid(slice(0, window.rows), slice(0, window.cols))
    one = lifted(material.waves, *(a.ravel() for a in np.broadcast_arrays(x, y, z))).reshape(z.shape)
    metal = view.region.whole(window.rows, window.cols) == 1
    assert np.abs(lifted(material.waves, x, y, z) - one)[:-1, :-1][metal].max() < 2e-6
    assert np.abs(one - z)[:-1, :-1][metal].max() > 20e-6
