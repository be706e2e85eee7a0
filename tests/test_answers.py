"""The answer first: every command says what matters in twelve lines, in the recipe's own units, at any width of the terminal."""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

import billet
from billet.cli import app
from billet.manual.pages import topics
from billet.recipe.read import load
from billet.recipe.recipe import Recipe
from billet.stages import stages as stages_of
from tests.count_pictures import stripes

DEMOS = sorted(p for p in (Path(__file__).parent.parent / "demo_billets").glob("*.toml") if "[[bar]]" in p.read_text())
MOST_LINES, WIDTHS = 12, (80, 60)
ASKED = {
    "check": (), "ledger": (), "carbon": (), "harden": (), "stages": (), "quote": (), "where": ("80 mm, 12 mm",), "next": (),
    "plan": (), "grind": ("--at", "heel spine 125 thou bow 8 thou left", "--at", "2 in spine 120 thou", "--no-record"),
    "preview": ("-o", "picture.png", "--force", "--width", "300"), "sheet": ("-o", "sheet.pdf", "--force", "--card", "fire"),
    "again": ("again.toml",), "solid": ("-o", "knife.glb", "--force", "--width", "300"),
}  # fmt: skip
METRIC_WORDS = {
    "heel spine 125 thou bow 8 thou left": "heel spine 3.1 mm bow 0.2 mm left",
    "2 in spine 120 thou": "50 mm spine 3 mm",
}
COMMANDS = tuple(ASKED)
WARNS_OF_NOTHING = {
    "quote",
    "sheet",
    "again",
    "solid",
}  # nobody acts on a sum or a file at the fire; the sheet carries its own
HAS_A_FULL = [c for c in COMMANDS if c not in WARNS_OF_NOTHING]
# What an inch recipe never prints: millimetres, grams, Celsius, and inches to a ten thousandth.
METRIC = re.compile(r"\d\s?(?:mm|µm|nm|cm3?|kg|g|kN|C)\b(?! contrast)|\d\.\d{4,} in\b|\d{4,} thou")
IMPERIAL = re.compile(r"\d\s?(?:in|thou|oz|lb|tonf|F)\b(?! (?:a|two|the|all)\b)")

# What a command works out, asked for anew by every command, width and length of answer: done once a demo here.
WORKED_OUT = (
    ("billet.ledger.run", "run"),
    ("billet.plan.planner", "plan"),
    ("billet.where", "look"),
    ("billet.hardening", "advise"),
    ("billet.grinding", "skin_band"),
    ("billet.stages.metal", "weighed"),
    ("billet.record.next_card", "card_of"),
    ("render.vary", "pictured"),
    ("render.sheet.whole_sheet", "sheet_of"),
    ("render.solid.glb", "solid"),
)
_KEPT: dict[tuple[object, ...], Any] = {}


def _demo_of(value: object) -> object:
    """A demo by its path, anything else by what it says of itself."""
    recipe = getattr(value, "recipe", value)
    return recipe.path if isinstance(recipe, Recipe) else repr(value)


def _once(name: str, worked_out: Callable[..., Any]) -> Callable[..., Any]:
    """The same, kept for the same recipe and the same further wishes; what is to be told while it works is left out."""

    def kept(*args: Any, **wishes: Any) -> Any:
        asked = {k: v for k, v in wishes.items() if k != "progress"}
        key = (name, *(_demo_of(a) for a in args), *((k, _demo_of(v)) for k, v in sorted(asked.items())))
        if key not in _KEPT:
            _KEPT[key] = worked_out(*args, **asked)
        return _KEPT[key]

    return kept


@pytest.fixture(autouse=True, scope="module")
def every_room_open() -> None:
    """A module first imported while a name is exchanged would keep the exchanged one for every later test."""
    for found in pkgutil.walk_packages(billet.__path__, "billet."):
        if not found.name.endswith("__main__"):
            importlib.import_module(found.name)


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    for room, name in WORKED_OUT:
        module = importlib.import_module(room)
        monkeypatch.setattr(module, name, _once(name, getattr(module, name)))
    monkeypatch.chdir(tmp_path)
    yield


