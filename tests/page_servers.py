"""Servers of the page, each a process of its own that can be killed, begun quickly: one program loads everything once and forks.

Run as a program it reads a line of JSON at a time, {"words": [...], "home": ..., "out": ...}, and answers with the number of the
process that serves; what that process prints goes into the file ``out``.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import Any


class Server:
    """A running `billet open`."""

    _forge: subprocess.Popen[str] | None = None

    def __init__(self, words: list[str], home: Path) -> None:
        self._out = home / ".told"
        self._out.write_text("")
        asked = {"words": words, "home": str(home), "out": str(self._out)}
        forge = self._loaded()
        assert forge.stdin is not None and forge.stdout is not None
        forge.stdin.write(json.dumps(asked) + "\n")
        forge.stdin.flush()
        self.pid = int(forge.stdout.readline())

    @classmethod
    def _loaded(cls) -> subprocess.Popen[str]:
        """The program that has loaded everything; one for all tests of this process."""
        if cls._forge is None or cls._forge.poll() is not None:
            environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
            cls._forge = subprocess.Popen(
                [sys.executable, "-m", "tests.page_servers"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
                env=environment, cwd=Path(__file__).parent.parent,
            )  # fmt: skip
        return cls._forge

    def told(self, last: str) -> list[str]:
        """What it printed up to a line that holds some words, or till it ended."""
        ends = time.monotonic() + 20
        while last not in (text := self._out.read_text()) and self.runs():
            assert time.monotonic() < ends, text
            time.sleep(0.01)
        return self._out.read_text().splitlines(keepends=True)

    def runs(self) -> bool:
        """Whether it is running."""
        try:
            os.kill(self.pid, 0)
        except ProcessLookupError:
            return False
        return True

    def kill(self) -> None:
        """End it at once, as a power cut would."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)
        ends = time.monotonic() + 10
        while self.runs() and time.monotonic() < ends:
            time.sleep(0.005)


def _serving(asked: dict[str, Any]) -> None:
    """Become `billet open` with some words; never returns."""
    from billet.cli import main

    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    out = os.open(asked["out"], os.O_WRONLY | os.O_TRUNC | os.O_CREAT)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    for stream in (1, 2):
        os.dup2(out, stream)
    os.environ["HOME"] = asked["home"]
    sys.argv = ["billet", *asked["words"]]
    try:
        main()
    finally:
        sys.stdout.flush()
        os._exit(0)


def _fork_as_asked() -> None:
    """Load all that serving needs, then fork for every line."""
    import render.page.serve  # noqa: F401

    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # ended ones are buried at once
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            _serving(json.loads(line))
        print(child, flush=True)


if __name__ == "__main__":
    _fork_as_asked()
