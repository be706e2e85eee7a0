"""One call of the command line in a folder of its own, and what is at fault with how it ended."""

from __future__ import annotations

import contextlib
import io
import os
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

import typer

import billet.cli
from tests.fuzz.cases import Case

SECONDS, MORE_BYTES = 10.0, 1 << 30
CODES = (0, 1, 2)
PLACE = re.compile(
    r"\b[a-z_]+: |--[a-z]|\"[^\"]*\"|\.(?:sqlite|toml|csv)\b|there is no such file|a name ending in|found a folder|this is a folder|cannot be read or written|[Tt]he (?:measuring )?lines?\b|The text|(?:The|A|Line|Note|This) [\w ]*(?:backup|picture|line|note|bar)\b"
)
"""A field, an option, what was typed, a file; or the one thing the call is about."""
REMEDY = re.compile(
    r";|wanted|missing|go together|give|put|write|save|look|found|needs?|must|use|such as|is not|cannot|no |only|did you mean|more|less",
    re.IGNORECASE,
)


class Slow(BaseException):
    """The call took longer than it may."""


class Ended(NamedTuple):
    """How a call ended: its code, what it printed and said, seconds taken, and a traceback where there was one."""

    code: int
    out: str
    said: str
    seconds: float
    trace: str = ""


def _late(*_: object) -> None:
    raise Slow


@contextlib.contextmanager
def limits() -> Iterator[None]:
    """Ten seconds of this processor's time, however busy the machine is, and a gigabyte more memory than now."""
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    pages = int(Path("/proc/self/statm").read_text().split()[0]) if Path("/proc/self/statm").exists() else 0
    before = signal.signal(signal.SIGPROF, _late)
    try:
        if pages:
            resource.setrlimit(resource.RLIMIT_AS, (pages * resource.getpagesize() + MORE_BYTES, hard))
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


@lru_cache(maxsize=1)
def _built() -> object:
    """The command line, built once and not anew for every call."""
    return typer.main.get_command(billet.cli.app)


def called(words: tuple[str, ...]) -> Ended:
    """`billet` with these words, in this process and folder."""
    out, said, start = (
        io.TextIOWrapper(io.BytesIO(), "utf-8"),
        io.TextIOWrapper(io.BytesIO(), "utf-8", "backslashreplace"),
        time.process_time(),
    )
    code, trace = 0, ""
    with (
        patch.object(sys, "argv", ["billet", *words]),
        patch.object(sys, "stdin", io.StringIO("")),
        patch.object(billet.cli, "app", _built()),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(said),
    ):
        try:
            with limits():
                billet.cli.main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0 if end.code is None else 99
        except BaseException:  # everything that would reach a user as a traceback
            code, trace = 99, traceback.format_exc()
    texts = []
    for stream in (out, said):
        stream.flush()
        texts.append(stream.buffer.getvalue().decode("utf-8", "replace"))  # type: ignore[attr-defined]
    return Ended(code, texts[0], texts[1], time.process_time() - start, trace)


def _content(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def run(case: Case) -> tuple[Ended, str]:
    """The call, and one word for what is at fault with it: nothing where it is as it should be."""
    folder, here = Path(tempfile.mkdtemp(prefix="fuzz-")), Path.cwd()
    try:
        for name, data in case.files.items():
            (folder / name).write_bytes(data)
        os.chdir(folder)
        ended = called(case.words)
        return ended, fault(case, ended, _content(folder))
    finally:
        os.chdir(here)
        shutil.rmtree(folder, ignore_errors=True)


def fault(case: Case, ended: Ended, left: dict[str, bytes]) -> str:
    """What is at fault with how a call ended, or nothing."""
    if ended.trace:
        return "traceback"
    if ended.seconds > SECONDS:
        return "slow"
    if ended.code not in CODES:
        return f"code {ended.code}"
    if case.sound and ended.code:
        return "refused though sound"
    if any(left.get(name) != data for name, data in case.files.items() if not name.endswith(".sqlite")):
        return "a file was changed"
    return _refusal(case, ended, left) if ended.code == 1 else ""


def _refusal(case: Case, ended: Ended, left: dict[str, bytes]) -> str:
    """What is at fault with a refusal: it says in few words where and what to do, and leaves nothing behind."""
    if set(left) - set(case.files) - {"bench.sqlite", "bench.sqlite-wal", "bench.sqlite-shm"}:
        return "a file was left"
    if not ended.said.strip():
        return (
            "" if ended.out.strip() else "refused in silence"
        )  # `check` answers on the page that the bar is too small
    if "Traceback" in ended.said or not re.search(r"^billet: ", ended.said, re.MULTILINE):
        return "no sentence of ours"
    if len(ended.said) > 5000:
        return "too long"
    if not any(name in ended.said for name in case.files) and not PLACE.search(ended.said[8:]):
        return "no place"
    return "" if REMEDY.search(ended.said) else "no remedy"
