"""Faults of disks, folders, clocks and kills, for every kind of file the command line writes."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from PIL import Image

from billet.recipe.read import load
from billet.record.backup import from_text
from billet.record.store import open_to_read
from tests.faults.programs import KILLED, Figure, apart, billet, ended, killed_after, killed_at_touch, run
from tests.test_bad_input import GOOD

RECIPE = GOOD + "[target]\nlayers = 24\n"
_THERE = (
    b"already is such a file",
    b"exists",
    b"already corrected",
)  # what a second try may say of a first that was done
Whole = Callable[[Path], bool]


def _picture(path: Path) -> bool:
    with Image.open(path) as image:
        image.load()
    return True


def _recipe(path: Path) -> bool:
    return bool(load(path).tables.bar)


def _record(path: Path) -> bool:
    with sqlite3.connect(path) as connection:
        return bool(connection.execute("pragma integrity_check").fetchone()[0] == "ok")


def _backup(path: Path) -> bool:
    return from_text(path.read_text()) is not None


class Write(NamedTuple):
    """A command that writes: its words, the files it makes, and how each is known to be whole."""

    words: tuple[str, ...]
    files: dict[str, Whole]
    notes: int = 0
    """How many notes it adds to the record."""


WRITES = {
    "picture": Write(("preview", "knife.toml", "--width", "240", "-o", "out.png", "--force"), {"out.png": _picture}),
    "chart": Write(("harden", "knife.toml", "--chart", "chart.png", "--force"), {"chart.png": _picture}),
    "sheet": Write(
        ("sheet", "knife.toml", "-o", "out.pdf", "--outline", "knife.svg", "--outline", "knife.dxf", "--force"),
        {
            "out.pdf": lambda p: p.read_bytes().rstrip().endswith(b"%%EOF"),
            "knife.svg": lambda p: p.read_text().rstrip().endswith("</svg>"),
            "knife.dxf": lambda p: p.read_text().rstrip().endswith("EOF"),
        },
    ),
    "page sheet": Write(
        ("sheet", "knife.toml", "--html", "-o", "out.html", "--force"),
        {"out.html": lambda p: p.read_text().rstrip().endswith("</html>")},
    ),
    "plans": Write(("plan", "knife.toml", "--write", "plans", "--force"), {"plans/*.toml": _recipe}),
    "new": Write(("new", "fresh.toml", "--force"), {"fresh.toml": _recipe}),
    "again": Write(("again", "knife.toml", "second.toml"), {"second.toml": _recipe}, 1),
    "note": Write(("record", "add", "knife.toml", "after", "1", "thickness", "12", "mm"), {"bench.sqlite": _record}, 1),
    "correction": Write(("record", "correct", "1", "thickness", "11.9", "mm"), {"bench.sqlite": _record}, 1),
    "stations": Write(("grind", "knife.toml", "--at", "at 50 mm spine thick 3.1 mm"), {"bench.sqlite": _record}, 1),
    "backup": Write(("record", "backup", "copy.sqlite", "--force"), {"copy.sqlite": _record}),
    "backup as text": Write(("record", "backup", "--text", "copy.jsonl", "--force"), {"copy.jsonl": _backup}),
    "restore": Write(("record", "restore", "old.jsonl", "--bench", "new.sqlite"), {"new.sqlite": _record}),
    "export": Write(
        ("record", "export", "-o", "notes.csv", "--force"), {"notes.csv": lambda p: p.read_text().count("\n") >= 3}
    ),
}


def shop(folder: Path) -> None:
    """A recipe, a record of three notes and a backup of it."""
    (folder / "knife.toml").write_text(RECIPE)
    for words in ("after 1 thickness 13 mm", "after 2 wrong edges cold", "after 2 width 53 mm"):
        assert run(folder, "record", "add", "knife.toml", words).code == 0
    assert run(folder, "record", "backup", "--text", "old.jsonl").code == 0


@contextmanager
def a_shop() -> Iterator[Path]:
    """A folder with all of that, taken away again."""
    with tempfile.TemporaryDirectory(prefix="forge-") as name:
        try:
            shop(Path(name))
            yield Path(name)
        finally:
            shutil.rmtree(f"{name}-copy", ignore_errors=True)


def _copied(folder: Path) -> Path:
    copy = folder.with_name(folder.name + "-copy")
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(folder, copy)
    return copy


def looked_at(before: Path, after: Path, write: Write, code: int) -> list[str]:
    """What is at fault in a folder after a write that ended with a code: killed, done or refused."""
    out = []
    for name in ("knife.toml", "old.jsonl"):
        if not (after / name).exists() or (after / name).read_bytes() != (before / name).read_bytes():
            out.append(f"{name} is not what it was")
    for pattern, whole in write.files.items():
        found = list(after.glob(pattern))
        if code == 0 and not found:
            out.append(f"{pattern} is not there although the command ended well")
        for path in found:
            try:
                sound = whole(path)
            except Exception as error:
                sound = False
                pattern += f" ({type(error).__name__})"
            if not sound:
                out.append(f"{pattern} is torn")
    with open_to_read(after / "bench.sqlite") as record:
        count = len(record.entries())
    if not 3 + write.notes * (code == 0) <= count <= 3 + write.notes:
        out.append(f"the record holds {count} notes and should hold {3 + write.notes}")
    return out


def kills(name: str, count: int, seed: int = 1) -> Figure:
    """So many kills at random moments of one kind of write, and one just before every touch of a file; after each a
    second try must do.
    """
    write, moments, faults, litter, struck = WRITES[name], random.Random(seed), [], 0, 0
    with a_shop() as folder:
        begun = time.perf_counter()
        assert run(_copied(folder), *write.words).code == 0, name
        whole = time.perf_counter() - begun
        touches, code, tried = 0, KILLED, 0
        while code == KILLED or tried < count:
            copy = _copied(folder)
            if code == KILLED or touches == 0:
                touches += 1
                code = killed_at_touch(copy, touches, *write.words)
                now = code
            else:
                now = killed_after(copy, moments.uniform(0, 1.1 * whole), *write.words)
            tried += 1
            struck += now == KILLED
            faults += looked_at(folder, copy, write, now)
            litter += any(".tmp" in p.name or ".restoring" in p.name for p in copy.rglob("*"))
            again = run(copy, *write.words)
            if again.code and not (again.code == 1 and any(word in again.told for word in _THERE)):
                faults.append(f"a second try ends with {again.code}: {again.told.decode()[:160]}")
        shutil.rmtree(folder.with_name(folder.name + "-copy"), ignore_errors=True)
    return Figure(f"kills, {name}", tried, tuple(faults), f"{struck} died, {litter} left a temporary file")


@contextmanager
def small_disk(kilobytes: int) -> Iterator[Path | None]:
    """A folder on a disk of its own; only the superuser can make one."""
    with tempfile.TemporaryDirectory(prefix="disk-") as name:
        command = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "none", name]
        if os.getuid() or not shutil.which("mount") or subprocess.run(command, capture_output=True).returncode:
            yield None
            return
        try:
            yield Path(name)
        finally:
            subprocess.run(["umount", "-l", name], check=True)


def full_disk(name: str, count: int) -> Figure:
    """Every kind of write on a disk with a few kilobytes left, from none to enough: one sentence and nothing lost, or
    done.
    """
    write, faults, refused = WRITES[name], [], 0
    with a_shop() as folder, small_disk(4096) as disk:
        if disk is None:
            return Figure(f"full disk, {name}", 0, (), "no disk can be made here")
        for k in range(count):
            for path in disk.iterdir():
                shutil.rmtree(path) if path.is_dir() else path.unlink()
            shutil.copytree(folder, disk, dirs_exist_ok=True)
            left = int(2000 * (k / max(1, count - 1)) ** 3) * 1024
            free = shutil.disk_usage(disk).free
            (disk / "ballast").write_bytes(b"x" * max(0, free - left))
            end = run(disk, *write.words)
            refused += end.code == 1
            (disk / "ballast").unlink()
            told_so = b"not written down" in end.told  # an answer that stands although its note could not be kept
            faults += _ended_well(end.code, end.told) + looked_at(folder, disk, write, KILLED if told_so else end.code)
            if end.code and any(".tmp" in p.name for p in disk.rglob("*")):
                faults.append("a temporary file is left")
    return Figure(f"full disk, {name}", count, tuple(faults), f"{refused} refused")


def _ended_well(code: int, told: bytes) -> list[str]:
    text = told.decode(errors="replace")
    if code not in (0, 1) or "Traceback" in text:
        return [f"ended with {code}: {text[-300:]}"]
    return [f"no sentence: {text[:100]}"] if code == 1 and "billet: " not in text else []


def read_only(name: str) -> Figure:
    """A write into a folder nobody may write to, by a user for whom that counts."""
    write, faults = WRITES[name], []
    with a_shop() as folder:
        before = _copied(folder)
        for path in (folder, *folder.rglob("*")):
            path.chmod(0o555 if path.is_dir() else 0o444)
        end = run(folder, *write.words, as_nobody=True)
        for path in (folder, *folder.rglob("*")):
            path.chmod(0o755 if path.is_dir() else 0o644)
        if end.code != 1 and b"not written down" not in end.told:
            faults.append(f"ended with {end.code} although nothing can be written: {end.told.decode()[:160]}")
        faults += _ended_well(end.code, end.told) + looked_at(before, folder, write, KILLED)
        shutil.rmtree(before)
    return Figure(f"read-only folder, {name}", 1, tuple(faults))


def removed_folder(name: str) -> Figure:
    """The folder taken away before, and at several moments during a write: one sentence or done, never a traceback."""
    write, faults, tried = WRITES[name], [], 8
    with a_shop() as folder:
        for k in range(tried):
            copy = _copied(folder)

            def work(tell: Callable[[bytes], None], copy: Path = copy, log: Path = folder / "log") -> int:
                os.dup2(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 2)
                return billet(copy, write.words)

            child, reading = apart(work)
            time.sleep(0.03 * k)
            shutil.rmtree(copy, ignore_errors=True)
            faults += _ended_well(ended(child, reading).code, (folder / "log").read_bytes())
            shutil.rmtree(copy, ignore_errors=True)
    return Figure(f"removed folder, {name}", tried, tuple(faults))


def clock_back(count: int) -> Figure:
    """Notes written while the clock is set back again and again, by up to ten years: all are kept, in the order written."""
    import billet.record.entry as entry

    faults, moments = [], random.Random(3)
    with a_shop() as folder:
        for k in range(count):

            def work(_: object, k: int = k, back: float = moments.uniform(0, 3.2e8)) -> int:
                from datetime import datetime, timedelta

                class Clock(datetime):
                    @classmethod
                    def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
                        return datetime.now() - timedelta(seconds=back)

                entry.datetime = Clock  # type: ignore[misc]
                os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
                return billet(folder, ("record", "add", "knife.toml", "after", "1", "note", f"number {k}"))

            if ended(*apart(work)).code:
                faults.append("a note was refused")
        with open_to_read(folder / "bench.sqlite") as record:
            notes = [e.note for e in sorted(record.entries(), key=lambda e: e.id)][3:]
        if notes != [f"number {k}" for k in range(count)]:
            faults.append(f"kept {len(notes)} of {count}, or not in the order written")
        for words in (("next", "knife.toml"), ("record", "list"), ("record", "learn"), ("stages", "knife.toml")):
            end = run(folder, *words)
            if end.code not in (0, 1) or b"Traceback" in end.told:
                faults.append(f"{words[0]} ends with {end.code}")
    return Figure("clock set back", count, tuple(faults))


def writers(programs: int, each: int) -> Figure:
    """So many programs adding notes to one record at once, started together: every one that ended well is kept."""
    faults, acknowledged = [], []
    with a_shop() as folder:
        start = time.time() + 0.5

        def work(tell: Callable[[bytes], None], who: int) -> int:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
            while time.time() < start:
                time.sleep(0.001)
            for k in range(each):
                name = f"writer {who} note {k}"
                words = ("record", "add", "knife.toml", "note", name)
                if ended(*apart(lambda _, words=words: billet(folder, words))).code == 0:  # type: ignore[misc]
                    tell(f"{name}\n".encode())
            return 0

        running = [apart(lambda tell, who=who: work(tell, who)) for who in range(programs)]
        for one in running:
            acknowledged += ended(*one).told.decode().splitlines()
        with open_to_read(folder / "bench.sqlite") as record:
            kept = [e.note for e in record.entries()]
        lost = [name for name in acknowledged if name not in kept]
        faults += ["an acknowledged note is lost"] * len(lost)
        refused = programs * each - len(acknowledged)
        faults += ["a note was refused because others were writing"] * refused
        if len(kept) - 3 > programs * each:
            faults.append("a note is there twice")
    return Figure(f"{programs} writers", programs * each, tuple(faults), f"{len(acknowledged)} acknowledged")
