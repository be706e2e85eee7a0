"""Nothing that a command has read is ever written over, whatever it is called by and whatever is forced."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from PIL import Image
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.base.safe_files import write_whole
from billet.cli import app
from tests import picture_recipes as recipes
from tests.count_pictures import photograph

OUTLINE = "x mm,y mm\n0,0\n120,0\n200,10\n210,24\n180,40\n90,47\n0,48\n"
STATIONS = "position,place,thickness,bow\n0 mm,spine,3 mm,0 mm\n100 mm,spine,2.6 mm,0 mm\n100 mm,edge,1 mm,0 mm\n"
RACK = '[[plate]]\nsteel = "1084"\nthickness = "3.2 mm"\nwidth = "50 mm"\nlength = "300 mm"\n'


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a recipe that reads a relief, an outline and a shop, and stations, a photograph and a record."""
    monkeypatch.chdir(tmp_path)
    data = recipes.laminate()
    spine = {"heel": "1.8 mm", "middle": "1.5 mm", "tip": "0.8 mm"}
    data["blade"] = {**data["blade"], "points": "outline.png", "spine": spine}
    relief = {"do": "relief", "image": "relief.png", "depth": "0.1 mm", "length": "20 mm", "width": "20 mm"}
    data["bar"][-1]["step"] = [*data["bar"][-1]["step"], relief]
    data.pop("shop")
    Path("knife.toml").write_text(tomlkit.dumps(data))
    Path("shop.toml").write_text(tomlkit.dumps(recipes.SHOP))
    Path("outline.png").write_text(OUTLINE)
    Path("stations.png").write_text(STATIONS)
    Image.fromarray(np.tile(np.linspace(0, 255, 64).astype(np.uint8), (64, 1))).save("relief.png")
    return tmp_path


def run(*words: str) -> str:
    """What is refused; empty where it went well."""
    result = CliRunner().invoke(app, list(words), catch_exceptions=True)
    assert result.exception is None or isinstance(result.exception, InputError), result.exception
    return str(result.exception or "")


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        (["preview", "knife.toml", "--width", "200", "-o", "relief.png"], "relief.png"),
        (["preview", "knife.toml", "--width", "200", "-o", "outline.png"], "outline.png"),
        (
            ["preview", "knife.toml", "--width", "200", "--stations", "stations.png", "-o", "stations.png"],
            "stations.png",
        ),
        (["preview", "knife.png", "--width", "200", "-o", "knife.png"], "knife.png"),
        (["preview", "knife.png", "--width", "200"], "knife.png"),
        (["grind", "knife.toml", "stations.png", "--picture", "stations.png"], "stations.png"),
        (["grind", "knife.toml", "stations.png", "--picture", "outline.png"], "outline.png"),
        (["carbon", "knife.png", "--chart", "knife.png"], "knife.png"),
        (["harden", "knife.png", "--chart", "knife.png"], "knife.png"),
        (["preview", "knife.toml", "--width", "200", "-o", "linked.png"], "relief.png"),
        (["preview", "knife.toml", "--width", "200", "-o", "hard.png"], "relief.png"),
        (["preview", "knife.toml", "--width", "200", "-o", "../folder/relief.png"], "relief.png"),
    ],
)
def test_a_file_that_was_read_stays_as_it_was(bench: Path, words: list[str], kept: str) -> None:
    Path("knife.png").write_bytes(Path("knife.toml").read_bytes())
    os.symlink("relief.png", "linked.png")
    os.link("relief.png", "hard.png")
    words = [w.replace("../folder", f"../{bench.name}") for w in words]
    before = Path(kept).read_bytes()
    said = run(*words, "--force")
    assert "never written over" in said
    assert Path(kept).read_bytes() == before


def test_a_photograph_is_not_replaced_by_its_count(bench: Path) -> None:
    Image.fromarray((photograph(3).image * 255).astype(np.uint8)).save("photo.png")
    before = Path("photo.png").read_bytes()
    assert "never written over" in run("count", "photo.png", "--picture", "photo.png", "--force")
    assert Path("photo.png").read_bytes() == before


def test_a_record_is_not_replaced_by_its_own_copies(bench: Path) -> None:
    assert run("record", "add", "knife.toml", "note", "edges cold", "--bench", "bench.sqlite") == ""
    before = Path("bench.sqlite").read_bytes()
    for words in (["export", "-o"], ["backup"], ["backup", "--text"]):
        assert run("record", *words, "bench.sqlite", "--bench", "bench.sqlite", "--force") != ""
        assert Path("bench.sqlite").read_bytes() == before


def test_a_plan_is_not_written_over_the_recipe_or_the_rack_it_was_made_from(bench: Path) -> None:
    data = recipes.laminate() | {"target": {"pattern": "laminate", "layers": 60}}
    data.pop("shop")
    Path("knife_plan_1.toml").write_text(tomlkit.dumps(data))
    os.link("knife_plan_1.toml", "knife.hard.toml")
    Path("knife_plan_1.toml").replace("knife.toml")
    os.link("knife.toml", "knife_plan_1.toml")
    before = Path("knife.toml").read_bytes()
    assert "never written over" in run("plan", "knife.toml", "--write", ".", "--force")
    assert Path("knife_plan_1.toml").read_bytes() == before


@pytest.mark.parametrize(
    "words",
    [
        ["preview", "knife.toml", "-o"],
        ["grind", "knife.toml", "stations.png", "--picture"],
        ["carbon", "knife.toml", "--chart"],
        ["harden", "knife.toml", "--chart"],
        ["count", "relief.png", "--picture"],
    ],
)
@pytest.mark.parametrize("name", ["out.jpg", "out", "knife.toml", "out.png.txt"])
def test_every_picture_option_wants_a_name_that_ends_in_png(bench: Path, words: list[str], name: str) -> None:
    before = {p.name for p in bench.iterdir()}
    assert "ending in .png" in run(*words, name, "--force")
    assert {p.name for p in bench.iterdir()} == before


def test_what_one_command_read_the_next_may_write(bench: Path) -> None:
    """The watch ends with the command: a picture that was looked at once can be drawn anew."""
    assert run("ledger", "knife.toml") == ""
    assert write_whole(Path("knife.toml"), "title = 'another'", force=True)
    assert Path("knife.toml").read_text() == "title = 'another'"


def test_a_picture_is_never_written_under_another_name(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"ending in \.png"):
        write_whole(tmp_path / "a.toml", b"\x89PNG\r\n\x1a\n")
