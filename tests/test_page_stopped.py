"""The page's program at Ctrl-C, while browsers wait for a change, for a drawing, or are in the middle of asking."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.page_wires import Program, answered

pytestmark = pytest.mark.slow
DEMOS = Path(__file__).parent.parent / "demo_billets"
SLOW = """
import time
from render.page import app
from render.page.house import House
app._WAIT_S = 60.0
House.solid = lambda house, asked: time.sleep(90)
"""


@pytest.fixture
def program(tmp_path: Path) -> Iterator[Program]:
    shutil.copy(DEMOS / "slicer.toml", tmp_path)
    opened = Program(tmp_path, SLOW)
    yield opened
    opened.close()


def test_ctrl_c_answers_those_who_watch_and_ends_at_once(program: Program) -> None:
    version = program.ask("/api/knife?file=slicer.toml")[1]["version"]
    asked = program.head("GET", f"/api/watch?file=slicer.toml&version={version}")
    watching = [program.send(asked) for _ in range(3)]
    program.ask("/api/folder")  # they were heard before this one
    code, said, faults, took = program.interrupt(within=20)
    assert code == 0 and faults == ""
    assert said == "The page has stopped; `billet open` opens it again.\n"
    assert took < 10  # [s]; a watch that nobody ends waits 60 here
    assert [answered(wire) for wire in watching] == [(200, {"version": version})] * 3


def test_ctrl_c_ends_though_a_drawing_and_a_half_sent_edit_wait(program: Program) -> None:
    program.send(program.head("GET", "/api/solid?file=slicer.toml"))
    program.send(
        program.head("POST", "/api/edit", "Content-Type: application/json", "Content-Length: 900") + b'{"file"'
    )
    program.send(b"GET /api/fol")
    program.ask("/api/folder")
    code, said, faults, took = program.interrupt(within=60)
    assert code == 0 and faults == ""
    assert said == "The page has stopped; `billet open` opens it again.\n"
    assert took < 30  # [s]; the drawing takes 90
