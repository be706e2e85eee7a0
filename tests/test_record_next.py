"""The card for the next stage, told as a story of two knives a year apart. The stages are those of common practice, no
source; every figure that is checked is derived beside it."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from billet.base.messages import note
from billet.cli import app
from billet.record.entry import Entry, Measure, Place, text_sha256
from billet.record.fit import Learnt, NotYet
from billet.record.habits import Habits, learn_habits, middle
from billet.record.lessons import lessons, verb_at
from billet.record.next_card import next_stage
from billet.record.store import Bench
from billet.stages import Stage

DEMO = Path(__file__).parent.parent / "demo_billets" / "chef.toml"
LAST_YEAR, THIS_YEAR = "Smokehouse slicer of last year", "Smokehouse slicer"


def _say(*words: str) -> str:
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code in (0, 1), result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.stdout


@pytest.fixture
def forge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    text = DEMO.read_text("utf-8")
    title = next(line for line in text.splitlines() if line.startswith("title"))
    (tmp_path / "old.toml").write_text(text.replace(title, f'title = "{LAST_YEAR}"'))
    (tmp_path / "new.toml").write_text(text.replace(title, f'title = "{THIS_YEAR}"'))
    return tmp_path


def _last_years_notes(forge: Path) -> None:
    """Written through the same door, then put back a year by their clock."""
    for words in (
        "after stack 3 lb",
        "first weld wrong edges cold, 2 heats",
        "cure: two more minutes of soak",
        "after second weld 2 heats, fine",
        "quench oil 130 F bowed 1.5 mm left middle, next time hang it tip down",
        "etch 20 min, weld line opened at the heel",
    ):
        _say("record", "add", "old.toml", words)
    with Bench(forge / "bench.sqlite") as bench:
        entries, recipes = bench.entries(), bench.recipes()
    (forge / "bench.sqlite").unlink()
    with Bench(forge / "bench.sqlite") as bench:
        bench.add_all(
            [replace(one, at=one.at.replace(one.at[:4], str(int(one.at[:4]) - 1), 1)) for one in entries], recipes
        )


def _card(*stage: str) -> dict:
    return json.loads(_say("next", "new.toml", *stage, "--json"))


def test_two_knives_a_year_apart(forge: Path) -> None:
    """The right lesson at the right stage, and none where nothing went wrong."""
    _last_years_notes(forge)
    assert _card()["stage"]["name"] == "stack" and _card()["lessons"] == []
    _say("record", "add", "new.toml", "after stack 2 lb 11 oz")
    (weld,) = _card()["lessons"]
    assert _card()["stage"]["name"] == "first weld"
    assert (weld["knife"], weld["wrong"], weld["cure"]) == (LAST_YEAR, "edges cold", "two more minutes of soak")
    text = _say("next", "new.toml")
    assert text.index("edges cold") < text.index("2100 F")  # before anything else is said
    _say("record", "add", "new.toml", "first weld 2 heats")
    assert _card()["stage"]["name"] == "first draw" and _card()["lessons"] == []
    (quench,) = _card("quench")["lessons"]
    assert (quench["stage"], quench["cure"]) == ("harden", "hang it tip down")
    assert "opened at the heel" in _card("etch")["lessons"][0]["wrong"]
    for stage in ("profile", "first temper", "sharpen", "straighten"):
        assert _card(stage)["lessons"] == []


def test_the_other_commands_remind_in_one_line(forge: Path) -> None:
    _last_years_notes(forge)
    _say("record", "add", "new.toml", "after stack 2 lb 11 oz")
    line = f"last time: {LAST_YEAR}, "
    checked, hardened = (" ".join(_say(command, "new.toml").split()) for command in ("check", "harden"))
    assert "edges cold" in checked.split(line)[1]
    assert "hang it tip down" in hardened.split(line)[1]
    assert line not in _say("grind", "new.toml", "--at", "2 in spine 3.1 mm", "--no-record")
    _say("record", "add", "old.toml", "after thinning wrong blued the tip")
    assert "blued the tip" in _say("grind", "new.toml", "--at", "2 in spine 3.1 mm", "--no-record")


def test_without_a_record_there_is_a_card_and_no_lesson(forge: Path) -> None:
    assert _card()["lessons"] == []
    assert "last time" not in _say("harden", "new.toml")
    assert not (forge / "bench.sqlite").exists()


def test_a_knife_that_is_done_says_so(forge: Path) -> None:
    _say("record", "add", "new.toml", "after sharpening cuts paper")
    assert "done" in _say("next", "new.toml")
    assert _card()["stage"] is None


def test_the_heats_of_a_weld_carry_its_red_line(forge: Path) -> None:
    heats = " ".join(_card("first weld")["heats"])
    # 1084 and 15N20: their data sheets say forge below 2100 F or so (1150 C); the red line is 100 K under a solidus.
    assert "red line" in heats and "no heat to weld at" in heats


STAGE = Stage(1, "first weld", "weld", "bar", note("weld"), "billet")
NOTE = Entry("A", "2024-03-02T09:14:05.120+00:00", place=Place("billet", 1, "weld"), wrong="edges cold", id=1)
PLAIN = '[[bar]]\nstack = ["1084 3.2 mm", "15N20 1.6 mm"]\n[[bar.step]]\ndo = "weld"\n'
OTHER = '[[bar]]\nstack = ["O1 3 mm", "L6 1.6 mm"]\n[[bar.step]]\ndo = "twist"\n'
RECIPES = {text_sha256(text): text for text in (PLAIN, OTHER)}


def _of(knife: str, number: int, text: str = "", **more: object) -> Entry:
    return replace(NOTE, knife=knife, id=number, wrong=f"wrong {number}", recipe_sha256=text_sha256(text), **more)  # type: ignore[arg-type]


def _found(*entries: Entry) -> list[int]:
    return [lesson.entry for lesson in lessons(entries, RECIPES, "Mine", STAGE, PLAIN)]


def test_three_at_most_and_the_newest_first() -> None:
    assert _found(*(_of("A", number) for number in range(1, 6))) == [5, 4, 3]


def test_the_same_stage_goes_before_the_same_steel_and_that_before_the_newest() -> None:
    other_weld = _of("A", 1, PLAIN, place=Place("billet", 4, "weld"))
    assert _found(_of("A", 2, PLAIN), _of("B", 3, OTHER), other_weld) == [2, 3, 1]


def test_the_knife_it_was_started_from_goes_first() -> None:
    again = replace(NOTE, knife="Mine", wrong="", note="B", source="again", id=9, place=None)
    assert _found(_of("B", 2, OTHER), _of("A", 3, PLAIN), again) == [2, 3]


@pytest.mark.parametrize(
    "entry",
    [_of("Mine", 1), _of("A", 1, place=Place("", 9, "harden")), replace(NOTE, wrong="", note="all good"),
     replace(NOTE, place=None, wrong="cold")],
)  # fmt: skip
def test_none_where_there_is_none(entry: Entry) -> None:
    assert _found(entry) == []


def test_old_notes_without_a_stage_count_by_their_words() -> None:
    assert _found(replace(NOTE, place=None, wrong="edges cold", note="at the second welding")) == [1]


def test_among_knives_of_the_same_steels_the_same_pattern_goes_first() -> None:
    """Of two knives of the same two steels the older was left plain as this one is, the newer was twisted."""
    twisted = PLAIN + '[[bar.step]]\ndo = "twist"\n'
    kept = {**RECIPES, text_sha256(twisted): twisted}
    entries = [_of("A", 1, PLAIN), _of("B", 2, twisted)]
    assert [lesson.entry for lesson in lessons(entries, kept, "Mine", STAGE, PLAIN)] == [1, 2]


def test_a_cure_alone_is_a_lesson_and_one_that_was_told_with_its_fault_is_none() -> None:
    """Something learnt where nothing went wrong counts; an answer to a fault stands beside the fault, once."""
    cure = replace(NOTE, wrong="", cure="two more minutes of soak", id=2)
    assert _found(cure) == [2]
    (told,) = lessons([NOTE, cure], RECIPES, "Mine", STAGE, PLAIN)
    assert (told.entry, told.wrong, told.cure) == (1, "edges cold", "two more minutes of soak")


def test_every_stage_of_the_blade_carries_its_own_advice(forge: Path) -> None:
    """Straightening is told how to straighten, and no other stage is; profile and etch ask the figures for nothing."""
    straight, normal = (" ".join(_card(name)["heats"]) for name in ("straighten", "first normalise"))
    assert "straight" in straight.lower()
    assert straight and normal and straight != normal
    assert "straighten" not in normal.lower()
    assert _card("profile")["heats"] == [] and _card("etch")["heats"] == []


def test_a_corrected_mistake_is_no_lesson() -> None:
    assert _found(_of("A", 1), replace(NOTE, id=2, corrects=1, wrong="", note="it was only soot")) == []


def test_the_same_words_twice_are_one_lesson() -> None:
    assert _found(NOTE, replace(NOTE, knife="B", id=2)) == [2]


@pytest.mark.parametrize(
    ("name", "verb"), [("first temper", "temper"), ("rough grind", "rough grind"), ("11th temper", "temper")]
)
def test_a_stages_name_tells_its_work(name: str, verb: str) -> None:
    assert verb_at(name) == verb


def test_the_next_stage_follows_the_farthest_noted() -> None:
    every = (
        replace(STAGE, number=0, name="stack", do="stack"),
        STAGE,
        replace(STAGE, number=2, name="draw", do="draw"),
    )
    assert next_stage(every, (), "A") is every[0]
    assert next_stage(every, (NOTE, replace(NOTE, id=2, place=Place("billet", 0, "stack"))), "A") is every[2]
    assert next_stage(every, (NOTE,), "B") is every[0]
    assert (
        next_stage(every, (replace(NOTE, place=Place("billet", 7, "draw")),), "A") is None
    )  # the recipe was renumbered


def test_too_few_figures_are_refused() -> None:
    assert middle("oven", [1.0, 2.0, 3.0, 4.0, 5.0]) == NotYet("oven", 5, 6)


@pytest.mark.parametrize("count", [6, 8, 15])
def test_the_truth_lies_in_the_interval_nine_times_in_ten(count: int) -> None:
    """Seeded draws about a known middle, one in eight a slip of the pen; 200 intervals: 180 +- 2 x 4.2 (binomial)."""
    random = np.random.default_rng(count)
    held = 0
    for _ in range(200):
        values = random.normal(8.0, 3.0, count)
        if count >= 8:
            values[0] += random.choice([0.0, 30.0])
        found = middle("oven", values.tolist())
        assert isinstance(found, Learnt)
        held += found.low <= 8.0 <= found.high
    assert held >= 180 - 9


def _temper(number: int, **measures: float) -> Entry:
    units = {"oven": "K", "dial": "K", "hardness": "HRC", "took": "s", "belts": "1"}
    kept = tuple(Measure(name, units[name], value, "") for name, value in measures.items())
    return Entry(
        f"Knife {number}", NOTE.at, place=Place("", 9, "first temper"), measures=kept, id=number, recipe_sha256="x"
    )


def test_the_oven_the_hardness_the_time_and_the_belts_are_learnt() -> None:
    # Dial 470 K, thermometer 476 +- 1 K: 6 K hotter, 10.8 F. 60 HRC foreseen, 58.9 +- 0.1 measured. 2 h a temper.
    entries = [
        _temper(k, dial=470.0, oven=476.0 + (-1) ** k, hardness=58.9 + 0.1 * (-1) ** k, took=7200.0 * 1.1 ** ((-1) ** k), belts=3)
        for k in range(1, 9)
    ]  # fmt: skip
    habits = learn_habits(entries, {}, lambda _: 60.0)
    assert isinstance(habits.oven, Learnt) and habits.oven.value == pytest.approx(6.0, abs=0.2)
    assert isinstance(habits.hardness, Learnt) and habits.hardness.value == pytest.approx(-1.1, abs=0.05)
    minutes = habits.minutes("temper")
    assert minutes is not None and minutes.value == pytest.approx(7200, rel=0.02) and minutes.low < 7200 < minutes.high
    assert isinstance(habits.belts, Learnt) and habits.belts.value == pytest.approx(3)
    (oven,) = habits.oven_notes()
    assert "11 F hotter than its dial" in oven.say("imperial") and "lower" in oven.say("imperial")
    assert "1.1 HRC below the figures" in habits.hardness_notes()[0].say("metric")


def test_an_oven_that_may_be_right_is_left_alone() -> None:
    entries = [_temper(k, dial=470.0, oven=470.0 + 3.0 * (-1) ** k) for k in range(8)]
    assert learn_habits(entries, {}, lambda _: None).oven_notes() == ()
    assert Habits().oven_notes() == Habits().hardness_notes() == ()


def test_the_recipes_heat_stands_for_the_dial() -> None:
    entries = [_temper(k, oven=480.0 + 0.1 * k) for k in range(6)]
    found = learn_habits(entries, {"x": 470.0}, lambda _: None).oven
    assert isinstance(found, Learnt) and 10.0 < found.value < 10.5
