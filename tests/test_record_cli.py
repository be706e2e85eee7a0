"""The record at the command line: a year at the bench of a two-person forge, from the first note to what it teaches."""

import csv
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from billet.base.errors import InputError
from billet.cli.record import app

RECIPE = """
title = "Smokehouse slicer"
[shop]
kerf = "2 mm"
scale_per_heat = "0.06 mm"
[[bar]]
name = "billet"
width = "40 mm"
length = "150 mm"
stack = ["1084 3.2 mm", "15N20 1.6 mm"]
repeat = 7
[[bar.step]]
do = "weld"
temperature = "1150 C"
soak = "10 min"
heats = 3
[[bar.step]]
do = "draw"
thickness = "12 mm"
width = "41 mm"
temperature = "1100 C"
soak = "5 min"
heats = 3
[[bar.step]]
do = "restack"
pieces = 4
"""


@pytest.fixture
def forge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "knife.toml").write_text(RECIPE)
    return tmp_path


def _run(*words: str, typed: str | None = None) -> Result:
    result = CliRunner().invoke(app, list(words), input=typed)
    if isinstance(result.exception, InputError):
        raise result.exception
    assert result.exit_code == 0, (result.output, result.exception)
    return result


def _json(*words: str) -> dict:
    return json.loads(_run(*words, "--json").stdout)


def test_a_note_is_written_beside_the_recipe_and_listed(forge: Path) -> None:
    _run("add", "knife.toml", "after", "2", "thickness", "12.1 mm", "width", "41", "mm", "note", "edges", "cold")
    _run("add", "knife.toml", "after", "billet", "weld", "wrong", "cold shut", "by", "M.")
    entries = _json("list", "knife.toml")["entries"]
    assert [(e["place"]["number"], e["place"]["do"]) for e in entries] == [(2, "draw"), (1, "weld")]
    assert entries[0]["measured"] == pytest.approx({"thickness_m": 0.0121, "width_m": 0.041})
    assert (entries[0]["note"], entries[1]["wrong"], entries[1]["by"]) == ("edges cold", "cold shut", "M.")
    assert (forge / "bench.sqlite").is_file()
    text = _run("list", "--units", "imperial").stdout
    assert "thickness 476 thou" in text and "WRONG: cold shut" in text  # 12.1 mm / 25.4 = 0.4764 in


def test_a_correction_takes_the_place_of_the_old_note(forge: Path) -> None:
    _run("add", "knife.toml", "after", "2", "thickness", "12.1 mm", "wrong", "warp")
    _run("correct", "1", "thickness", "11.2 mm", "wrong", "none")
    assert "2 (corrects 1)" in _run("list").stdout
    (entry,) = _json("list")["entries"]
    assert (entry["corrects"], entry["wrong"], entry["measured"]) == (1, "", {"thickness_m": 0.0112})
    assert len(_json("list", "--all")["entries"]) == 2


def test_questions_are_asked_until_the_answer_can_be_read(forge: Path) -> None:
    result = _run(
        "ask", "knife.toml", typed="99\n2\nabout so\n12.1\n\n\n\n\n1 h\nfile skates\nwarp\n\nedges cold\nend.jpg\nM.\n"
    )
    assert "no stage" in result.stderr and "cannot be read here" in result.stderr
    assert "taken as mm" in result.stderr and "end.jpg is not there" in result.stdout
    (entry,) = _json("list")["entries"]
    assert (entry["place"]["number"], entry["measured"]) == (2, {"thickness_m": 0.0121, "took_s": 3600})
    assert (entry["wrong"], entry["note"]) == ("warp", "edges cold; photo end.jpg was not there")
    assert [m["written"] for m in entry["measures"]] == ["12.1 mm", "1 h", "file skates"]


