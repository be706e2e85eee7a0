"""What a newcomer meets: no file is missing from the wheel, and every command works away from the checkout."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from billet.cli import COMMANDS
from tests.newcomer import visit


def test_a_wheel_carries_every_file() -> None:
    """As the project's file has it; `python -m tests.benchmarks.newcomer wheel` builds one and looks."""
    assert sorted(visit.carried()) == sorted(map(str, visit.kept()))


def test_every_command_is_typed() -> None:
    typed = {line.split()[0] for line in (*visit.WORK.splitlines(), *_tutorial())}
    assert set(COMMANDS) - typed == {"open"}, "which is looked at apart"


def _tutorial() -> list[str]:
    text = (visit.ROOT / "billet" / "manual" / "tutorial.md").read_text("utf-8")
    return [line.removeprefix("billet ") for line in text.splitlines() if line.startswith("billet ")]


@pytest.mark.slow
@pytest.mark.parametrize("console", ["ascii", "cp1252"])
def test_every_command_works_away_from_the_checkout(console: str, tmp_path: Path) -> None:
    """In an emptied environment, with a home that cannot be written, in a folder with a space and umlauts."""
    (work := tmp_path / "Räucherei 1").mkdir()
    start = [sys.executable, "-m", "billet.cli"]
    site = visit.laid(tmp_path / "site")
    env = visit.emptied(visit.UNWRITABLE, PYTHONPATH=str(site), PYTHONIOENCODING=console)
    where = subprocess.run(
        [sys.executable, "-c", "import billet; print(billet.__file__)"], env=env, cwd=work, capture_output=True
    )
    assert Path(where.stdout.decode().strip()).is_relative_to(site)
    faults = visit.worked(start, work, env)
    if console == "cp1252":
        faults += visit.read_along(start, work, env) + visit.looked_at(start, work, env)
    assert faults == []
