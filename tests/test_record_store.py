"""The record's file: what is written stays, old files load, foreign and damaged ones are refused in one sentence."""

import hashlib
import os
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from billet.base.errors import InputError
from billet.record.entry import Entry, Measure, Photo, Place, latest, now, text_sha256
from billet.record.photos import photo_state, photograph
from billet.record.schema import MIGRATIONS, VERSION
from billet.record.store import Bench, find_bench, open_to_read

OLD = Path(__file__).parent / "old_records"
NOTE = Entry("Smokehouse slicer", "2024-03-02T09:14:05.120+00:00", 60, note="edges cold")
FULL = replace(
    NOTE,
    recipe_path="slicer.toml",
    recipe_sha256=text_sha256("title = 'x'"),
    place=Place("billet", 1, "weld"),
    measures=(Measure("thickness", "m", 0.0121, "12.1 mm"), Measure("hardness", "", None, "file skates")),
    wrong="cold shut",
    photos=(Photo("end.jpg", "ab" * 32, 12),),
    by="M.",
)


@pytest.fixture
def old_file(tmp_path: Path) -> Callable[[int], Path]:
    def make(version: int) -> Path:
        path = tmp_path / "bench.sqlite"
        connection = sqlite3.connect(path)
        connection.executescript((OLD / f"bench_version_{version}.sql").read_text())
        connection.close()
        return path

    return make


def test_a_note_comes_back_as_it_was_written(tmp_path: Path) -> None:
    with Bench(tmp_path / "b.sqlite") as bench:
        written = bench.add(FULL, "title = 'x'")
    with open_to_read(tmp_path / "b.sqlite") as bench:
        assert bench.entries() == (written,) == (replace(FULL, id=1),)
        assert bench.recipes() == {FULL.recipe_sha256: "title = 'x'"}


