"""The command line: every command has help and an example, results go to standard output, and starting is quick."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from billet.cli import COMMANDS

DEMO = Path(__file__).parent.parent / "demo_billets" / "slicer.toml"
ROW_KEYS = {
    "number", "do", "length_m", "width_m", "thickness_m", "mass_kg", "layers_counted", "layers_distinct", "mean_layer_m", "carbon_wt_percent",
    "steel_shares", "carbon_contrast", "alloy_contrast", "soft_skin_m", "lost_kg", "warnings",
}  # fmt: skip


def billet(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the command line as its user would."""
    return subprocess.run([sys.executable, "-m", "billet.cli", *words], capture_output=True, text=True, check=False)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name: str) -> None:
    text = billet(name, "--help").stdout
    example = billet(name, "add", "--help").stdout if name == "record" else text
    assert f"billet {name}" in example
    assert "xample" in example


@pytest.mark.parametrize("words", [("new", "{}"), ("again", str(DEMO), "{}")], ids=["new", "again"])
def test_no_recipe_takes_the_name_of_the_shop_s_file(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Every recipe beside a shop.toml is read with it; a knife of that name would spoil them all."""
    path = tmp_path / "shop.toml"
    done = billet(*(word.format(path) for word in words))
    assert done.returncode == 1 and "call the recipe otherwise" in done.stderr and not path.exists()


def test_help_loads_nothing_heavy() -> None:
    """Completion starts the program on every key, so the command line begins with typer alone."""
    code = "import sys, billet.cli; print([m for m in ('numpy', 'scipy', 'pint', 'skimage', 'pydantic', 'PIL') if m in sys.modules])"
    assert (
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == "[]"
    )


def test_the_ledger_in_json_has_the_agreed_keys() -> None:
    data = json.loads(billet("ledger", str(DEMO), "--json").stdout)
    assert set(data) == {"title", "bars", "warnings", "blade"}
    rows = data["bars"][0]["steps"]
    assert [r["number"] for r in rows] == list(range(len(rows)))
    assert all(set(r) >= ROW_KEYS for r in rows)
    assert set(rows[0]["lost_kg"]) == {"scale", "kerf", "cleanup", "trim", "grinding"}


def test_check_answers_length_height_and_thickness_apart() -> None:
    data = json.loads(billet("check", str(DEMO), "--json").stdout)
    assert set(data["answers"]) == {"length", "heel_height", "thickness"}
    assert data["holds_the_blade"] is True


def test_check_leaves_with_1_when_the_bar_is_too_short(tmp_path: Path) -> None:
    file = tmp_path / "long.toml"
    file.write_text(DEMO.read_text().replace('length = "280 mm"', 'length = "500 mm"'))
    done = billet("check", str(file))
    assert done.returncode == 1
    assert "SHORT" in done.stdout
    assert "does not give the length" in done.stdout


@pytest.mark.parametrize("words", [["new", "--imperial"], ["new"]])
def test_a_starter_recipe_passes_its_own_check_without_a_warning(words: list[str], tmp_path: Path) -> None:
    file = tmp_path / "knife.toml"
    assert billet(*words, str(file)).returncode == 0
    done = billet("check", str(file))
    assert (done.returncode, "No warnings." in done.stdout) == (0, True)


@pytest.mark.parametrize("name", ["check", "ledger", "carbon", "harden"])
def test_results_somebody_may_act_on_carry_the_cautions(name: str) -> None:
    assert "! Aids only: local codes, data sheets, trials come first." in billet(name, str(DEMO)).stdout
    text = " ".join(billet(name, str(DEMO), "--full").stdout.split())
    assert "Local codes, the steel maker's data sheet and qualified instruction come first." in text
    assert "never says that a weld is sound or a temperature safe" in text


def test_harden_in_json_has_the_agreed_keys() -> None:
    data = json.loads(billet("harden", str(DEMO), "--json").stdout)
    assert set(data) >= {
        "layers",
        "harden_K",
        "anneal_max_K",
        "as_quenched_hrc",
        "tempered_hrc",
        "through_hardening",
        "sources",
        "cautions",
    }
    assert set(data["layers"][0]) >= {"steel", "carbon_wt_percent", "ac1_K", "ms_K"}


def test_a_steel_that_is_not_known_is_refused_with_the_nearest() -> None:
    done = billet("steels", "15N2O")
    assert done.returncode == 1
    assert "15N20" in done.stderr


def test_a_wrong_option_is_usage() -> None:
    assert billet("ledger", "--nonsense").returncode == 2
