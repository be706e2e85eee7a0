"""The life of a knife in stages: the order is common practice, no source; sizes are those the recipe and its ledger give."""

from pathlib import Path

import pytest

from billet.ledger.run import run
from billet.recipe.read import load
from billet.stages import BLADE_VERBS, Stage, stages, verb_of
from billet.stages.stage_names import SYNONYMS

DEMOS = Path(__file__).parent.parent / "demo_billets"
RECIPES = sorted(path for path in DEMOS.glob("*.toml") if "[[bar]]" in path.read_text("utf-8"))


def _blade(every: tuple[Stage, ...]) -> list[Stage]:
    return [stage for stage in every if stage.kind == "blade"]


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_the_bars_steps_come_first_and_the_blades_go_on_to_the_edge(path: Path) -> None:
    recipe = load(path)
    every = stages(recipe)
    bars = [stage.bar for stage in every if stage.kind == "bar"]
    assert list(dict.fromkeys(bars)) == [bar.name for bar in recipe.tables.bar]
    assert [stage.kind for stage in every] == ["bar"] * len(bars) + ["blade"] * len(_blade(every))
    assert list(dict.fromkeys(stage.do for stage in _blade(every))) == list(BLADE_VERBS)
    assert len({stage.key for stage in every}) == len(every)
    assert len({(stage.bar, stage.name) for stage in every}) == len(every)
    numbers = [stage.number for stage in _blade(every)]
    assert numbers == list(range(every[len(bars) - 1].number + 1, numbers[-1] + 1))


def test_sizes_are_those_of_the_ledger_and_of_the_design() -> None:
    recipe = load(DEMOS / "chef.toml")
    book = run(recipe)
    every = stages(recipe, book)
    row = book.bars[-1].rows[-1]
    last = next(stage for stage in every if stage.number == row.number)
    assert dict(last.sizes)["thickness"] == row.bar.thickness
    assert dict(last.sizes)["mass"] == pytest.approx(row.bar.volume * row.bar.mean_density)
    spine, edge = recipe.tables.blade.spine, recipe.tables.blade.edge
    sizes = {stage.do: dict(stage.sizes) for stage in _blade(every)}
    assert (sizes["harden"]["spine.heel"], sizes["harden"]["edge"]) == (spine.at("hardening").heel, edge.hardening)
    assert (sizes["thin"]["spine.tip"], sizes["thin"]["edge"]) == (spine.finished.tip, edge.finished)


def test_tempers_are_told_apart() -> None:
    names = [stage.name for stage in stages(load(DEMOS / "chef.toml"))]
    assert names[names.index("first temper") + 1] == "second temper"
    assert "first weld" in names and "temper" not in names


@pytest.mark.parametrize(
    ("word", "verb"),
    [("quench", "harden"), ("Thinning", "thin"), ("HT", "harden"), ("roughing", "rough grind"), ("glue-up", "handle"),
     ("drawing  out", "draw"), ("hammering", None)],
)  # fmt: skip
def test_other_words_for_a_stage(word: str, verb: str | None) -> None:
    assert verb_of(word) == verb


def test_no_word_means_two_stages() -> None:
    words = [word for verb, others in SYNONYMS.items() for word in (verb, *others)]
    assert len(words) == len(set(words))


def test_every_stage_of_the_blade_says_what_to_do_and_how_long() -> None:
    for stage in _blade(stages(load(DEMOS / "chef.toml"))):
        assert stage.what.say("imperial")
        assert stage.minutes and stage.minutes > 0