def test_the_hash_is_the_one_other_tools_compute() -> None:
    # FIPS 180-4 example: SHA-256("abc")
    assert text_sha256("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_a_correction_is_a_new_note_and_the_old_one_stays(tmp_path: Path) -> None:
    with Bench(tmp_path / "b.sqlite") as bench:
        first = bench.add(NOTE)
        second = bench.add(replace(NOTE, note="edges hot", corrects=first.id))
        assert bench.entries() == (first, second)
        assert latest(bench.entries()) == (second,)
        with pytest.raises(InputError, match="already corrected by note 2"):
            bench.add(replace(NOTE, corrects=first.id))
        with pytest.raises(InputError, match="no note 99"):
            bench.add(replace(NOTE, corrects=99))
        assert len(bench.entries()) == 2


@pytest.mark.parametrize("number", [0, -1, 7, 2**63, 10**400])
def test_an_unknown_number_is_refused(tmp_path: Path, number: int) -> None:
    with Bench(tmp_path / "b.sqlite") as bench, pytest.raises(InputError, match="There is no note"):
        bench.entry(number)


@pytest.mark.parametrize("table", ["recipe", "entry", "measure", "photo"])
@pytest.mark.parametrize("statement", ["DELETE FROM {}", "UPDATE {} SET rowid = 9"])
def test_nothing_can_be_rewritten_even_by_another_program(tmp_path: Path, table: str, statement: str) -> None:
    with Bench(tmp_path / "b.sqlite") as bench:
        bench.add(FULL, "title = 'x'")
    other = sqlite3.connect(tmp_path / "b.sqlite")
    with pytest.raises(sqlite3.IntegrityError, match="never rewritten"):
        other.execute(statement.format(table))
    other.close()


def test_every_note_waits_for_the_disk(tmp_path: Path) -> None:
    with Bench(tmp_path / "b.sqlite") as bench:
        settings = [
            bench._connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("synchronous", "busy_timeout")
        ]
        assert (bench.journal, settings) == ("wal", [2, 5000])  # 2 is FULL: sqlite.org, "PRAGMA synchronous"


def test_where_the_disk_allows_no_write_ahead_journal_the_old_one_serves(tmp_path: Path) -> None:
    # An exclusive-locking file system cannot share memory; SQLite then keeps journal_mode as it is ("Write-Ahead
    # Logging", sqlite.org). ":memory:" is the one such place at hand everywhere.
    from billet.record.store import _set_journal

    connection = sqlite3.connect(":memory:", isolation_level=None)
    assert _set_journal(connection, 1.0) == "memory"
    locked = _Stubborn()
    assert _set_journal(locked, 1.0) == "delete"  # type: ignore[arg-type]


class _Stubborn:
    """A connection on a disk where shared memory fails."""

    def execute(self, statement: str) -> "_Stubborn":
        if "WAL" in statement:
            raise sqlite3.OperationalError("disk I/O error")
        return self

    def fetchone(self) -> tuple[str]:
        return ("delete",)


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_old_records_load_for_ever(old_file: Callable[[int], Path], version: int) -> None:
    path = old_file(version)
    with open_to_read(path) as bench:
        entries = bench.entries()
    assert [entry.id for entry in latest(entries)][:3] == [1, 3, 4]
    first, _, third, fourth = entries[:4]
    assert (first.place, first.measured("mass"), first.wrong) == (Place("billet", 1, "weld"), 1.412, "cold shut")
    assert (third.corrects, third.measured("thickness"), third.local_time) == (2, 0.0131, "2024-03-03 09:02")
    assert (fourth.photos[0].size, fourth.measures[0].written, fourth.offset_min) == (48211, "file skates", 120)


def test_there_is_an_old_record_of_every_version() -> None:
    assert {path.name for path in OLD.glob("*.sql")} == {f"bench_version_{n}.sql" for n in range(1, VERSION + 1)}


def test_an_upgrade_keeps_a_copy_of_the_file_as_it_was(old_file: Callable[[int], Path]) -> None:
    path = old_file(1)
    with Bench(path) as bench:
        assert bench.kept == path.with_name("bench.sqlite.v1.bak")
        bench.add(replace(NOTE, by="M."))
    copy = sqlite3.connect(path.with_name("bench.sqlite.v1.bak"))
    assert copy.execute("PRAGMA user_version").fetchone()[0] == 1
    assert copy.execute("SELECT count(*) FROM entry").fetchone()[0] == 4
    copy.close()
    with Bench(path) as bench:
        assert bench.kept is None
        assert [entry.by for entry in bench.entries()] == ["", "", "", "", "M."]


def test_a_second_copy_never_replaces_the_first(old_file: Callable[[int], Path]) -> None:
    path = old_file(1)
    path.with_name("bench.sqlite.v1.bak").write_text("kept by hand")
    with Bench(path) as bench:
        assert bench.kept == path.with_name("bench.sqlite.v1-2.bak")
    assert path.with_name("bench.sqlite.v1.bak").read_text() == "kept by hand"


@pytest.mark.parametrize("failing", range(1, len(MIGRATIONS[1]) + 1))
def test_an_upgrade_that_fails_leaves_the_old_version(
    old_file: Callable[[int], Path], monkeypatch: pytest.MonkeyPatch, failing: int
) -> None:
    path = old_file(1)
    broken = (*MIGRATIONS[1][:failing], "INSERT INTO nowhere VALUES (1)")
    monkeypatch.setattr("billet.record.schema.MIGRATIONS", (MIGRATIONS[0], broken, *MIGRATIONS[2:]))
    with pytest.raises(InputError):
        Bench(path)
    monkeypatch.undo()
    with Bench(path) as bench:
        assert len(bench.entries()) == 4


def test_a_newer_version_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    Bench(path).close()
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    connection.close()
    before = hashlib.sha256(path.read_bytes()).digest()
    with pytest.raises(InputError, match="newer version"):
        Bench(path)
    assert hashlib.sha256(path.read_bytes()).digest() == before


def test_another_programs_tables_are_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "orders.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE orders (name TEXT)")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(InputError, match="some other program"):
        Bench(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "content", [b"\x89PNG\r\n\x1a\n" + b"x" * 500, b"SQLite format 3\0" + b"\xff" * 4000, b"title = 'a recipe'\n" * 9]
)
def test_a_file_that_is_no_record_is_one_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "b.sqlite"
    path.write_bytes(content)
    with pytest.raises(InputError, match="damaged or no bench record") as error:
        Bench(path)
    assert "\n" not in str(error.value)
    assert path.read_bytes() == content


@pytest.mark.parametrize("at", [0, 10, 100, 2000, 4096, 6000, 9000, 14000])
def test_a_damaged_record_opens_whole_or_says_so(tmp_path: Path, at: int) -> None:
    path = tmp_path / "b.sqlite"
    with Bench(path) as bench:
        written = [bench.add(replace(NOTE, note=f"note {n} " + "x" * 200)) for n in range(40)]
    content = bytearray(path.read_bytes())
    content[at : at + 300] = bytes(300)
    path.write_bytes(content)
    try:
        with Bench(path) as bench:
            entries = bench.entries()
    except InputError as error:
        assert "damaged" in str(error) or "other program" in str(error)
    else:
        assert len(entries) == len(written)


