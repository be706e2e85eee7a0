"""Commands run in programs of their own, and killed: at a moment, or just before a file is touched."""

from __future__ import annotations

import importlib
import os
import pkgutil
import shutil
import signal
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

KILLED = -signal.SIGKILL
NOBODY = 65534
TOUCHES = (
    "open",
    "os.rename",
    "os.remove",
    "os.chmod",
    "os.mkdir",
    "os.link",
    "os.truncate",
    "tempfile.mkstemp",
    "sqlite3.connect",
)
_WRITES = os.O_WRONLY | os.O_RDWR


def warm() -> None:
    """Load every module once, so that programs forked from here start at once and need no files to start."""
    import billet
    import render

    for package in (billet, render):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if not module.name.endswith("__main__"):
                importlib.import_module(module.name)
    for name in (
        "concurrent.futures",
        "numpy.testing",
        "scipy.ndimage",
        "scipy.optimize",
        "skimage.measure",
        "ezdxf",
        "reportlab.pdfgen.canvas",
    ):
        importlib.import_module(name)


class Figure(NamedTuple):
    """What one campaign found: its name, how often it tried, and what was at fault, each told in words."""

    name: str
    tried: int
    faults: tuple[str, ...]
    more: str = ""

    def say(self) -> str:
        """One line, and one for every sort of fault."""
        kinds = {text: self.faults.count(text) for text in self.faults}
        told = [f"    {count} x {text}" for text, count in kinds.items()]
        return "\n".join(
            [
                f"{self.name}: {self.tried} tried, {len(self.faults)} at fault{'; ' + self.more if self.more else ''}",
                *told,
            ]
        )


class Died(NamedTuple):
    """How a program ended, and what it told through its pipe."""

    code: int
    told: bytes


def apart(work: Callable[[Callable[[bytes], None]], int | None]) -> tuple[int, int]:
    """Run work in a program of its own; it is given a way to tell things. Its number, and the end to read from."""
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, reading
    code = 1
    try:
        os.close(reading)
        for signals in (signal.SIGINT, signal.SIGTERM):
            signal.signal(signals, signal.SIG_DFL)
        code = work(lambda data: (os.write(writing, data), None)[1]) or 0
    finally:
        os._exit(code)


def ended(child: int, reading: int) -> Died:
    """Wait for a program."""
    with os.fdopen(reading, "rb") as pipe:
        told = pipe.read()
    return Died(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), told)


def billet(folder: Path, words: Sequence[str], *, as_nobody: bool = False) -> int:
    """The command line in this program: never comes back to the caller's files or screens. What it says is told on 2."""
    import billet.cli

    try:
        os.chdir(folder)
    except OSError:
        os.write(2, b"billet: the folder was gone before it began; start again\n")
        return 1
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    sys.stdout = os.fdopen(1, "w", closefd=False)
    sys.stderr = os.fdopen(2, "w", closefd=False, buffering=1)
    if as_nobody and os.getuid() == 0:
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    sys.argv = ["billet", *words]
    try:
        billet.cli.main()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 0 if end.code is None else 99
    except BaseException:
        import traceback

        traceback.print_exc()
        return 99
    return 0


def run(folder: Path, *words: str, as_nobody: bool = False) -> Died:
    """A command run to its end; what it says on standard error is what it told."""

    def work(tell: Callable[[bytes], None]) -> int:
        if as_nobody:
            _rehearsed(folder, words)
        reading, writing = os.pipe()
        os.dup2(writing, 2)
        os.close(writing)
        said: list[bytes] = []
        keeper = threading.Thread(target=lambda: said.extend(iter(lambda: os.read(reading, 65536), b"")))
        keeper.start()
        code = billet(folder, words, as_nobody=as_nobody)
        sys.stderr.flush()
        os.close(2)
        keeper.join(5)
        tell(b"".join(said))
        return code

    return ended(*apart(work))


def _rehearsed(folder: Path, words: Sequence[str]) -> None:
    """The command once in a copy, so that all it loads is loaded: nobody may read the files of this Python."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    with tempfile.TemporaryDirectory() as name:
        shutil.copytree(folder, name, dirs_exist_ok=True)
        for path in Path(name).rglob("*"):
            path.chmod(0o755 if path.is_dir() else 0o644)
        billet(Path(name), words)
        os.chdir(folder)


def killed_after(folder: Path, seconds: float, *words: str) -> int:
    """A command killed so many seconds after its start; how it ended."""

    def work(_: object) -> int:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        return billet(folder, words)

    child, reading = apart(work)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    return ended(child, reading).code


def killed_at_touch(folder: Path, number: int, *words: str) -> int:
    """A command killed just before it touches a file for the so-manieth time: opens it to write, renames, removes it."""

    def work(_: object) -> int:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        left = number

        def hook(event: str, args: tuple[object, ...]) -> None:
            nonlocal left
            if event not in TOUCHES:
                return
            if event == "open":
                mode, flags = args[1], args[2]
                writes = (
                    bool(set(mode) & set("wax+")) if isinstance(mode, str) else bool(int(str(flags or 0)) & _WRITES)
                )
                if not writes or str(args[0]).startswith("/dev/"):
                    return
            left -= 1
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)
        return billet(folder, words)

    return ended(*apart(work)).code
