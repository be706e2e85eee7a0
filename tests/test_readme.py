"""What the README shows must work: its recipe can be read, and the commands it names are there."""

import re
from pathlib import Path

import pytest

from billet.cli import COMMANDS
from billet.recipe.read import load

README = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
RECIPES = re.findall(r"```toml\n(.*?)```", README, re.S)
NAMED = sorted(set(re.findall(r"`?billet ([a-z]+)\b(?=[ `\]])", README)))


@pytest.mark.parametrize("k", range(len(RECIPES)))
def test_the_recipes_shown_can_be_read(k: int, tmp_path: Path) -> None:
    path = tmp_path / "shown.toml"
    path.write_text(RECIPES[k], "utf-8")
    assert load(path).tables.bar


def test_there_is_a_recipe() -> None:
    assert RECIPES


def test_the_commands_named_are_there() -> None:
    assert set(COMMANDS) & set(NAMED)
    shell = re.findall(r"^(?:\$ )?billet ([a-z]+)", README, re.M)
    assert set(shell) <= set(COMMANDS)
