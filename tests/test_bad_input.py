"""Bad input gets one sentence that names the place and the remedy; nothing is written and the exit code is 1."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from billet.base.errors import InputError
from billet.ledger.recipe_warnings import ready_bar
from billet.ledger.run import run
from billet.recipe.read import build, load

GOOD = """\
title = "smokehouse test knife"
[[bar]]
name = "billet"
width = "50 mm"
length = "120 mm"
stack = ["1084 3 mm", "15N20 2 mm"]
repeat = 4
[[bar.step]]
do = "weld"
temperature = "1150 C"
soak = "8 min"
[[bar.step]]
do = "draw"
thickness = "5 mm"
width = "54 mm"
temperature = "1100 C"
soak = "3 min"
[blade]
length = "210 mm"
heel_height = "48 mm"
"""

DRAW = 'do = "draw"\nthickness = "5 mm"\nwidth = "54 mm"\ntemperature = "1100 C"\nsoak = "3 min"'

# what is replaced by what, the line the sentence must name, and words it must hold
TEXT_CASES = {
    "unknown key": ('width = "50 mm"\nlength', 'widht = "50 mm"\nlength', 4, ["widht", "did you mean", "width"]),
    "missing unit": ('width = "50 mm"', "width = 50", 4, ["width", "50", "mm"]),
    "wrong dimension": ('temperature = "1150 C"', 'temperature = "1150 mm"', 10, ["temperature: ", "1150 mm"]),
    "comma": ('thickness = "5 mm"', 'thickness = "5,0 mm"', 14, ["thickness", "comma"]),
    "zero plates": ("repeat = 4", "repeat = 0", 7, ["repeat", "0", "1 or more"]),
    "empty stack": ('stack = ["1084 3 mm", "15N20 2 mm"]', "stack = []", 2, ["stack is empty", "plate"]),
    "plate of no thickness": ('"1084 3 mm"', '"1084 0 mm"', 6, ["stack", "no thickness"]),
    "unknown steel": ('"1084 3 mm"', '"1048 3 mm"', 6, ["1048", "1084"]),
    "unknown step": ('do = "draw"', 'do = "dravv"', 13, ["dravv", "draw"]),
    "drawing thicker than the bar": ('thickness = "5 mm"', 'thickness = "35 mm"', 12, ["cannot be drawn", "35"]),
    "restack into one piece": (DRAW, 'do = "restack"\npieces = 1', 14, ["pieces", "2 or more"]),
    "restack into ten thousand": (DRAW, 'do = "restack"\npieces = 10000', 14, ["pieces", "100 or less"]),
    "more pieces than there is bar": (DRAW, 'do = "restack"\npieces = 90', 12, ["pieces", "kerf", "fewer"]),
    "vanishes after cleanup": (
        DRAW,
        'do = "restack"\npieces = 2\n[shop]\nface_cleanup = "30 mm"',
        12,
        ["face_cleanup", "leaves nothing"],
    ),
    "tip thicker than heel": (
        'heel_height = "48 mm"',
        'heel_height = "48 mm"\nspine = { heel = "1 mm", middle = "2 mm", tip = "3 mm" }',
        21,
        ["thicker", "heel"],
    ),
    "edge thicker than spine": (
        'heel_height = "48 mm"',
        'heel_height = "48 mm"\nedge = { hardening = "4 mm", finished = "3 mm" }',
        18,
        ["edge", "not thinner"],
    ),
    "negative": ('width = "50 mm"', 'width = "-50 mm"', 4, ["width", "-50"]),
    "not finite": ('width = "50 mm"', 'width = "nan mm"', 4, ["width", "nan"]),
    "below absolute zero": ('temperature = "1150 C"', 'temperature = "-300 C"', 10, ["temperature", "absolute zero"]),
    "newer version": ('title = "smokehouse test knife"', "version = 3", 1, ["version", "newer"]),
    "not TOML": ("repeat = 4", "repeat = = 4", 7, ["not TOML"]),
    "key written twice": ("repeat = 4", "repeat = 4\nrepeat = 5", 8, ["not TOML", "twice"]),
    "quote left open": ("repeat = 4", 'cap = "1084 3 mm', 7, ["not TOML"]),
}


@pytest.mark.parametrize("name", TEXT_CASES)
def test_a_mistake_in_the_file_is_named_with_its_line(name: str, tmp_path: Path) -> None:
    old, new, line, words = TEXT_CASES[name]
    assert old in GOOD
    file = tmp_path / "knife.toml"
    file.write_text(GOOD.replace(old, new, 1))
    with pytest.raises(InputError) as caught:
        ready_bar(run(load(file)))
    text = str(caught.value)
    assert f"knife.toml line {line}: " in text
    assert [w for w in words if w not in text] == []
    assert "\n" not in text


def test_the_good_recipe_is_good(tmp_path: Path) -> None:
    file = tmp_path / "knife.toml"
    file.write_text(GOOD)
    assert ready_bar(run(load(file))).welded


@pytest.mark.parametrize(
    ("make", "words"),
    [
        pytest.param(lambda p: None, ["no such file"], id="no file"),
        pytest.param(lambda p: p.mkdir(), ["folder"], id="a folder"),
        pytest.param(lambda p: p.write_bytes(b""), ["empty"], id="empty"),
        pytest.param(lambda p: p.write_bytes(b'title = "caf\xe9"\n'), ["line 1", "UTF-8"], id="wrong encoding"),
        pytest.param(lambda p: p.write_bytes("title = 'x'".encode("utf-16")), ["UTF-16"], id="UTF-16"),
        pytest.param(lambda p: p.write_bytes(b"\x89PNG\0\0"), ["not a text file"], id="a picture"),
    ],
)
def test_a_file_that_cannot_be_read_is_explained(make, words: list[str], tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "knife.toml"
    make(file)
    with pytest.raises(InputError) as caught:
        load(file)
    assert [w for w in words if w not in str(caught.value)] == []


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path: Path) -> None:
    file = tmp_path / "knife.toml"
    file.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert run(load(file)).last.layers_counted == 8


OPEN_STACK = GOOD.split("[[bar.step]]")[0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param(
            OPEN_STACK
            + '[[bar.step]]\ndo = "draw"\nthickness = "5 mm"\nwidth = "54 mm"\ntemperature = "1100 C"\nsoak = "3 min"\n',
            ["not welded", "weld step before"],
            id="drawn",
        ),
        pytest.param(
            OPEN_STACK + '[blade]\nlength = "210 mm"\nheel_height = "48 mm"\n',
            ["not welded", "before a blade"],
            id="ground",
        ),
        pytest.param(
            GOOD.replace('thickness = "5 mm"', 'thickness = "1 mm"'),
            ["blade is", "thick", "bar only"],
            id="blade thicker than the bar",
        ),
        pytest.param(
            GOOD + '[[bar]]\nname = "clad"\njoin = ["clad"]\nas = "layers"\n', ["names itself"], id="a join of itself"
        ),
        pytest.param(
            '[[bar]]\nname = "clad"\njoin = ["billet"]\nas = "layers"\n' + GOOD.split("\n", 1)[1],
            ["comes later"],
            id="a join of a later bar",
        ),
    ],
)
def test_what_cannot_be_done_is_refused(text: str, words: list[str], tmp_path: Path) -> None:
    file = tmp_path / "knife.toml"
    file.write_text(text)
    with pytest.raises(InputError) as caught:
        ready_bar(run(load(file)))
    assert [w for w in words if w not in str(caught.value)] == []


def test_the_command_says_one_sentence_and_leaves_with_1(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "billet.cli", "ledger", str(tmp_path / "none.toml")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.count("\n") == 1
    assert "there is no such file" in done.stderr


def test_a_file_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "knife.toml"
    file.write_text("mine")
    done = subprocess.run(
        [sys.executable, "-m", "billet.cli", "new", str(file)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "--force" in done.stderr
    assert file.read_text() == "mine"


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ({"length": "2670 mm"}, "2670 mm, and a kitchen knife is at most 2 m long; check the unit"),
        ({"heel": {"radius": "30 mm"}}, "more than half its height (25 mm); make it smaller"),
        ({"plunge": {"wheel": "50 mm", "at": "150 mm"}}, "past the middle of the blade; bring it nearer to the heel"),
    ],
)
def test_a_blade_that_cannot_be_is_refused_with_what_to_do(table: dict[str, object], says: str) -> None:
    with pytest.raises(InputError, match=re.escape(says)):
        build({"blade": {"length": "240 mm", "heel_height": "50 mm", **table}})