def test_an_interview_broken_off_writes_nothing(forge: Path) -> None:
    assert CliRunner().invoke(app, ["ask", "knife.toml"], input="2\n12.1 mm\n").exit_code == 1
    assert not (forge / "bench.sqlite").exists()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["add", "knife.toml", ",", ";"], "says nothing"),
        (["add", "nowhere.toml", "heats", "3"], "cannot be read"),
        (["correct", "7", "heats", "3"], "no bench record"),
        (["list"], "no bench record"),
        (["restore", "nowhere.jsonl"], "cannot be read"),
        (["add", "knife.toml", "heats", "3", "--bench", "no/such/folder.sqlite"], "cannot be opened"),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_is_written(forge: Path, words: list[str], sentence: str) -> None:
    with pytest.raises(InputError, match=sentence) as error:
        _run(*words)
    assert "\n" not in str(error.value)
    assert [path.name for path in forge.iterdir()] == ["knife.toml"]


@pytest.mark.parametrize(
    ("words", "kept", "said"),
    [
        (["thickness", "-3", "mm"], "thickness -3 mm", "which is negative"),
        (["thickness", "3", "parsec"], "thickness 3 parsec", "more than 1000.0 mm"),
        (["thickness", "40 in"], "thickness 40 in", "more than 1000.0 mm"),
        (["after", "99", "scale", "everywhere"], "after 99 scale everywhere", "no stage"),
        (["photo", "nowhere.jpg", "looks", "good"], "looks good; photo nowhere.jpg was not there", "The rest was kept"),
        (["blue", "smoke"], "blue smoke", ""),
    ],
)
def test_nothing_typed_is_lost(forge: Path, words: list[str], kept: str, said: str) -> None:
    result = _json("add", "knife.toml", *words)
    assert result["entry"]["note"] == kept
    assert result["entry"]["measures"] == []
    assert re.search(said, " ".join(result["doubts"]))
    assert result["entry"]["typed"].replace('"', "") == " ".join(words)


def test_without_words_it_asks(forge: Path) -> None:
    _run("add", "knife.toml", typed="quench\n" + "\n" * 9 + "oil smoked\n\n\n")
    (entry,) = _json("list")["entries"]
    assert (entry["place"]["bar"], entry["place"]["do"], entry["note"]) == ("", "harden", "oil smoked")


def test_what_was_understood_is_said_back(forge: Path) -> None:
    text = _run(
        "add", "knife.toml", "after", "quench", "bow", "1.5", "mm", "left", "mid,", "wrong", "edges", "cold"
    ).stdout
    assert 'after harden: bow 1.5 mm left at the middle; wrong "edges cold"' in text
    text = _run("add", "knife.toml", "second temper", "went well").stdout
    assert "after second temper" in text


def test_a_stage_that_may_be_two_is_the_one_come_to_and_says_so(forge: Path) -> None:
    _run("add", "knife.toml", "after", "harden", "straight")
    text = _run("add", "knife.toml", "after", "temper", "straw").stdout
    assert "after first temper" in text and "may be first temper or second temper" in text
    _run("add", "knife.toml", "after", "second", "temper", "straw")
    assert "after second temper" in _run("add", "knife.toml", "after", "temper", "brown").stdout


def test_an_unknown_number_is_one_sentence(forge: Path) -> None:
    _run("add", "knife.toml", "heats", "3")
    with pytest.raises(InputError, match="no note 7"):
        _run("correct", "7", "heats", "4")


def test_search_over_all_knives(forge: Path) -> None:
    (forge / "paring.toml").write_text(RECIPE.replace("Smokehouse slicer", "Paring knife"))
    _run("add", "knife.toml", "note", "warped in the quench")
    _run("add", "paring.toml", "note", "straight")
    found = _json("search", "what", "did", "I", "write", "about", "warp?")["entries"]
    assert [entry["knife"] for entry in found] == ["Smokehouse slicer"]


