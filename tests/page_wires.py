"""A page served by a program of its own, asked over bare sockets: what is sent can stop anywhere, and how the program ends is seen."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

BEGIN = "from billet.cli import main; main()"


class Program:
    """`billet open` on a folder, with words put before it as Python where it is to be made slow."""

    def __init__(self, folder: Path, before: str = "", *options: str) -> None:
        words = [sys.executable, "-c", f"{before}\n{BEGIN}", "open", str(folder), "--no-browser", *options]
        environment = {**os.environ, "HOME": str(folder), "OPENBLAS_NUM_THREADS": "1"}
        self._process = subprocess.Popen(
            words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment, cwd=Path(__file__).parent.parent
        )  # fmt: skip
        assert self._process.stdout is not None
        self.told = [self._process.stdout.readline()]
        while "Ctrl-C stops it." not in self.told[-1]:
            assert self.told[-1], (self._process.stderr or sys.stderr).read()
            self.told.append(self._process.stdout.readline())
        found = re.search(r"http://127.0.0.1:(\d+)/\?token=(\S+)", "".join(self.told))
        assert found is not None
        self.port, self.key = int(found[1]), found[2]
        self._held: list[socket.socket] = []

    def head(self, method: str, address: str, *lines: str) -> bytes:
        """The head of a request that is let in."""
        own = (f"Host: 127.0.0.1:{self.port}", f"Cookie: billet_key_{self.port}={self.key}")
        return "\r\n".join((f"{method} {address} HTTP/1.1", *own, *lines, "", "")).encode()

    def send(self, data: bytes) -> socket.socket:
        """Send so much, and keep the line open."""
        wire = socket.create_connection(("127.0.0.1", self.port), timeout=30)
        wire.sendall(data)
        self._held.append(wire)
        return wire

    def ask(self, address: str) -> tuple[int, Any]:
        """A whole request: its status and its answer."""
        wire = self.send(self.head("GET", address, "Connection: close"))
        return answered(wire)

    def interrupt(self, within: float) -> tuple[int, str, str, float]:
        """Ctrl-C: the exit code, what was said after it, what was said of faults, and how long it took [s]."""
        begun = time.monotonic()
        self._process.send_signal(signal.SIGINT)
        out, err = self._process.communicate(timeout=within)
        return self._process.returncode, out, err, time.monotonic() - begun

    def close(self) -> None:
        """End it and all lines to it."""
        for wire in self._held:
            wire.close()
        self._process.kill()
        self._process.communicate()


def answered(wire: socket.socket) -> tuple[int, Any]:
    """Status and JSON of an answer whose line is closed after it."""
    data = b""
    while more := wire.recv(65536):
        data += more
    head, _, body = data.partition(b"\r\n\r\n")
    return int(head.split()[1]), json.loads(body)


def until_closed(wire: socket.socket, dripping: bytes = b"") -> float:
    """How long it takes until a line is closed from the other end [s], letters dripping into it meanwhile."""
    begun = time.monotonic()
    wire.settimeout(0.1)
    while time.monotonic() - begun < 20:
        try:
            wire.sendall(dripping)
            if not wire.recv(65536):
                break
        except TimeoutError:
            continue
        except OSError:
            break
    return time.monotonic() - begun
