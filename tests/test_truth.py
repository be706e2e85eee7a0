"""The truth table is in step with the tests and complete: every number the commands print belongs to a kind on the page."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from billet.cli import app
from tests.truth.figures import FIGURES, SAID_BACK
from tests.truth.registry import PAGE, Check, Found, How, deviation, printed, told
from tests.truth.table import load_checks, of_figure, page, proven

DEMOS = Path(__file__).parent.parent / "demo_billets"
ASKED = [
    *([c, f"{d}.toml"] for d in ("chef", "santoku", "integral") for c in ("ledger", "check", "harden", "stages", "quote", "carbon", "next")),
    ["where", "chef.toml", "43 mm, 12 mm"],
    ["plan", "slicer.toml"],
    ["grind", "slicer.toml", "slicer.stations.csv"],
    ["preview", "santoku.toml", "-o", "OUT"],
    ["steels", "52100"],
]  # fmt: skip
LEAST_SHARE = 0.9


def numbers(value: Any, path: str = "") -> Iterator[str]:
    """The paths of the numbers in JSON, places in lists starred."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from numbers(one, f"{path}.{key}")
    elif isinstance(value, list):
        for one in value:
            yield from numbers(one, f"{path}.*")
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path.removeprefix(".")


def kinds_of(key: str) -> list[str]:
    """The kinds of figure a key of a command's JSON stands for."""
    return [f.name for f in FIGURES if any(fnmatchcase(key, pattern) for pattern in f.keys)]


@pytest.mark.slow
@pytest.mark.parametrize("words", ASKED, ids=lambda words: " ".join(words[:2]))
def test_every_number_in_json_belongs_to_a_kind(words: list[str], tmp_path: Path) -> None:
    shutil.copytree(DEMOS, tmp_path / "d", ignore=shutil.ignore_patterns("*.png", "*.sqlite"))
    there = tmp_path / "d"
    given = [str(tmp_path / "p.png") if w == "OUT" else str(there / w) if (there / w).is_file() else w for w in words]
    result = CliRunner().invoke(app, [*given, "--json"])
    text = result.stdout[result.stdout.index("{") :]
    keys = {f"{words[0]}:{key}" for key in numbers(json.JSONDecoder().raw_decode(text)[0])}
    assert keys
    lacking = {k for k in keys if not kinds_of(k) and not any(fnmatchcase(k, p) for p in SAID_BACK)}
    assert not lacking, "give them a kind in tests/truth/figures.py"


def test_every_check_is_of_a_kind_that_is_told() -> None:
    names = [f.name for f in FIGURES]
    assert len(set(names)) == len(names)
    assert {c.figure for c in load_checks().values()} <= set(names)


def test_no_two_rows_read_alike() -> None:
    rows = [(c.figure, c.over_all, c.tail) for c in load_checks().values()]
    assert len(set(rows)) == len(rows)


def test_nine_kinds_in_ten_have_a_check_that_proves_something() -> None:
    load_checks()
    assert sum(map(proven, FIGURES)) >= LEAST_SHARE * len(FIGURES)


def test_a_kind_without_a_check_says_why() -> None:
    load_checks()
    assert [f.name for f in FIGURES if not of_figure(f) and not f.why_not] == []


def test_the_page_holds_the_rows_of_the_checks_and_no_others() -> None:
    """What was measured is read off the page: each check's own test compares it with what it measures."""
    load_checks()

    def stored(check: Check) -> Found:
        row = printed(check)
        assert row is not None, f"{check.figure}: {check.source} is not on the page; run `python -m tests.truth`"
        texts[check.over_all + check.tail] = row[0]
        return Found(-1.0, row[1])

    texts: dict[str, str] = {}
    fresh = page(stored, lambda check, _: texts[check.over_all + check.tail])
    assert PAGE.read_text("utf-8") == fresh, "run `python -m tests.truth` to write it anew"


@pytest.mark.parametrize(
    ("ours", "truth", "unit", "off"),
    [(61.0, 60.0, "HRC", 1.0), (61.0, (60.0, 62.0), "HRC", 0.0), (59.0, (60.0, 62.0), "HRC", 1.0), (110.0, 100.0, "%", 10.0),
     (50.0, 100.0, "times", 2.0), (float("nan"), 1.0, "mm", float("inf"))],
)  # fmt: skip
def test_how_far_off(ours: float, truth: Any, unit: str, off: float) -> None:
    """By hand; what is not a number is as far off as can be."""
    assert deviation(ours, truth, unit) == pytest.approx(off)


@pytest.mark.parametrize(
    ("off", "unit", "text"),
    [(1.61, "HRC", "1.7 HRC"), (1.6, "HRC", "1.6 HRC"), (27.1, "C", "28 C"), (370.0, "mm", "370 mm"), (0.0, "mm", "nothing off"),
     (0.004, "%", "under 0.01 %"), (1.0, "times", "nothing off"), (0.0532, "%", "0.054 %")],
)  # fmt: skip
def test_deviations_are_rounded_up_to_two_figures(off: float, unit: str, text: str) -> None:
    assert told(off, unit) == text


def test_a_check_that_is_off_fails() -> None:
    """The machinery can fail: one figure out of three is 3 HRC off."""
    pairs = [(60.0, 60.0), (63.0, 60.0), (60.0, 60.5)]
    check = Check("x", "y", How.HELD_OUT, "HRC", 1.0, "worst", (), lambda: pairs)
    assert check.found() == Found(3.0, 3)
    assert Check("x", "y", How.HELD_OUT, "HRC", 1.0, "rms", (), lambda: pairs).found().deviation == pytest.approx(
        1.756, abs=1e-3
    )
