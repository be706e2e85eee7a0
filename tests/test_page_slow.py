"""Lines to the page that are opened and never finished: they are closed in time, and keep nobody out meanwhile."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.page_wires import Program, answered, until_closed

pytestmark = pytest.mark.slow
DEMOS = Path(__file__).parent.parent / "demo_billets"
HASTY = """
import time
from render.page import guard, patience
from render.page.house import House
patience.PATIENCE_S = 0.6
guard.AT_ONCE = 3
House.fire = lambda house, asked: time.sleep(2)
"""
FEW_FILES = """
import resource
resource.setrlimit(resource.RLIMIT_NOFILE, (256, 256))
"""
Opened = Callable[[str], Program]


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Opened]:
    """Opens the page, with words put before the program."""
    shutil.copy(DEMOS / "slicer.toml", tmp_path)
    every: list[Program] = []

    def one(before: str) -> Program:
        every.append(Program(tmp_path, before))
        return every[-1]

    yield one
    for program in every:
        program.close()


def half(program: Program, kind: str) -> bytes:
    """A request that breaks off."""
    body = program.head("POST", "/api/edit", "Content-Type: application/json", "Content-Length: 900")
    return {"nothing": b"", "half a head": body[:40], "half a body": body + b'{"file": "sl'}[kind]


KINDS = pytest.mark.parametrize("kind", ["nothing", "half a head", "half a body"])


def seconds(ask: Callable[[], tuple[int, object]]) -> float:
    """How long an honest request waits for its answer [s]."""
    begun = time.monotonic()
    assert ask()[0] == 200
    return time.monotonic() - begun


@KINDS
def test_sixty_half_sent_requests_do_not_keep_an_honest_one_out(opened: Opened, kind: str) -> None:
    program = opened("")
    lines = [program.send(half(program, kind)) for _ in range(60)]
    assert len(lines) == 60 and seconds(lambda: program.ask("/api/folder")) < 5


def test_lines_that_were_turned_away_and_stay_open_keep_nobody_out(opened: Opened) -> None:
    program = opened("")
    stranger = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{program.port}\r\n\r\n".encode()
    lines = [program.send(stranger) for _ in range(150)]
    assert [wire.recv(12) for wire in lines[-20:]] == [b"HTTP/1.1 403"] * 20
    assert seconds(lambda: program.ask("/api/folder")) < 5


@KINDS
def test_more_lines_than_the_system_has_files_do_not_keep_an_honest_one_out(opened: Opened, kind: str) -> None:
    pytest.importorskip("resource", reason="open files are not bounded there")
    program = opened(FEW_FILES)
    lines = [program.send(half(program, kind)) for _ in range(400)]
    assert len(lines) == 400 and seconds(lambda: program.ask("/api/folder")) < 5
    assert program.interrupt(within=20)[2] == ""  # nor is the console filled with faults


@KINDS
@pytest.mark.parametrize("dripping", [b"", b"x"], ids=["silent", "letter by letter"])
def test_what_is_not_whole_in_time_is_closed(opened: Opened, kind: str, dripping: bytes) -> None:
    program = opened(HASTY)
    assert 0.4 < until_closed(program.send(half(program, kind)), dripping) < 10  # [s]; patience 0.6, and a busy machine


def test_a_whole_request_may_wait_for_its_answer(opened: Opened) -> None:
    assert seconds(lambda: opened(HASTY).ask("/api/fire?file=slicer.toml")) > 2  # [s]; patience 0.6


def test_a_second_request_on_a_line_is_waited_for_anew(opened: Opened) -> None:
    program = opened(HASTY)
    wire = program.send(program.head("GET", "/api/folder") + program.head("GET", "/api/folder")[:30])
    assert wire.recv(12) == b"HTTP/1.1 200"
    assert until_closed(wire, b"x") < 10  # [s]


def test_too_many_questions_at_once_are_told_so(opened: Opened) -> None:
    program = opened(HASTY)
    version = program.ask("/api/knife?file=slicer.toml")[1]["version"]
    watch = program.head("GET", f"/api/watch?file=slicer.toml&version={version}", "Connection: close")
    wires = [program.send(watch) for _ in range(4)]
    status, said = answered(wires[-1])
    assert status == 503 and "wait a moment and try again" in said["errors"][0]["message"]
    wires[0].close()
