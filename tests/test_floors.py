"""The oldest packages allowed are those the floors' script installs and tries."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_every_dependency_has_a_floor_and_the_known_ones_are_true() -> None:
    """Pillow's built-in face can be had in any size from 10.1 on (its release notes); typer 0.19 and scipy 1.13 are
    the oldest with which the suite was tried; reportlab before 4.0.4 asks for Cairo's headers, and there is no segno
    1.5 or 1.5.1 (the package index); pydantic 2.6 tells an unknown step once for every step there is (seen in the tests)."""
    needs = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["dependencies"]
    floors = {name: tuple(map(int, least.split("."))) for name, least in (need.split(">=") for need in needs)}
    assert floors["pillow"] >= (10, 1)
    assert floors["typer"] >= (0, 19)
    assert floors["scipy"] >= (1, 13)
    assert floors["reportlab"] >= (4, 0, 4)
    assert floors["segno"] >= (1, 5, 2)
    assert floors["pydantic"] >= (2, 7)


def test_the_floors_script_can_be_run_and_names_tests_that_are_there() -> None:
    script = ROOT / ".ci" / "floors"
    assert os.access(script, os.X_OK)
    named = [word for word in script.read_text().split() if word.startswith("tests/")]
    assert len(named) > 8 and all((ROOT / name).is_file() for name in named)
