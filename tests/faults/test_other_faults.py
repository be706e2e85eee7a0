"""A few tries of every fault; `python -m tests.benchmarks.faults` makes many and prints figures."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from stat import S_ISDIR

import pytest

from billet.base.safe_files import write_whole
from tests.faults import campaigns, pages
from tests.faults.programs import KILLED, Figure, run, warm

LONG = ("plans", "sheet", "page sheet", "chart")
"""Killed by the script alone: a try takes seconds."""
TRIES: dict[str, Callable[[], Figure]] = {
    **{f"kills, {name}": lambda name=name: campaigns.kills(name, 3) for name in campaigns.WRITES if name not in LONG},
    **{f"full disk, {name}": lambda name=name: campaigns.full_disk(name, 3) for name in ("picture", "note", "sheet")},
    **{f"read-only, {name}": lambda name=name: campaigns.read_only(name) for name in ("new", "note", "stations")},
    "removed folder": lambda: campaigns.removed_folder("note"),
    "clock set back": lambda: campaigns.clock_back(6),
    "two writers": lambda: campaigns.writers(2, 6),
    "four writers": lambda: campaigns.writers(4, 4),
    "server killed in a save": lambda: pages.killed_in_a_save(3),
    "four browsers at two servers": lambda: pages.browsers(4, 2, 2.0),
    "four programs saving": lambda: pages.programs_saving(4, 1.0),
    "full disk under the page": pages.full_disk_under_the_page,
    "folder gone under the page": pages.folder_gone_under_the_page,
    "phone drops off": lambda: pages.phone_drops_off(20),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", TRIES)
def test_nothing_acknowledged_is_lost_and_nothing_is_torn(name: str) -> None:
    warm()
    figure = TRIES[name]()
    if not figure.tried:
        pytest.skip(figure.more)
    assert not figure.faults, figure.say()


def test_what_is_torn_or_lost_is_seen() -> None:
    """The check can fail: a picture cut short, a recipe changed and a note gone are each told."""
    with campaigns.a_shop() as folder:
        after = campaigns._copied(folder)
        (after / "out.png").write_bytes(b"\x89PNG\r\n\x1a\n")
        (after / "knife.toml").write_text("")
        told = campaigns.looked_at(folder, after, campaigns.WRITES["picture"], KILLED)
        assert [line.split()[-1] for line in told] == ["was", "torn"]
        lost = campaigns.looked_at(folder, folder, campaigns.WRITES["note"], 0)
        assert lost == ["the record holds 3 notes and should hold 4"]


@pytest.mark.skipif(os.name == "nt", reason="folders cannot be opened there")
def test_a_file_and_its_name_are_on_the_disk_before_it_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new name outlives a power cut once its folder is synced too (fsync(2): syncing the file does not ensure that the
    entry in the directory has reached the disk).
    """
    events: list[str] = []
    synced, moved = os.fsync, os.replace
    monkeypatch.setattr(
        os, "fsync", lambda fd: (events.append("folder" if S_ISDIR(os.fstat(fd).st_mode) else "file"), synced(fd))
    )
    monkeypatch.setattr(os, "replace", lambda a, b: (events.append("name"), moved(a, b)))
    write_whole(tmp_path / "knife.toml", "title = 'x'")
    assert events == ["file", "name", "folder"]


def test_a_disk_without_any_room_is_told_as_one() -> None:
    """Not even the journal's index fits: the answer stands, and what is told is the disk, not what came of it."""
    with campaigns.a_shop() as folder, campaigns.small_disk(2048) as disk:
        if disk is None:
            pytest.skip("no disk can be made here")
        shutil.copytree(folder, disk, dirs_exist_ok=True)
        (disk / "ballast").write_bytes(b"x" * shutil.disk_usage(disk).free)
        told = [run(disk, *campaigns.WRITES[name].words) for name in ("stations", "note")]
        assert [end.code for end in told] == [0, 1]
        assert all(b"full" in end.told for end in told)
        assert told[0].told.startswith(b"not written down: ")
