"""The answer first: every command says what matters in twelve lines, in the recipe's own units, at any width of the terminal."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

import billet
import billet.ledger.run as ledger_run
from billet.cli import app
from billet.recipe.read import load
from billet.recipe.recipe import Recipe

DEMOS = sorted(p for p in (Path(__file__).parent.parent / "demo_billets").glob("*.toml") if "[[bar]]" in p.read_text())
MOST_LINES, WIDTHS = 12, (80, 60)
COMMANDS = ("check", "ledger", "carbon", "harden", "stages", "quote", "where")
ASKED = {"where": ("80 mm, 12 mm",)}
WARNS_OF_NOTHING = {"quote"}  # money alone: nobody acts on it at the fire
# What an inch recipe never prints: millimetres, grams, Celsius, and inches to a ten thousandth.
METRIC = re.compile(r"\d\s?(?:mm|µm|nm|cm3?|kg|g|kN|C)\b(?! contrast)|\d\.\d{4,} in\b|\d{4,} thou")
IMPERIAL = re.compile(r"\d\s?(?:in|thou|oz|lb|tonf|F)\b(?! (?:a|two|the|all)\b)")

_run = ledger_run.run


@cache
def _kept(path: Path, factor: float, diffuse: bool) -> Any:
    return _run(load(path), scale_factor=factor, diffuse=diffuse)


def _once(recipe: Recipe, *, scale_factor: float = 1.0, diffuse: bool = True) -> Any:
    """The ledger of a demo, run once for all commands that are looked at here."""
    assert recipe.path is not None
    return _kept(recipe.path, scale_factor, diffuse)


@pytest.fixture(autouse=True, scope="module")
def every_room_open() -> None:
    """A module first imported while ``run`` is exchanged would keep the exchanged one for every later test."""
    for found in pkgutil.walk_packages(billet.__path__, "billet."):
        if not found.name.endswith("__main__"):
            importlib.import_module(found.name)


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(ledger_run, "run", _once)
    yield


def answer(command: str, demo: Path, *more: str, width: int = 80) -> str:
    """What a command prints in a terminal of a width."""
    asked = [command, str(demo), *ASKED.get(command, ()), *more]
    result = CliRunner().invoke(app, asked, env={"COLUMNS": str(width)}, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("demo", DEMOS, ids=lambda p: p.stem)
def test_an_answer_fits_in_twelve_lines_of_the_terminal(demo: Path, command: str, width: int) -> None:
    lines = answer(command, demo, width=width).rstrip("\n").split("\n")
    assert len(lines) <= MOST_LINES
    assert [line for line in lines if len(line) > width] == []
    assert sum(line.startswith("! ") for line in lines) in ((0,) if command in WARNS_OF_NOTHING else (1, 2, 3))


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("demo", DEMOS, ids=lambda p: p.stem)
def test_an_answer_speaks_the_recipes_units(demo: Path, command: str) -> None:
    units = load(demo).tables.units
    wrong = METRIC if units == "imperial" else IMPERIAL
    text = (
        answer(command, demo)
        + answer(command, demo, "--full").split("\n! ")[0].split("\nsources", 1)[0].split("\nSources", 1)[0]
    )
    assert [m.group() for m in wrong.finditer(text)] == []


@pytest.mark.parametrize("command", [c for c in COMMANDS if c not in WARNS_OF_NOTHING])
def test_full_holds_the_cautions_whole(command: str) -> None:
    told = " ".join(answer(command, DEMOS[0], "--full").split())
    assert "Local codes, the steel maker's data sheet and qualified instruction come first." in told


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("words", [(), ("1084",), ("15N20",), ("1.2767",), ("316",)], ids=str)
def test_steels_fit_too(words: tuple[str, ...], width: int) -> None:
    result = CliRunner().invoke(app, ["steels", *words], env={"COLUMNS": str(width)}, catch_exceptions=False)
    lines = result.stdout.rstrip("\n").split("\n")
    assert len(lines) <= MOST_LINES and max(map(len, lines)) <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_last_times_mistake_stands_whole_and_the_temper_too(
    width: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    text = (DEMOS[0].parent / "chef.toml").read_text("utf-8")
    old.write_text(text)
    new.write_text(text.replace("many layers", "the second"))
    words = "after harden wrong warped in the oil, cure straight in edge first"
    assert CliRunner().invoke(app, ["record", "add", str(old), words]).exit_code == 0
    lines = answer("harden", new, width=width).rstrip("\n").split("\n")
    assert len(lines) <= MOST_LINES and max(map(len, lines)) <= width
    told = " ".join(" ".join(lines).split())
    assert "Cure: straight in edge first." in told and "Temper" in told
