"""Asks tests inside a damaged copy: started there as `python -m tests.mutation.server`, one JSON question a line.

What the tests import of others is imported once; every question is answered by a child of its own, so that it sees the
copy as it is now. A question: {"tests": [...], "limit": seconds}; the answer: {"end": "killed" | "survived" | "timeout",
"killer": test, "seconds": s}.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import signal
import sys
import time
from typing import Any

import pytest

OTHERS = (
    "numpy scipy.linalg scipy.optimize scipy.sparse scipy.special scipy.interpolate scipy.ndimage scipy.fft scipy.stats "
    "scipy.integrate scipy.signal scipy.spatial pydantic typer typer.testing tomlkit PIL.Image PIL.ImageDraw hypothesis "
    "hypothesis.extra.numpy shapely svgelements ezdxf skimage.measure skimage.filters skimage.feature skimage.morphology "
    "starlette.testclient reportlab.pdfgen.canvas trimesh pypdfium2 pint segno"
)
KILLED = (1, 2, 3, 4)  # a test failed, or pytest could not even start: the damage broke what is imported


class First:
    """A plugin of pytest: only the tests asked for, in their order, and the first that failed."""

    name = ""

    def __init__(self, tests: list[str]) -> None:
        self.order = {test: at for at, test in enumerate(tests)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """A test that the damage made vanish is not asked."""
        items[:] = sorted((i for i in items if i.nodeid in self.order), key=lambda i: self.order[i.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Keep its name."""
        if report.failed and not self.name:
            self.name = report.nodeid


def child(tests: list[str], out: int) -> None:
    """Run the tests until one fails and say which."""
    os.setsid()
    quiet = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(quiet, number)
    first, files = First(tests), dict.fromkeys(test.partition("::")[0] for test in tests)
    code = int(pytest.main(["-n", "0", "-x", "-q", "-p", "no:cacheprovider", *files], plugins=[first]))
    os.write(out, json.dumps({"code": code, "killer": first.name}).encode())
    os._exit(0)


def answer(question: dict[str, Any]) -> dict[str, Any]:
    """Fork, wait no longer than the limit, and judge."""
    start = time.monotonic()
    reading, writing = os.pipe()
    pid = os.fork()
    if not pid:
        os.close(reading)
        try:
            child(question["tests"], writing)
        finally:
            os._exit(1)
    os.close(writing)
    done = 0
    while not done and time.monotonic() - start < question["limit"]:
        time.sleep(0.02)
        done = os.waitpid(pid, os.WNOHANG)[0]
    with contextlib.suppress(ProcessLookupError):
        os.killpg(pid, signal.SIGKILL)
    if not done:
        os.waitpid(pid, 0)
    said = os.read(reading, 65536) if done else b""
    os.close(reading)
    return judged(bool(done), said) | {"seconds": time.monotonic() - start}


def judged(done: bool, said: bytes) -> dict[str, str]:
    """What became of the damage."""
    if not done:
        return {"end": "timeout", "killer": ""}
    if not said:
        return {"end": "killed", "killer": "the interpreter fell over"}
    told = json.loads(said)
    killed = told["code"] in KILLED
    return {"end": "killed" if killed else "survived", "killer": told["killer"] or ("import" if killed else "")}


def main() -> None:
    """Answer until the questions end."""
    for name in OTHERS.split():
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    for line in sys.stdin:
        print(json.dumps(answer(json.loads(line))), flush=True)


if __name__ == "__main__":
    main()
