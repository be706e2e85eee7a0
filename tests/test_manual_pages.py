"""The manual works to the letter: every command in it is run, in the order it stands, with the files it shows."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.cli import COMMANDS, app
from billet.manual.pages import PAGES, REFERENCE, find, page, topics
from billet.manual.wrapping import wrapped
from billet.steps import step_types

FENCE = re.compile(r"```(\w+)(?: (\S+))?\n(.*?)```", re.S)
TOLD = [name for name in PAGES if name not in REFERENCE]
AT_WORK = [name for name in TOLD if "```sh" in page(name)]


@pytest.mark.slow
@pytest.mark.parametrize("topic", AT_WORK)
def test_every_command_of_a_page_works(topic: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = [_done(kind, name, text) for kind, name, text in FENCE.findall(page(topic))]
    assert sum(done) > 0


def _done(kind: str, name: str, text: str) -> int:
    """Write the file a fence shows, or run its commands; how many were run."""
    if name:
        Path(name).write_text(text, "utf-8")
        return 0
    assert kind == "sh"
    for line in text.splitlines():
        result = CliRunner().invoke(app, shlex.split(line.removeprefix("billet ")))
        assert result.exit_code == 0, f"{line}\n{result.output}\n{result.exception!r}"
    return len(text.splitlines())


def test_most_of_the_manual_is_at_work() -> None:
    assert set(TOLD) - set(AT_WORK) == {"exact", "page", "truth"}, (
        "the others show commands in fences marked sh; `billet open` runs until it is stopped"
    )
    assert {kind for name in TOLD for kind, _, _ in FENCE.findall(page(name))} == {"sh", "toml", "csv"}


@pytest.mark.parametrize("columns", [60, 80])
@pytest.mark.parametrize("topic", PAGES)
def test_a_page_fits_the_terminal(topic: str, columns: int) -> None:
    fences = {f"    {line}".rstrip() for _, _, text in FENCE.findall(page(topic)) for line in text.splitlines()}
    lines = [line for line in wrapped(page(topic), columns).splitlines() if line not in fences]
    assert [line for line in lines if len(line) > columns and " " in line.strip("- ")] == []


def test_without_a_topic_the_topics_stand_in_twelve_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    told = CliRunner().invoke(app, ["manual"]).output
    assert len(told.splitlines()) <= 12 and max(map(len, told.splitlines())) <= 60
    assert all(name in told for name in PAGES)
    assert sorted(name for names, _ in topics() for name in names.split(", ")) == sorted(PAGES)


@pytest.mark.parametrize("name", [*PAGES, *step_types(), *COMMANDS, "shop", "blade.tang", "[rack]", "billet plan"])
def test_every_topic_step_table_and_command_is_found(name: str) -> None:
    assert len(find(name).split()) > 5


def test_an_unknown_topic_is_offered_the_nearest() -> None:
    with pytest.raises(InputError, match='the nearest is "ladder"'):
        find("laddr")
