"""What befalls a record in a forge: killed programs, full disks, read-only folders, two people writing at once."""

import itertools
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from billet.base.errors import InputError
from billet.base.safe_files import write_whole
from billet.record.backup import to_text
from billet.record.entry import Entry, Measure, Place
from billet.record.schema import VERSION, VERSION_2, VERSION_3
from billet.record.store import Bench, open_to_read

NOTE = Entry("Smokehouse slicer", "2024-03-02T09:14:05.120+00:00", 60, note="edges cold")
WHOLE = replace(
    NOTE, place=Place("", 17, "second temper"), wrong="edges cold", cure="two more minutes", typed="as typed", source="grind",
    measures=(Measure("spine.50mm", "m", 0.0026, "2.6 mm"), Measure("bow.edge.50mm", "m", -0.0015, "1.5 mm left")),
)  # fmt: skip
"""A note of the latest kind: a stage of the blade, stations, a cure, the line as typed."""
KILLS = 200
EACH = 1000
NOBODY = 65534


def _fork(work: Callable[[int], None]) -> tuple[int, int]:
    """Run ``work`` in a program of its own that reports into a pipe; its process number and the pipe's reading end."""
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, reading
    status = 1
    try:
        os.close(reading)
        work(writing)
        status = 0
    finally:
        os._exit(status)


def _everything(pipe: int) -> bytes:
    with os.fdopen(pipe, "rb") as file:
        return file.read()