def test_measured_beside_foreseen(forge: Path) -> None:
    _run("add", "knife.toml", "after", "2", "thickness", "12.3 mm", "width", "41 mm")
    found = {one["what"]: one for one in _json("compare", "knife.toml")["differences"]}
    # The recipe draws to 12 mm by 41 mm: 12.3 / 12 - 1 = 2.5 %.
    assert found["thickness"]["share"] == pytest.approx(0.025)
    assert found["width"]["share"] == pytest.approx(0.0, abs=1e-9)
    assert "+2.5 %" in _run("compare", "knife.toml").stdout


def test_notes_of_a_recipe_that_had_other_steps_are_left_out(forge: Path) -> None:
    _run("add", "knife.toml", "after", "3", "thickness", "46 mm")
    (forge / "knife.toml").write_text(RECIPE.partition('[[bar.step]]\ndo = "restack"')[0])
    assert _json("compare", "knife.toml") == {"differences": [], "notes_left_out": 1}


def test_what_the_record_teaches(forge: Path) -> None:
    """A bar of 40 x 41 x 150 mm that loses 0.06 mm on all faces in three heats, weighed before and after, six times."""
    for knife in range(6):
        (forge / f"k{knife}.toml").write_text(RECIPE.replace("slicer", f"slicer {knife}"))
        sizes = [150.0, 40.0, 33.6]
        for step in ("0", "1"):
            length, width, thickness = sizes
            grams = length * width * thickness * 7.85e-3
            _run("add", f"k{knife}.toml", "after", step, "length", f"{length:.6f} mm", "width", f"{width:.6f} mm",
                 "thickness", f"{thickness:.6f} mm", "weight", f"{grams:.6f} g")  # fmt: skip
            sizes = [size - 3 * 2 * 0.06 for size in sizes]
    learnt = _json("learn")
    assert learnt["scale_per_heat"]["value_m"] == pytest.approx(0.06e-3, rel=0.01)
    assert "4 more" in learnt["end_trim"]["reason"]
    assert "scale_per_heat" in _run("learn").stdout


def test_too_few_notes_to_learn_from(forge: Path) -> None:
    _run("add", "knife.toml", "after", "2", "thickness", "12.3 mm")
    with pytest.raises(InputError, match="so 6 more"):
        _run("learn")


def test_export_backup_and_restore(forge: Path) -> None:
    _run("add", "knife.toml", "after", "2", "thickness", "12.1 mm", "note", "=1+1")
    (row,) = csv.DictReader(io.StringIO(_run("export").stdout))
    assert (row["thickness_m"], row["note"]) == ("0.0121", "'=1+1")
    _run("export", "--to", "markdown", "-o", "record.md")
    assert "thickness 12.10 mm" in (forge / "record.md").read_text()
    _run("backup", "--text", "b.jsonl")
    _run("backup", "copy.sqlite")
    _run("restore", "b.jsonl", "--bench", "again.sqlite")
    lists = [_json("list", "--bench", name)["entries"] for name in ("bench.sqlite", "copy.sqlite", "again.sqlite")]
    assert lists[0] == lists[1] == lists[2]
    for words in (["backup", "copy.sqlite"], ["backup", "--text", "b.jsonl"], ["export", "-o", "record.md"]):
        with pytest.raises(InputError, match="--force"):
            _run(*words)


def test_a_photograph_that_changed_is_marked(forge: Path) -> None:
    (forge / "end.jpg").write_bytes(b"as it was")
    _run("add", "knife.toml", "photo", "end.jpg")
    assert "photo end.jpg\n" in _run("list").stdout
    (forge / "end.jpg").write_bytes(b"touched up")
    assert "photo end.jpg (changed)" in _run("list").stdout


def test_the_commands_load_nothing_heavy_for_their_help() -> None:
    code = "import sys, billet.cli.record; print(sorted({'numpy', 'scipy', 'pint', 'pydantic'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "[]"


@pytest.mark.parametrize("command", [command.name or command.callback.__name__ for command in app.registered_commands])
def test_every_command_has_help_and_an_example(command: str) -> None:
    assert "Example: billet record " + command in " ".join(_run(command, "--help").stdout.split())
