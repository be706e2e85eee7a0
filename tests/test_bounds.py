"""Slips of the pen and bars past any workshop are refused in a sentence, before memory or time is spent on them."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.base.interpolation import Sheet
from billet.base.messages import RefusedError
from billet.base.shop import Shop
from billet.cli import app
from billet.forming.relief_flattening import grid_of, means_of
from billet.forming.relief_shapes import Blows, Dimples, Picture
from billet.plan.recipe_text import shop_table
from billet.recipe.read import build
from render.request import read_crop
from tests import picture_recipes as recipes
from tests.examples import bench, marked, square, step

SHEETS = [
    Dimples(4e-3, 1e-4, 6e-3, "staggered", 1),
    Blows(10e-3, 1e-4, 1),
    Picture((bytes(8),) * 8, 20e-3, 20e-3, 1e-4, "top", 1e-3),
]


@pytest.mark.parametrize("hollows", SHEETS, ids=["raindrop", "hammer", "relief"])
@pytest.mark.parametrize(("length", "width"), [(12.0, 4e-3), (50.0, 1e-3), (3000.0, 0.25e-3)])
def test_a_relief_on_a_bar_drawn_to_a_wire_is_refused_before_anything_is_laid_out(hollows, length, width) -> None:  # type: ignore[no-untyped-def]
    tracemalloc.start()
    try:
        with pytest.raises(RefusedError, match="GB of memory") as refused:
            means_of(hollows, length, width)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert f"{width * 1e3:.2f} mm wide" in str(refused.value)
    assert most < 5e6


@pytest.mark.parametrize(("length", "width"), [(0.3, 0.05), (0.15, 4e-3), (0.6, 0.3), (0.1, 0.25e-3)])
def test_bars_of_a_workshop_fit_the_budget(length: float, width: float) -> None:
    x, y = grid_of(Dimples(4e-3, 1e-4, 6e-3, "staggered", 1), length, width)
    assert min(len(x), len(y)) >= 48 and len(x) * len(y) <= 1_500_000


def test_millions_of_single_points_take_no_more_memory_than_a_block_of_them() -> None:
    """Sixteen samples of two fields a point would be 256 bytes a point at least, all at once."""
    rng = np.random.default_rng(3)
    sheet = Sheet(1.0, 1.0, rng.standard_normal((2, 40, 40)), ((False, False), (False, False)))
    x, y = rng.uniform(-0.5, 0.5, (2, 1000, 1000))
    parts = [sheet(x[k], y[k]) for k in (0, 999)]
    tracemalloc.start()
    try:
        whole = sheet(x, y)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 100 * x.size
    for k, part in zip((0, 999), parts, strict=True):
        np.testing.assert_array_equal([w[k] for w in whole], part)


@pytest.mark.parametrize("turns", ["501", "1e9", "-1e300", "[1, 2, 600]"])
def test_a_twist_past_any_workshop_is_refused(turns: str) -> None:
    with pytest.raises(RefusedError, match="no bar is wound"):
        step(f'do = "twist"\nturns = {turns}').apply(square(), bench())


@pytest.mark.parametrize("soak", ["0.5 s", "1e-300 s", "0.001 min"])
@pytest.mark.parametrize("do", ['"weld"', '"heat"', '"twist"\nturns = 1'])
def test_a_soak_of_next_to_nothing_is_a_slip_of_the_pen(soak: str, do: str) -> None:
    with pytest.raises(ValueError, match="a second or more"):
        step(f'do = {do}\ntemperature = "1100 C"\nsoak = "{soak}"')


@pytest.mark.parametrize("soak", ["0 s", "1 s", "5 min"])
def test_no_soak_and_a_short_one_are_taken(soak: str) -> None:
    assert step(f'do = "heat"\ntemperature = "1100 C"\nsoak = "{soak}"').apply(marked(), bench()).bar.thickness > 0


@pytest.mark.parametrize("size", ["0.000001 mm x 5 mm", "5 mm x 0.01 mm", "2 m x 2 m", "1e300 mm x 1 mm"])
def test_a_piece_too_small_or_too_large_to_look_at_is_refused(size: str) -> None:
    with pytest.raises(InputError, match="--crop"):
        read_crop(f"120 mm, 20 mm {size}")


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "knife.toml"
    path.write_text(tomlkit.dumps({**recipes.laminate(), "target": {"layers": 60}}))
    return path


@pytest.mark.parametrize(
    ("words", "names"),
    [
        (["harden", "--hardness", "nan"], "--hardness"),
        (["harden", "--hardness", "inf"], "--hardness"),
        (["harden", "--hardness", "-3"], "--hardness"),
        (["plan", "--layers", "10000000"], "layers"),
        (["plan", "--layers", "99999999999999999999999999"], "layers"),
        (["plan", "--distinct", "10000000"], "distinct"),
        (["plan", "--carbon", "nan"], "carbon"),
        (["preview", "--zoom", "1e300 mm, 10 mm"], "--zoom"),
    ],
)
def test_figures_past_anything_are_told_by_name(recipe: Path, words: list[str], names: str) -> None:
    done = CliRunner().invoke(app, [words[0], str(recipe), *words[1:]])
    assert isinstance(done.exception, InputError)
    assert names in str(done.exception)


FULL = {
    "atmosphere": "rich", "kerf": "3 mm", "scale_per_heat": "0.1 mm", "face_cleanup": "0.5 mm",
    "end_trim": {"free": "5 mm", "handle": "9 mm"}, "spread": 0.2, "press_opening": "90 mm", "press_force": "200 kN",
    "fire_length": "250 mm", "fewest_pieces": 2, "most_pieces": 7, "thinnest_piece": "8 mm", "stack_ratio": 1.2,
    "two_halves": True, "most_welds": 9, "forge_tool": "hand", "hand": "hammer", "hand_strength": 0.5,
    "fitted": "12 notes", "prices": {"money": "EUR", "hour": 40.0, "grams_a_belt": 60.0},
}  # fmt: skip


def test_a_plan_writes_every_habit_of_the_shop_back() -> None:
    assert set(FULL) == set(Shop.model_fields), "give the new habit a value here, and let shop_table write it"
    shop = build({"shop": FULL}).tables.shop
    assert build({"shop": shop_table(shop)}).tables.shop == shop
