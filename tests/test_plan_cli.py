"""The command: JSON keys, files written, exit codes."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.cli.plan import plan
from tests.planning import KNIFE

KEYS = {
    "stack", "repeat", "cap", "length_m", "width_m", "restacks", "layers_counted", "layers_distinct", "carbon_wt_percent",
    "start_mass_kg", "final_mass_kg", "yield", "weld_heats", "final", "alloy_contrast", "recipe",
}  # fmt: skip


@pytest.fixture
def app():
    """The command alone, as the command line wires it."""
    made = typer.Typer(pretty_exceptions_enable=False)
    made.command()(plan)
    return made


@pytest.fixture
def recipe(tmp_path):
    path = tmp_path / "knife.toml"
    path.write_text(KNIFE.format(length="180 mm", heel="45 mm", units="metric", shop="most_welds = 4"))
    return path


def test_json_and_files(app, recipe, tmp_path):
    done = CliRunner().invoke(app, [str(recipe), "--layers", "60", "--json", "--write", str(tmp_path)])
    assert done.exit_code == 0
    candidates = json.loads(done.stdout)["candidates"]
    written = sorted(tmp_path.glob("knife_plan_*.toml"))
    assert len(candidates) == len(written) >= 1
    assert candidates[0].keys() >= KEYS
    assert [p.read_text() for p in written] == [c["recipe"] for c in candidates]
    assert tomllib.loads(candidates[0]["recipe"])["blade"]["length"] == "180 mm"


def test_nothing_is_written_over(app, recipe, tmp_path):
    (tmp_path / "knife_plan_1.toml").write_text("mine")
    done = CliRunner().invoke(app, [str(recipe), "--layers", "60", "--write", str(tmp_path)])
    assert isinstance(done.exception, InputError)
    assert (tmp_path / "knife_plan_1.toml").read_text() == "mine"
    assert len(list(tmp_path.glob("knife_plan_*.toml"))) == 1


def test_words(app, recipe):
    done = CliRunner().invoke(app, [str(recipe), "--layers", "60", "--full"])
    assert "1. Start with" in done.stdout
    assert "Crop the ends, cut in" in done.stdout
    assert "First because" in done.stdout
    assert max(len(line) for line in done.stdout.split("!")[0].splitlines()) <= 80
    assert "trial pieces decide" in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("options", "word"),
    [(["--line", "0.4"], "unit"), (["--carbon", "9"], "carbon"), (["--pattern", "stripes"], "pattern"), (["--dark", "2"], "dark"), (["--from", "2"], "--measured")],
)  # fmt: skip
def test_options_that_cannot_be_used(app, recipe, options, word):
    done = CliRunner().invoke(app, [str(recipe), *options])
    assert isinstance(done.exception, InputError)
    assert word in str(done.exception)
    assert "\n" not in str(done.exception)


def test_a_bar_too_short_leaves_with_one(app, tmp_path):
    from tests.test_plan_rack import RECIPE

    path = tmp_path / "half.toml"
    path.write_text(RECIPE)
    short = CliRunner().invoke(app, [str(path), "--from", "2", "--measured", "length=120 mm"])
    enough = CliRunner().invoke(app, [str(path), "--from", "2", "--measured", "length=400 mm", "--json"])
    assert short.exit_code == 1
    assert "What still reaches" in short.stdout
    assert enough.exit_code == 0
    assert json.loads(enough.stdout)["enough"] is True


def test_the_folder_to_write_to_is_made_and_a_file_in_its_place_is_refused(tmp_path: Path) -> None:
    from typer.testing import CliRunner

    from billet.base.errors import InputError
    from billet.cli import app

    recipe = str(Path(__file__).parent.parent / "demo_billets" / "slicer.toml")
    done = CliRunner().invoke(app, ["plan", recipe, "--layers", "35", "--write", str(tmp_path / "plans")])
    assert done.exit_code == 0
    assert len(list((tmp_path / "plans").glob("slicer_plan_*.toml"))) >= 2
    (tmp_path / "file").write_text("mine")
    refused = CliRunner().invoke(app, ["plan", recipe, "--layers", "35", "--write", str(tmp_path / "file")])
    assert isinstance(refused.exception, InputError)
    assert (tmp_path / "file").read_text() == "mine"
