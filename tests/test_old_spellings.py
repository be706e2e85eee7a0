"""Recipes of version 1 load for ever: every old word is read as the one that took its place."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from billet.base.errors import InputError
from billet.recipe.old_spellings import KEYS, STEPS, respelt
from billet.recipe.read import build, load

HERE = Path(__file__).parent
START = '[[bar]]\nname = "b"\nwidth = "40 mm"\nlength = "400 mm"\nstack = ["1084 9 mm", "15N20 9 mm"]\n'
BLADE = '[blade]\nlength = "90 mm"\nheel_height = "30 mm"\n'
HOT = 'temperature = "1150 C"\nsoak = "5 min"\n'
# Every old word where it can stand; the rest of each table is in today's spelling.
STEP_WORDS = {
    "heat": 'do = "weld"\n{word} = "1150 C"\nsoak = "5 min"',
    "time": 'do = "weld"\ntemperature = "1150 C"\n{word} = "5 min"',
    "made": 'do = "ladder"\npitch = "9 mm"\ngroove = "6 mm"\ndepth = "2 mm"\n{word} = "pressed"',
    "by": 'do = "end_grain"\n{word} = "slices"\nsegment = "4 mm"',
    "flat": 'do = "ladder"\npitch = "9 mm"\ngroove = "6 mm"\ndepth = "2 mm"\n{word} = "5 mm"',
    "thick": f'do = "draw"\n{HOT}{{word}} = "9 mm"\nwidth = "40 mm"',
    "wide": f'do = "draw"\n{HOT}{{word}} = "40 mm"\nthickness = "9 mm"',
    "long": f'do = "draw"\n{HOT}{{word}} = "700 mm"\nthickness = "9 mm"',
    "on": 'do = "bulge"\namount = 0.5\n{word} = "bias"',
    "web": 'do = "end_grain"\nmethod = "accordion"\nsegment = "8 mm"\n{word} = "4 mm"',
    "turn": 'do = "restack"\npieces = 3\n{word} = "alternate"',
}
STEP_NAMES = {
    "turn": 'do = "{word}"\nquarters = 2',
    "stand": 'do = "{word}"',
    "surface": 'do = "{word}"\ntop = "1 mm"',
    "tile": 'do = "{word}"\ngrid = 2',
    "shape": 'do = "{word}"\nshare = 0.5',
}
TABLE_WORDS = {
    ("join", "turn"): START + '[[bar]]\nname = "c"\nas = "layers"\njoin = ["b", {{ bar = "b", {word} = "over" }}]\n',
    ("shop", "by"): '[shop]\n{word} = "hand"\n',
    ("hardening", "heat"): '[hardening]\n{word} = "810 C"\n',
    ("hardening", "time"): '[hardening]\n{word} = "8 min"\n',
    ("temper", "heat"): '[hardening.temper]\n{word} = "200 C"\n',
    ("temper", "time"): '[hardening.temper]\n{word} = "1 h"\n',
}


def tables(text: str) -> Any:
    """The values of a recipe."""
    return build(tomllib.loads(text), text).tables


def test_every_old_word_has_its_case() -> None:
    assert set(STEP_WORDS) == set(KEYS["step"])
    assert set(STEP_NAMES) == set(STEPS)
    assert set(TABLE_WORDS) == {(t, w) for t, words in KEYS.items() if t != "step" for w in words}


@pytest.mark.parametrize("old", STEP_WORDS)
def test_an_old_key_of_a_step_says_what_the_new_one_says(old: str) -> None:
    text = START + "[[bar.step]]\n" + STEP_WORDS[old]
    assert tables(text.format(word=old)) == tables(text.format(word=KEYS["step"][old]))


@pytest.mark.parametrize("old", STEP_NAMES)
def test_an_old_name_of_a_step_is_the_new_step(old: str) -> None:
    text = START + "[[bar.step]]\n" + STEP_NAMES[old] + "\n" + BLADE
    made = tables(text.format(word=old))
    assert made == tables(text.format(word=STEPS[old]))
    assert made.bar[0].step[0].verb == STEPS[old]


@pytest.mark.parametrize(("table", "old"), TABLE_WORDS)
def test_an_old_key_of_a_table_says_what_the_new_one_says(table: str, old: str) -> None:
    text = TABLE_WORDS[table, old]
    assert tables(text.format(word=old)) == tables(text.format(word=KEYS[table][old]))
    assert tables(text.format(word=old)) != tables(START)


def test_a_weld_inside_a_restack_is_read_in_old_words_too() -> None:
    inside = 'do = "restack"\npieces = 3\nweld = {{ {heat} = "1150 C", {time} = "5 min" }}'
    text = START + "[[bar.step]]\n" + inside
    assert tables(text.format(heat="heat", time="time")) == tables(text.format(heat="temperature", time="soak"))


def test_both_spellings_at_once_are_refused_with_the_line() -> None:
    text = START + '[[bar.step]]\ndo = "weld"\nheat = "1150 C"\ntemperature = "1150 C"\nsoak = "5 min"\n'
    with pytest.raises(InputError, match="line 8: heat and temperature say the same thing here; keep temperature"):
        build(tomllib.loads(text), text)


def test_what_is_wrong_under_an_old_word_is_told_on_its_line() -> None:
    text = START + '[[bar.step]]\ndo = "weld"\nheat = "1150 bananas"\ntime = "5 min"\n'
    with pytest.raises(InputError, match="line 8: "):
        build(tomllib.loads(text), text)


def test_the_oldest_recipe_is_read_as_its_later_self() -> None:
    old = load(HERE / "old_recipes" / "version_1.toml")
    assert {(w.old, w.new) for w in old.old_words} == {("heat", "temperature"), ("time", "soak")}
    assert respelt(tomllib.loads(old.text))[0]["bar"][0]["step"][0]["temperature"] == "1150 C"


def test_check_names_each_new_word_once() -> None:
    words = [sys.executable, "-m", "billet.cli", "check", str(HERE / "old_recipes" / "version_1.toml")]
    told = subprocess.run(words, capture_output=True, text=True, check=True).stdout
    assert told.count("heat is now temperature") == told.count("time is now soak") == 1
