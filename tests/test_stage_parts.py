"""The life of a knife told in a handful of parts: nothing is left out and nothing told twice."""

from pathlib import Path

import pytest

from billet.ledger.run import run
from billet.recipe.read import load
from billet.stages import BLADE_VERBS, stages
from billet.stages.in_short import MOST_BARS, PARTS, in_parts

DEMOS = Path(__file__).parent.parent / "demo_billets"


@pytest.mark.parametrize("name", ["chef", "twist_bars", "order"])
def test_the_parts_hold_all_the_time_there_is(name: str) -> None:
    recipe = load(DEMOS / f"{name}.toml")
    every = stages(recipe, run(recipe, diffuse=False))
    parts = in_parts(every)
    assert sum(p.minutes for p in parts) == pytest.approx(sum(s.minutes or 0.0 for s in every))
    assert (parts[0].first, parts[-1].last) == (every[0], every[-1])
    ends = [every.index(p.last) for p in parts]
    assert [every.index(p.first) for p in parts] == [0, *(end + 1 for end in ends[:-1])]


def test_many_bars_are_told_as_one() -> None:
    recipe = load(DEMOS / "twist_bars.toml")
    names = [p.name for p in in_parts(stages(recipe))]
    assert len(recipe.tables.bar) > MOST_BARS
    assert names == [f"forge {len(recipe.tables.bar)} bars", *PARTS]


def test_every_stage_of_a_blade_belongs_to_a_part() -> None:
    assert {do for dos in PARTS.values() for do in dos} == set(BLADE_VERBS)
