"""Two knives side by side, and a recipe started again: on the demo recipe as it stands, changed by hand beside the check."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.cli import app
from billet.record.again import lesson_lines, restarted, titles_of
from billet.record.entry import Entry, Place
from billet.record.take import Knife
from billet.record.two_knives import differences

DEMO = Path(__file__).parent.parent / "demo_billets" / "chef.toml"


def _say(*words: str) -> str:
    result = CliRunner().invoke(app, list(words))
    if isinstance(result.exception, InputError):
        raise result.exception
    assert result.exit_code == 0, (result.output, result.exception)
    return result.stdout


@pytest.fixture
def forge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "old.toml").write_text(DEMO.read_text("utf-8"))
    for words in (
        "after first weld thick 1.49 in, 2 lb 10 oz, took 30 min, wrong edges cold, cure two more minutes",
        "after first draw thick .58 in, 2 lb 8 oz",
        "after second temper 61 HRC, bow 20 thou left",
    ):
        _say("record", "add", "old.toml", words)
    _say("again", "old.toml", "new.toml", "--title", "Second slicer")
    for words in (
        "after first weld thick 1.50 in, took 40 min",
        "after first draw thick .61 in",
        "etch wrong washed out",
    ):
        _say("record", "add", "new.toml", words)
    return tmp_path


def test_two_knives_are_set_side_by_side(forge: Path) -> None:
    told = json.loads(_say("record", "compare", "old.toml", "new.toml", "--json"))
    weld = next(one for one in told["stages"] if one["stage"] == "first weld")
    thick = [each["measured"]["thickness_m"] for each in weld["knives"]]
    assert thick == pytest.approx([1.49 * 0.0254, 1.50 * 0.0254])  # 1 in = 25.4 mm
    assert all(each["foreseen"]["thickness_m"] > 0 for each in weld["knives"])
    first, second = told["totals"]
    assert (first["time_s"], second["time_s"]) == (1800, 2400)
    assert first["lost_share"] == pytest.approx(2 / 42)  # 42 oz to 40 oz
    assert (first["hardness_hrc"], first["wrong"], second["wrong"]) == (61, 1, 1)
    assert first["bow_m"] == pytest.approx(20 * 0.0254e-3)
    assert any("edges cold" in line and "not again" in line for line in told["verdicts"])
    assert any("washed out" in line and "not before" in line for line in told["verdicts"])
    assert told["recipe"] == []


def test_the_comparison_is_text_and_a_picture_too(forge: Path) -> None:
    text = _say("record", "compare", "old.toml", "new.toml", "--chart", "both.png", "--full")
    assert "1.490 in" in text and "the recipes are the same" in text
    assert text.index("edges cold") < text.index("time noted") < text.index("A foreseen")
    with Image.open(forge / "both.png") as picture:
        assert len(picture.getcolors(1 << 24) or []) > 2
    with pytest.raises(InputError, match="force"):
        _say("record", "compare", "old.toml", "new.toml", "--chart", "both.png")


def test_the_old_knifes_lessons_stand_on_the_new_ones_card_and_at_the_head_of_its_recipe(forge: Path) -> None:
    card = json.loads(_say("next", "new.toml", "first weld", "--json"))
    assert [(one["wrong"], one["cure"]) for one in card["lessons"]] == [("edges cold", "two more minutes")]
    head = (forge / "new.toml").read_text("utf-8").splitlines()[:2]
    assert "Started again" in head[0] and "edges cold; cure: two more minutes" in head[1]
    _say("check", "new.toml")


def test_nothing_is_started_over_a_recipe_that_is_there(forge: Path) -> None:
    before = (forge / "new.toml").read_bytes()
    with pytest.raises(InputError, match="there already is such a file"):
        _say("again", "old.toml", "new.toml")
    assert (forge / "new.toml").read_bytes() == before


def test_a_title_of_its_own_is_found() -> None:
    assert titles_of("Slicer", {"Slicer", "Slicer, no. 2"}) == "Slicer, no. 3"
    assert titles_of("Slicer, no. 2", set()) == "Slicer, no. 3"


def test_files_a_recipe_names_are_found_from_the_new_folder(tmp_path: Path) -> None:
    knife = Knife(
        "A", tmp_path / "old" / "a.toml", 'title = "A"\npoints = "outline.csv"\nx = { image = "scales.png" }\n'
    )
    text = restarted(knife, 'The "B"', [], tmp_path / "new")
    assert 'title = "The \\"B\\""' in text
    assert 'points = "../old/outline.csv"' in text and 'image = "../old/scales.png"' in text


BASE = 'title = "A"\n[[bar]]\nname = "b"\nwidth = "2 in"\n[[bar.step]]\ndo = "weld"\nheats = 2\n[[bar.step]]\ndo = "draw"\n'


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"A"', '"B"', []),
        ("heats = 2", "heats = 3", ["bar 1 (b) step 1 (weld) heats: 3 now, was 2"]),
        ("heats = 2\n", "", ["bar 1 (b) step 1 (weld) heats: left out now, was 2"]),
        ('"2 in"', '"50 mm"', ["bar 1 (b) width: 50 mm now, was 2 in"]),
        ('[[bar.step]]\ndo = "draw"', '[[bar.step]]\ndo = "fold"\n[[bar.step]]\ndo = "draw"', ["bar 1 (b) step 2 (fold): put in"]),
        ('"2 in"', '["2 in", "8 in"]', ["bar 1 (b) width: 2 in; 8 in now, was 2 in"]),
        ('[[bar.step]]\ndo = "draw"\n', "", ["bar 1 (b) step 2 (draw): left out now"]),
    ],
)  # fmt: skip
def test_recipes_differ_in_words(old: str, new: str, said: list[str]) -> None:
    assert old in BASE
    assert list(differences(BASE, BASE.replace(old, new, 1))) == said


def test_only_what_went_wrong_on_the_knife_itself_is_told_to_the_next() -> None:
    """Neither another knife's fault, nor a note without fault or cure; a cure alone is told."""
    at = "2024-03-02T09:14:05.120+00:00"
    notes = [
        Entry("A", at, id=1, place=Place("b", 1, "weld"), wrong="edges cold", cure="two more minutes"),
        Entry("B", at, id=2, place=Place("b", 1, "weld"), wrong="slag in it"),
        Entry("A", at, id=3, place=Place("b", 2, "draw"), note="went well"),
        Entry("A", at, id=4, cure="crown the faces"),
    ]
    assert lesson_lines(notes, "A") == (
        "weld: edges cold; cure: two more minutes",
        "any stage: cure: crown the faces",
    )