def test_a_folder_or_a_missing_folder_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        Bench(tmp_path)
    with pytest.raises(InputError, match="cannot be opened"):
        Bench(tmp_path / "nowhere" / "b.sqlite")
    with pytest.raises(InputError, match="no bench record at"), open_to_read(tmp_path / "b.sqlite"):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_copy_is_made_while_the_record_is_open(tmp_path: Path) -> None:
    with Bench(tmp_path / "b.sqlite") as bench:
        bench.add(FULL, "title = 'x'")
        bench.copy_to(tmp_path / "copy.sqlite")
        with pytest.raises(InputError, match="there already is"):
            bench.copy_to(tmp_path / "copy.sqlite")
        with pytest.raises(InputError, match="never the record itself"):
            bench.copy_to(tmp_path / "b.sqlite", force=True)
        bench.add(NOTE)
        with Bench(tmp_path / "copy.sqlite") as copy:
            assert copy.entries() == bench.entries()[:1]


def test_the_record_is_found_beside_the_recipe_or_above_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    deep = tmp_path / "home" / "knives" / "slicer"
    deep.mkdir(parents=True)
    (tmp_path / "bench.sqlite").touch()
    assert find_bench(deep) is None  # above home is nobody's business
    (tmp_path / "home" / "bench.sqlite").touch()
    assert find_bench(deep) == (tmp_path / "home" / "bench.sqlite").resolve()
    (deep / "bench.sqlite").touch()
    assert find_bench(deep) == (deep / "bench.sqlite").resolve()


def test_a_photograph_is_kept_by_reference(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    path = tmp_path / "photos" / "end.jpg"
    path.write_bytes(b"abc")
    photo = photograph(path, tmp_path)
    # FIPS 180-4 example: SHA-256("abc")
    assert photo == Photo("photos/end.jpg", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", 3)
    states = [photo_state(photo, tmp_path)]
    path.write_bytes(b"abd")
    states.append(photo_state(photo, tmp_path))
    path.unlink()
    states.append(photo_state(photo, tmp_path))
    assert states == ["there", "changed", "missing"]
    with pytest.raises(InputError, match="is not there"):
        photograph(path, tmp_path)
    with pytest.raises(InputError, match="is a folder"):
        photograph(tmp_path, tmp_path)


@pytest.mark.parametrize("text", ["a\udcffb", "a\0b", "x" * 20_001])
def test_text_that_cannot_be_kept_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        replace(NOTE, note=text)
    with pytest.raises(InputError):
        Measure("thickness", "m", 0.0121, text)
    with pytest.raises(InputError):
        Photo(text, "", 0)
    with pytest.raises(InputError):
        Place("billet", 1, text)


def test_times_are_utc_with_the_local_offset(monkeypatch: pytest.MonkeyPatch) -> None:
    import time

    monkeypatch.setenv("TZ", "XYZ-05:30")  # POSIX: 5 h 30 min east of Greenwich
    time.tzset()
    at, offset = now()
    monkeypatch.undo()
    time.tzset()
    assert at.endswith("+00:00")
    assert offset == 330
    assert replace(NOTE, at="2024-12-31T20:00:00.000+00:00", offset_min=330).local_time == "2025-01-01 01:30"


def test_order_is_the_order_of_writing_when_the_clock_goes_back(tmp_path: Path) -> None:
    with Bench(tmp_path / "b.sqlite") as bench:
        bench.add(NOTE)
        bench.add(replace(NOTE, at="1999-01-01T00:00:00.000+00:00", note="clock reset"))
        assert [entry.note for entry in bench.entries()] == ["edges cold", "clock reset"]


def test_a_held_record_is_one_sentence_and_nothing_is_written(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    with Bench(path, busy_s=0.1) as bench:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(InputError, match="Another program has held"):
            bench.add(NOTE)
        other.execute("ROLLBACK")
        other.close()
        assert bench.add(NOTE).id == 1


def test_leftovers_do_not_matter(tmp_path: Path) -> None:
    path = tmp_path / "b.sqlite"
    (tmp_path / f".copy.sqlite.{os.getpid()}.tmp").write_bytes(b"")
    with Bench(path) as bench:
        bench.add(NOTE)
        bench.copy_to(tmp_path / "copy.sqlite")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.sqlite", "copy.sqlite"]
