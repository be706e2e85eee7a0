"""What a smith is told to do at every step: the sizes the recipe asks for, the faces it names, what repeats told once. The
sentences are worked out by hand from the steps' own figures."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from billet.ledger.rows import Row
from billet.ledger.run import run
from billet.plan.step_say import about, say
from billet.recipe.read import build, plain
from billet.stages import stages
from tests.examples import EXAMPLES, bench

HEAD = 'version = 2\ntitle = "t"\nunits = "{units}"\n'
BAR = '[[bar]]\nname = "b"\nwidth = "40 mm"\nlength = "160 mm"\nstack = {stack}\nrepeat = {repeat}\n'
WELD = '[[bar.step]]\ndo = "weld"\ntemperature = "1150 C"\nsoak = "8 min"\nheats = 2\n'
PAIR = '["1084 2 mm", "15N20 1 mm"]'


def _told(step: str, units: str = "metric", stack: str = PAIR, repeat: int = 6) -> str:
    text = HEAD.format(units=units) + BAR.format(stack=stack, repeat=repeat) + WELD + step
    recipe = build(plain(text, Path("t.toml")), text, Path("t.toml"))
    every = stages(recipe, run(recipe, diffuse=False))
    return [one.what.say(units) for one in every if one.kind == "bar"][-1]


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ('do = "draw"\nthickness = "12 mm"\nwidth = "40 mm"\ntemperature = "1100 C"\nsoak = "3 min"\nheats = 2', "Draw to 12 mm x 40 mm"),
        ('do = "twist"\nturns = [2, -1]\ntemperature = "1100 C"\nsoak = "3 min"', "twist 2 turns right-handed, then 1 turn left-handed, over 2 equal parts"),
        ('do = "twist"\nturns = [2]\ntemperature = "1100 C"\nsoak = "3 min"', "twist 2 turns right-handed"),
        ('do = "twist"\nturns = -2\nhand = "left"\ntemperature = "1100 C"\nsoak = "3 min"', "twist 2 turns right-handed"),
        ('do = "draw"\nthickness = "12 mm"\nlength = "240 mm"\nhot = true\ntemperature = "1100 C"\nsoak = "3 min"', "Draw to 12 mm thick and 240 mm long, measured hot: "),
        ('do = "bulge"\namount = -0.5\nsection = "bias"', "Hollow the layers, strength 0.5, on the bias, the outside kept square"),
        ('do = "split"\ndrag = "5 mm"\nreach = "8 mm"\nalong = "thickness"', "down the middle of the thickness"),
        ('do = "end_grain"\nmethod = "slices"\nsegment = "20 mm"', "Saw one slice 20 mm long off the bar and lay its end grain up"),
        ('do = "end_grain"\nmethod = "accordion"\nsegment = "40 mm"\ntemperature = "1100 C"\nsoak = "3 min"', "leaving legs of a third of the bar"),
        ('do = "roll"\nquarters = 0', "Leave the bar as it lies"),
        ('do = "surface_grind"', "Grind nothing off"),
        ('do = "twist"\nturns = 1\nhand = "left"\ntemperature = "1100 C"\nsoak = "3 min"', "twist 1 turn left-handed"),
        ('do = "trim"\neach_end = "5 mm"', "Crop 5 mm off both ends"),
        ('do = "roll"\nquarters = 2', "Turn the bar over"),
        ('do = "roll"', "Turn the bar a quarter about its length"),
        ('do = "surface_grind"\ntop = "0.3 mm"\nbottom = "0.3 mm"', "Grind 0.3 mm off either face"),
        ('do = "surface_grind"\ntop = "0.3 mm"\nedges = "1 mm"', "Grind 0.3 mm off the top, 1 mm off either edge"),
        ('do = "hammer"\nmark = "20 mm"\ndepth = "0.5 mm"', "Hammer marks at random, 20 mm across and up to 0.5 mm deep; grind flat"),
        ('do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "1 mm"\nfaces = "top"', "Cut grooves 6 mm wide and 1 mm deep every 12 mm, the top face alone"),
        ('do = "ladder"\npitch = "12 mm"\ngroove = "6 mm"\ndepth = "1 mm"\nmethod = "pressed"\nfaces = "opposed"', "Press grooves 6 mm wide and 1 mm deep every 12 mm, both faces, over one another; grind flat"),
        ('do = "raindrop"\nacross = "6 mm"\ndepth = "1 mm"\nspacing = "10 mm"\nmethod = "pressed"', "Press dimples up to 6 mm across and 1 mm deep about every 10 mm, both faces, none opposite another; grind flat"),
        ('do = "restack"\npieces = 3', "cut in 3, grind the faces, stack all the same way up"),
        ('do = "restack"\npieces = 3\nflip = "alternate"', "cut in 3, grind the faces, stack every second piece turned over"),
        ('do = "restack"\npieces = 3\nspacer = "15N20 1 mm"', "stack all the same way up with 15N20 1 mm between"),
        ('do = "grid_restack"\ngrid = 2\norder = "same"', "cut in 4, grind the faces, lay the pieces 2 by 2, all the same way"),
        ('do = "fold"', "Score across the middle, grind the faces and fold over"),
        ('do = "miter"\nangle = "30 deg"', "Saw on the slant at 30"),
    ],
)  # fmt: skip
def test_a_step_says_what_the_recipe_asks_of_it(step: str, said: str) -> None:
    assert said in _told(f"[[bar.step]]\n{step}\n")


_NOT_SAID = {"transition", "reach", "kerf"}  # what the hand finds, or the saw takes


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_step_says_every_size_it_is_given(name: str) -> None:
    example = EXAMPLES[name]
    bar = example.step.apply(example.start(), bench()).bar
    row = Row(1, example.step.verb, bar, step=example.step)
    said = say(row, "metric", heats=False)
    given = re.findall(r'^(\w+) = "([\d.]+ mm)"', example.text, re.MULTILINE)
    assert [size for field, size in given if field not in _NOT_SAID and f"{float(size[:-3]):g} mm" not in said] == []
    assert "None" not in said and said == said.strip() and say(row, "imperial", heats=False) != ""


def test_a_picture_keeps_its_whole_name() -> None:
    relief = EXAMPLES["relief"]
    bar = relief.step.apply(relief.start(), bench()).bar
    step = relief.step.model_copy(update={"image": "scales (1).png"})
    assert "the picture scales (1).png, 60 mm long and 40 mm wide, 2 mm deep" in say(
        Row(1, "relief", bar, step=step), "metric", heats=False
    )


def test_a_heat_follows_its_sizes_and_a_weld_is_its_heat_alone() -> None:
    draw = 'do = "draw"\nthickness = "12 mm"\nwidth = "40 mm"\ntemperature = "1100 C"\nsoak = "3 min"\nheats = 2'
    assert _told(f"[[bar.step]]\n{draw}\n").endswith("; 1100 C, soak 3 min once the core is up, 2 heats")
    assert _told("") == "1150 C, soak 8 min once the core is up, 2 heats"


@pytest.mark.parametrize(
    ("stack", "repeat", "said"),
    [
        (PAIR, 6, "6 times (1084 2 mm, 15N20 1 mm)"),
        ('["1084 2 mm"]', 5, "5 of 1084 2 mm"),
        ('["15N20 3 mm", "1084 2 mm", "15N20 1 mm", "1084 2 mm", "15N20 1 mm", "W2 4 mm"]', 1, "15N20 3 mm; 2 times (1084 2 mm, 15N20 1 mm); W2 4 mm"),
        ('["1084 2 mm", "15N20 1 mm", "W2 4 mm"]', 1, "1084 2 mm, 15N20 1 mm, W2 4 mm"),
        ('["1084 2 mm", "1084 2 mm", "15N20 1 mm"]', 3, "3 times (1084 2 mm, 1084 2 mm, 15N20 1 mm)"),
    ],
)  # fmt: skip
def test_plates_that_repeat_are_told_once(stack: str, repeat: int, said: str) -> None:
    text = HEAD.format(units="metric") + BAR.format(stack=stack, repeat=repeat)
    recipe = build(plain(text, Path("t.toml")), text, Path("t.toml"))
    assert stages(recipe, run(recipe, diffuse=False))[0].what.say("metric") == f"Stack, lowest first: {said}"


@pytest.mark.parametrize(
    ("inches", "said"),  # a tape: sixteenths on a stack, eighths along a bar
    [
        (0.9375, "15/16 in"),
        (1.428, "1 7/16 in"),
        (1.76, "1 3/4 in"),
        (7.7, "7 3/4 in"),
        (12.02, "12 in"),
        (0.01, "0.01 in"),
    ],
)
def test_what_comes_out_is_told_as_a_tape_shows_it(inches: float, said: str) -> None:
    assert about(inches * 0.0254, "imperial") == said
