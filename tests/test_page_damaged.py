"""Files the page keeps beside the recipes, damaged: it opens all the same, says which one it is, and goes on once that is deleted."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from render.page.app import application
from render.page.guard import Keys
from render.page.history import NAME, TURN, History, version_of
from render.page.house import House

DEMOS = Path(__file__).parent.parent / "demo_billets"
FILE = "slicer.toml"
EDITS = [{"op": "set", "path": ["title"], "value": "Written anew"}]


def noise(path: Path) -> None:
    path.write_bytes(b"\x93" * 9000)


def noise_behind_a_sound_head(path: Path) -> None:
    """The header page of an SQLite file names its tables (sqlite.org/fileformat2.html, section 1.3); their rows follow."""
    sound = path.read_bytes()
    path.write_bytes(sound[:4096] + b"\x93" * (len(sound) - 4096))


def cut_short(path: Path) -> None:
    sound = path.read_bytes()
    path.write_bytes(sound[: len(sound) // 2])


def a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def of_another_program(path: Path) -> None:
    path.unlink()
    with sqlite3.connect(path) as other:
        other.executescript("create table texts (a); create table place (b);")
    other.close()


def removed(path: Path) -> None:
    path.rmdir() if path.is_dir() else path.unlink()


SPOILS = {
    NAME: (noise, noise_behind_a_sound_head, cut_short, a_folder, of_another_program),
    TURN: (noise, a_folder),
}
DAMAGED = [(name, spoil) for name, spoils in SPOILS.items() for spoil in spoils]
SEEN_WHILE_OPEN = [one for one in DAMAGED if one[1] is not noise_behind_a_sound_head]  # rows once read are remembered


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder whose recipe was saved some times before."""
    monkeypatch.setenv("HOME", str(tmp_path))
    path = tmp_path / FILE
    shutil.copy(DEMOS / FILE, path)
    history = History(tmp_path)
    text = history.text(path)
    for number in range(8):
        history.save(path, version_of(history.text(path)), f"{text}# {number}\n")
    history.close()
    return tmp_path


@pytest.fixture
def opened(folder: Path) -> Iterator[Callable[[], TestClient]]:
    """Opens the page on it."""
    every = []

    def one() -> TestClient:
        keys = Keys(hosts=frozenset({"testserver"}))
        client = TestClient(application(House(folder), keys), raise_server_exceptions=False)
        every.append(client.__enter__())
        client.get("/", params={"token": keys.key})
        return client

    yield one
    for client in every:
        client.__exit__(None, None, None)


def seen(page: TestClient) -> Any:
    answer = page.get("/api/knife", params={"file": FILE})
    assert answer.status_code == 200, answer.text
    return answer.json()


def edit(page: TestClient) -> Any:
    return page.post("/api/edit", json={"file": FILE, "version": seen(page)["version"], "edits": EDITS})


def told(answer: Any) -> str:
    assert answer.status_code == 422, answer.text
    (error,) = answer.json()["errors"]
    return str(error["message"])


def goes_wrong_and_on_again(page: TestClient, folder: Path, name: str) -> None:
    """A page whose file is damaged, until that is deleted."""
    kept = (folder / FILE).read_bytes()
    assert seen(page)["text"].encode() == kept
    refused = told(edit(page))
    assert f"{name} beside the recipes is damaged; delete it and try again" in refused
    assert "the recipes are whole" in refused and "room on the disk" not in refused
    assert name in told(page.post("/api/undo", json={"file": FILE, "version": seen(page)["version"]}))
    assert (folder / FILE).read_bytes() == kept
    removed(folder / name)
    saved = edit(page)
    assert saved.status_code == 200 and saved.json()["can_undo"]
    assert 'title = "Written anew"' in (folder / FILE).read_text()
    back = page.post("/api/undo", json={"file": FILE, "version": saved.json()["version"]})
    assert back.status_code == 200 and (folder / FILE).read_bytes() == kept


@pytest.mark.parametrize(("name", "spoil"), DAMAGED)
def test_a_page_opens_beside_a_damaged_file_and_says_which_it_is(
    folder: Path, opened: Callable[[], TestClient], name: str, spoil: Callable[[Path], None]
) -> None:
    spoil(folder / name)
    goes_wrong_and_on_again(opened(), folder, name)


@pytest.mark.parametrize(("name", "spoil"), SEEN_WHILE_OPEN)
def test_a_file_damaged_while_the_page_is_open_is_told_too(
    folder: Path, opened: Callable[[], TestClient], name: str, spoil: Callable[[Path], None]
) -> None:
    page = opened()
    spoil(folder / name)
    goes_wrong_and_on_again(page, folder, name)


def test_what_can_be_taken_back_outlives_a_damaged_file_of_turns(
    folder: Path, opened: Callable[[], TestClient]
) -> None:
    noise(folder / TURN)
    assert seen(opened())["can_undo"]


@pytest.mark.parametrize("name", [NAME, TURN])
def test_a_sound_file_taken_away_under_the_page_costs_no_save(
    folder: Path, opened: Callable[[], TestClient], name: str
) -> None:
    page = opened()
    removed(folder / name)
    assert edit(page).status_code == 200
    assert (folder / name).exists() and seen(page)["can_undo"]


def test_an_earlier_text_in_a_damaged_file_is_told_as_one(folder: Path, opened: Callable[[], TestClient]) -> None:
    noise_behind_a_sound_head(folder / NAME)
    asked = {"file": FILE, "view": "right", "width": "300", "at": "0" * 64}
    assert f"{NAME} beside the recipes is damaged" in told(opened().get("/api/draw", params=asked))


@pytest.mark.skipif(os.name == "nt", reason="modes are others there")
@pytest.mark.parametrize("locked", [0o000, 0o555], ids=oct)
def test_a_locked_folder_is_no_damage(folder: Path, locked: int) -> None:
    """Asked by a user for whom modes count."""
    (folder / NAME).unlink()
    folder.chmod(locked)
    os.seteuid(65534 if os.geteuid() == 0 else os.geteuid())
    try:
        history = History(folder)
    finally:
        os.seteuid(os.getuid())
        folder.chmod(0o755)
    assert history._texts.trouble == "" and history._turns.trouble == ""
    history.close()