def _ended(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _write_for_ever(path: Path, seed: int) -> Callable[[int], None]:
    """Add notes of unequal length one after another; each is reported only after ``add`` returned."""

    def work(pipe: int) -> None:
        sizes = random.Random(seed)
        with Bench(path) as bench:
            while True:
                written = bench.add(replace(WHOLE, note="x" * sizes.randrange(6000), by=str(seed)))
                os.write(pipe, f"{written.id} {len(written.note)}\n".encode())

    return work


def _acknowledged(told: bytes) -> dict[int, int]:
    """What a killed writer reported: number and length of each note; a last line cut off by the kill does not count."""
    whole = told.rpartition(b"\n")[0].decode()
    return {int(number): int(length) for number, length in (line.split() for line in whole.splitlines())}


@pytest.mark.slow
def test_no_acknowledged_note_is_lost_in_two_hundred_kills(tmp_path: Path) -> None:
    path, moments, acknowledged = tmp_path / "b.sqlite", random.Random(7), 0
    for kill in range(KILLS):
        child, pipe = _fork(_write_for_ever(path, kill))
        first = (
            os.read(pipe, 1) if kill % 2 else b""
        )  # every other one is at work already, the rest may still be opening
        time.sleep(moments.uniform(0.0, 0.06))
        os.kill(child, signal.SIGKILL)
        assert _ended(child) == -signal.SIGKILL
        promised = _acknowledged(first + _everything(pipe))
        with Bench(path) as bench:
            kept = dict(
                bench._connection.execute("SELECT id, length(note) FROM entry WHERE written_by = ?", (str(kill),))
            )
            torn = "SELECT id FROM entry WHERE (SELECT count(*) FROM measure WHERE entry = id) <> 2 OR cure = ''"
            assert bench._connection.execute(torn).fetchall() == []
        assert {number: kept.get(number) for number in promised} == promised
        assert len(kept) <= len(promised) + 1  # at most the one that was being reported
        acknowledged += len(promised)
    assert acknowledged > KILLS


def test_a_journal_torn_at_any_byte_gives_the_notes_before_it(tmp_path: Path) -> None:
    """A power cut leaves the write-ahead journal cut short; what was synced before the cut is whole."""
    source = tmp_path / "b.sqlite"
    with Bench(source) as bench:
        for number in range(12):
            bench.add(replace(NOTE, note=f"{number} " + "x" * 150))
        journal = source.with_name("b.sqlite-wal").read_bytes()
        shutil.copyfile(source, tmp_path / "main")
    counts = []
    for cut in [*range(0, len(journal), len(journal) // 150), len(journal)]:
        torn = tmp_path / "torn.sqlite"
        shutil.copyfile(tmp_path / "main", torn)
        torn.with_name("torn.sqlite-wal").write_bytes(journal[:cut])
        with Bench(torn) as bench:
            notes = [entry.note.split()[0] for entry in bench.entries()]
        assert notes == [str(number) for number in range(len(notes))]
        counts.append(len(notes))
        torn.unlink()
    assert counts == sorted(counts)
    assert (counts[0], counts[-1]) == (0, 12)


@pytest.mark.slow
def test_two_people_writing_a_thousand_notes_each_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"

    def writer(who: str) -> Callable[[int], None]:
        def work(pipe: int) -> None:
            with Bench(path) as bench:
                numbers = [bench.add(replace(WHOLE, note=str(count), by=who)).id for count in range(EACH)]
            os.write(pipe, " ".join(map(str, numbers)).encode())

        return work

    running = [_fork(writer(who)) for who in ("left", "right")]
    reported = [list(map(int, _everything(pipe).split())) for _, pipe in running]
    assert [_ended(child) for child, _ in running] == [0, 0]
    with Bench(path) as bench:
        entries = bench.entries()
    for who, numbers in zip(("left", "right"), reported, strict=True):
        own = [entry for entry in entries if entry.by == who]
        assert [entry.id for entry in own] == numbers
        assert [entry.note for entry in own] == [str(count) for count in range(EACH)]
        assert {replace(entry, id=0, note="", by="") for entry in own} == {replace(WHOLE, note="")}
    assert len(entries) == 2 * EACH


@pytest.mark.parametrize("round_", range(12))
def test_several_programs_may_start_the_same_record(tmp_path: Path, round_: int) -> None:
    """Four writers and more at once: one makes the tables, nobody meets them half made and takes a copy of nothing."""
    path = tmp_path / "b.sqlite"

    def start(pipe: int) -> None:
        with Bench(path) as bench:
            bench.add(NOTE)

    running = [_fork(start) for _ in range(4 + round_ % 5)]
    assert [_ended(child) for child, _ in running] == [0] * len(running)
    with Bench(path) as bench:
        assert len(bench.entries()) == len(running)
    assert [item.name for item in tmp_path.iterdir()] == ["b.sqlite"]


def test_a_new_record_is_never_seen_half_made(tmp_path: Path) -> None:
    """Killed before any statement of its making, the file holds no table at all or all of them."""
    versions, status, last = [], -signal.SIGKILL, 0
    while status != 0:
        last += 1
        path = tmp_path / f"{last}.sqlite"
        child, pipe = _fork(_upgrade_killed_at(path, last))
        status = _ended(child)
        os.close(pipe)
        connection = sqlite3.connect(path)
        tables = connection.execute("SELECT count(*) FROM sqlite_schema WHERE type = 'table'").fetchone()[0]
        versions.append((connection.execute("PRAGMA user_version").fetchone()[0], tables > 0))
        connection.close()
    assert set(versions) == {(0, False), (VERSION, True)}


def test_several_programs_may_meet_at_an_old_record(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    connection = sqlite3.connect(path)
    connection.executescript((Path(__file__).parents[1] / "old_records" / "bench_version_2.sql").read_text())
    connection.close()

    def start(pipe: int) -> None:
        with Bench(path) as bench:
            bench.add(NOTE)

    running = [_fork(start) for _ in range(6)]
    assert [_ended(child) for child, _ in running] == [0] * 6
    with Bench(path) as bench:
        assert len(bench.entries()) == 5 + 6
    assert sorted(item.name for item in tmp_path.iterdir()) == ["b.sqlite", "b.sqlite.v2.bak"]


def _upgrade_killed_at(path: Path, last: int) -> Callable[[int], None]:
    """Open the record, and die before its ``last``-th statement is run."""

    def work(_: int) -> None:
        connect, count = sqlite3.connect, itertools.count(1)

        def dies(_: str) -> None:
            if next(count) == last:
                os.kill(os.getpid(), signal.SIGKILL)

        def traced(*given: object, **named: object) -> sqlite3.Connection:
            connection = connect(*given, **named)  # type: ignore[call-overload]
            connection.set_trace_callback(dies)
            return connection

        sqlite3.connect = traced  # type: ignore[assignment]
        Bench(path).close()

    return work


def test_a_kill_at_any_statement_of_the_upgrade_leaves_an_old_record_or_a_new_one(tmp_path: Path) -> None:
    sample = (Path(__file__).parents[1] / "old_records" / "bench_version_1.sql").read_text()
    versions, status, last = [], -signal.SIGKILL, 0
    while status != 0:
        last += 1
        path = tmp_path / f"{last}.sqlite"
        connection = sqlite3.connect(path)
        connection.executescript(sample)
        connection.close()
        child, pipe = _fork(_upgrade_killed_at(path, last))
        status = _ended(child)
        os.close(pipe)
        assert status in (0, -signal.SIGKILL)
        connection = sqlite3.connect(path)
        versions.append(connection.execute("PRAGMA user_version").fetchone()[0])
        connection.close()
        with Bench(path) as bench:
            assert len(bench.entries()) == 4
    assert versions == sorted(versions)
    assert set(versions) == {1, VERSION}  # never half way
    assert last > len(VERSION_2) + len(VERSION_3)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A folder on a disk of 256 KB; only the superuser can make one."""
    folder = tmp_path / "small"
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=256k", "none", str(folder)]
    if os.getuid() or not shutil.which("mount") or subprocess.run(command, capture_output=True).returncode:
        pytest.skip("a small disk cannot be made here; the page limit of the test below stands in for it")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def _until_full(bench: Bench) -> int:
    for count in range(10_000):
        try:
            bench.add(replace(WHOLE, note="x" * 2000))
        except InputError as error:
            assert "full; nothing was written" in str(error)
            return count
    raise AssertionError("the disk never filled")


def test_a_full_disk_keeps_every_note_before_it(small_disk: Path) -> None:
    path = small_disk / "b.sqlite"
    with Bench(path) as bench:
        written = _until_full(bench)
        assert len(bench.entries()) == written > 3
        with pytest.raises(InputError, match="full"):
            bench.copy_to(small_disk / "copy.sqlite")
        with pytest.raises(InputError, match="nothing was changed"):
            write_whole(small_disk / "backup.jsonl", to_text(bench.entries(), {}) * 3)
    left = {item.name for item in small_disk.iterdir()}
    assert left <= {"b.sqlite", "b.sqlite-wal", "b.sqlite-shm"}  # no room to fold the journal in: it keeps the notes
    with open_to_read(path) as bench:
        assert len(bench.entries()) == written


def test_a_full_file_keeps_every_note_before_it(tmp_path: Path) -> None:
    """SQLite's own limit of pages gives the same error as a full disk, for whoever is not the superuser."""
    path = tmp_path / "b.sqlite"
    with Bench(path) as bench:
        bench._connection.execute("PRAGMA max_page_count = 40")
        written = _until_full(bench)
        assert len(bench.entries()) == written
        bench._connection.execute("PRAGMA max_page_count = 1000000")
        bench.add(NOTE)
    with Bench(path) as bench:
        assert len(bench.entries()) == written + 1 > 5


def _as_nobody(work: Callable[[], str]) -> str:
    """What ``work`` returns when run by a user for whom file modes count (they do not for the superuser)."""

    def told(pipe: int) -> None:
        if os.getuid() == 0:
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        os.write(pipe, work().encode())

    child, pipe = _fork(told)
    said = _everything(pipe).decode()
    assert _ended(child) == 0
    return said


def _sentence(work: Callable[[], object]) -> str:
    try:
        return f"no error: {work()}"
    except InputError as error:
        return str(error)


@pytest.fixture
def read_only(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A record with one note in a folder nobody may write to, its way down open to all."""
    folder = tmp_path_factory.mktemp("shop")
    with Bench(folder / "b.sqlite") as bench:
        bench.add(NOTE)
    for parent in folder.parents:
        if Path(tempfile.gettempdir()) in parent.parents:
            parent.chmod(0o755)
    (folder / "b.sqlite").chmod(0o444)
    folder.chmod(0o555)
    yield folder
    folder.chmod(0o755)


def test_a_read_only_record_can_be_read_and_says_that_it_cannot_be_written(read_only: Path) -> None:
    def reads() -> str:
        with open_to_read(read_only / "b.sqlite") as bench:
            return bench.entries()[0].note

    assert _as_nobody(reads) == "edges cold"
    said = _as_nobody(lambda: _sentence(lambda: Bench(read_only / "b.sqlite").add(NOTE)))
    assert "read-only; nothing was written" in said
    said = _as_nobody(lambda: _sentence(lambda: Bench(read_only / "new.sqlite")))
    assert "cannot be opened" in said
    assert [item.name for item in read_only.iterdir()] == ["b.sqlite"]


def test_a_folder_that_goes_away_is_one_sentence(tmp_path: Path) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    with Bench(folder / "b.sqlite") as bench:
        bench.add(NOTE)
        shutil.rmtree(folder)
        said = _sentence(lambda: bench.copy_to(folder / "copy.sqlite"))
    assert said.startswith(str(folder)) and "\n" not in said