def answer(command: str, demo: Path, *more: str, width: int = 80) -> str:
    """What a command prints in a terminal of a width."""
    typed = [
        command,
        str(demo),
        *(METRIC_WORDS.get(a, a) if "metric" in demo.read_text() else a for a in ASKED[command]),
        *more,
    ]
    result = CliRunner().invoke(app, typed, env={"COLUMNS": str(width)}, catch_exceptions=False)
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
    text = answer(command, demo)
    if command in HAS_A_FULL:
        whole = answer(command, demo, "--full")
        text += whole.split("\n! ")[0].split("\nsources", 1)[0].split("\nSources", 1)[0]
    assert [m.group() for m in wrong.finditer(text)] == []


@pytest.mark.parametrize("command", HAS_A_FULL)
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


@pytest.mark.parametrize("demo", [d for d in DEMOS if load(d).tables.units == "imperial"], ids=lambda p: p.stem)
def test_the_next_card_asks_for_marks_a_dial_has(demo: Path) -> None:
    """No furnace is set to 1472 F: every heat a card asks for is a whole five degrees."""
    every = stages_of(load(demo))
    hot = [
        stage.name
        for stage in every
        if stage.kind == "blade" and stage.do in ("normalise", "anneal", "harden", "temper")
    ]
    told = [answer("next", demo, *name.split(), "--full") for name in hot]
    heats = [int(v) for text in told for v in re.findall(r"(\d{3,4}) F\b", text)]
    assert heats and [v for v in heats if v % 5] == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(
    "words",
    [("list",), ("search", "edges"), ("compare", "knife.toml"), ("compare", "knife.toml", "two.toml")],
    ids=" ".join,
)
def test_a_full_record_is_told_in_twelve_lines_and_whole_when_asked(
    words: tuple[str, ...], width: int, tmp_path: Path
) -> None:
    text = (DEMOS[0].parent / "chef.toml").read_text("utf-8")
    for name, title in (("knife.toml", "many layers"), ("two.toml", "the second")):
        (tmp_path / name).write_text(text.replace("many layers", title))
        for k in range(14):
            said = [
                "record",
                "add",
                name,
                f"after {k % 4 + 1} thickness {500 - 40 * k} thou, wrong edges cold again, cure hotter",
            ]
            assert CliRunner().invoke(app, said).exit_code == 0
    told, whole = (
        CliRunner().invoke(app, ["record", *words, *more], env={"COLUMNS": str(width)}, catch_exceptions=False).stdout
        for more in ((), ("--full",))
    )
    lines = told.rstrip("\n").split("\n")
    assert len(lines) <= MOST_LINES and max(map(len, lines)) <= width
    assert len(whole.split("\n")) > MOST_LINES and "--full" in told


@pytest.mark.parametrize("width", WIDTHS)
def test_a_count_fits_too(width: int, tmp_path: Path) -> None:
    photo = tmp_path / "end.png"
    Image.fromarray((255 * stripes(21, 12.0)).astype(np.uint8)).save(photo)
    result = CliRunner().invoke(
        app, ["count", str(photo), "--dpi", "1200"], env={"COLUMNS": str(width)}, catch_exceptions=False
    )
    lines = result.stdout.rstrip("\n").split("\n")
    assert "21" in result.stdout and len(lines) <= MOST_LINES and max(map(len, lines)) <= width


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("topic", [(), *((name,) for told, _ in topics() for name in told.split(", "))], ids=str)
def test_the_manual_fits_the_terminal(topic: tuple[str, ...], width: int) -> None:
    result = CliRunner().invoke(app, ["manual", *topic], env={"COLUMNS": str(width)}, catch_exceptions=False)
    prose = [line for line in result.stdout.split("\n") if not line.startswith("    ")]
    assert len(prose) > 2 and [line for line in prose if len(line) > width] == []
