"""The manual tells the truth: its tables are those of the program, its commands are those that are tested."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from billet.steps import step_types
from tests.manual import DEMOS, README, filled, reference

ROOT = README.parent


def test_the_generated_parts_of_the_readme_are_fresh() -> None:
    text = README.read_text("utf-8")
    assert filled(text) == text, "run `python -m tests.manual` to write them anew"


@pytest.mark.parametrize("path", reference(), ids=lambda path: path.stem)
def test_the_stored_reference_is_fresh(path: Path) -> None:
    assert path.read_text("utf-8") == reference()[path], "run `python -m tests.manual` to write it anew"


@pytest.mark.parametrize("verb", sorted(step_types()))
def test_every_step_has_its_entry(verb: str) -> None:
    assert f"| `{verb}` |" in README.read_text("utf-8"), (
        f"run `python -m tests.manual`; the step {verb} has no entry in the README"
    )


def test_the_checks_call_the_readmes_test_command() -> None:
    command = next(c for c in re.findall(r"```\n(.*?)\n```", README.read_text("utf-8"), re.S) if "pytest" in c)
    assert command in (ROOT / ".ci" / "run").read_text("utf-8")


def test_every_picture_the_readme_shows_is_there() -> None:
    shown = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README.read_text("utf-8"))
    assert [p for p in shown if not (ROOT / p).is_file()] == []
    assert len(shown) > len(list(DEMOS.glob("*.toml"))) // 2


def test_the_top_level_holds_only_what_was_agreed() -> None:
    """Of what is kept: a newcomer may have left knives of their own in the checkout."""
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "billet", "render", "tests", "demo_billets"}
    kept = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if kept.returncode:
        pytest.skip("this is no checkout")
    assert {name.split("/")[0] for name in kept.stdout.splitlines() if not name.startswith(".")} == agreed
