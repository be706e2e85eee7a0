"""Searches for plans on the page, and what outlives the moment: the port of a folder, the shop's file, pictures given up."""

from __future__ import annotations

import io
import re
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from starlette.testclient import TestClient

from billet.base.errors import InputError
from render.page.app import application
from render.page.guard import Keys
from render.page.house import House
from tests.page_servers import Server

DEMOS = Path(__file__).parent.parent / "demo_billets"
HOST = "testserver"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("slicer.toml", "twist.toml"):
        shutil.copy(DEMOS / name, tmp_path)
    return tmp_path


@pytest.fixture
def page(shop: Path) -> Iterator[TestClient]:
    keys = Keys(hosts=frozenset({HOST}))
    with TestClient(application(House(shop), keys)) as client:
        client.get(f"/?token={keys.key}")
        yield client


@pytest.fixture
def house(shop: Path) -> Iterator[House]:
    made = House(shop)
    yield made
    made.close()


def sought(page: TestClient, client: str = "") -> Any:
    """A search for plans that has ended."""
    asked = {"file": "slicer.toml", "target": {"layers": 60}, "client": client}
    job = page.post("/api/plan", json=asked).json()["job"]
    until = time.monotonic() + 60
    while not (state := page.get("/api/plan", params={"job": job}).json())["done"]:
        assert time.monotonic() < until
        time.sleep(0.2)
    return state


def taken(page: TestClient, job: int, rank: object, file: str = "slicer.toml") -> Any:
    """What the page answers to taking a plan for a knife as it stands."""
    version = page.get("/api/knife", params={"file": file}).json()["version"]
    return page.post("/api/plan/take", json={"file": file, "version": version, "job": job, "rank": rank})


def test_a_plan_is_taken_for_the_recipe_it_was_sought_for_and_no_other(page: TestClient, shop: Path) -> None:
    job = sought(page)["job"]
    assert "anew for this knife" in taken(page, job, 0, "twist.toml").json()["errors"][0]["message"]
    assert taken(page, job, True).status_code == 422
    assert [taken(page, job, rank).status_code for rank in (0, 1)] == [
        200,
        200,
    ]  # one after the other, each over the last
    path = shop / "slicer.toml"
    path.write_text(path.read_text() + "# by hand\n")
    before = path.read_bytes()
    refused = taken(page, job, 0)
    assert refused.status_code == 422 and "changed after this search" in refused.json()["errors"][0]["message"]
    assert path.read_bytes() == before


def test_a_plan_is_not_taken_after_the_shop_was_changed(page: TestClient, shop: Path) -> None:
    job = sought(page)["job"]
    (shop / "shop.toml").write_text('[shop]\nend_trim = "20 mm"\n')
    assert taken(page, job, 0).status_code == 422
    (shop / "shop.toml").unlink()
    assert taken(page, job, 0).status_code == 200


def test_a_search_ends_the_one_of_its_own_window_alone(house: House) -> None:
    recipe = house.books.recipe(house.folder.path("slicer.toml"), (house.folder.root / "slicer.toml").read_text())
    start = house.plans.start
    one = start(recipe, {"layers": 60}, None, "here", ("v", "s"))
    other = start(recipe, {"layers": 60}, None, "there", ("v", "s"))
    assert not one.stop and not other.stop
    start(recipe, {"layers": 60}, None, "here", ("v", "s"))
    assert one.stop and not other.stop
    start(recipe, {"layers": 60}, None, "third", ("v", "s"))
    with pytest.raises(InputError, match="under way in other windows"):
        start(recipe, {"layers": 60}, None, "fourth", ("v", "s"))
    for job in house.plans._jobs.values():
        job.stop = True


def test_the_shop_s_file_is_watched_with_the_recipe(house: House) -> None:
    asked = {"file": "slicer.toml", "shop": ""}
    before = house.standing(asked)
    assert before["shop"] == house.knife({"file": "slicer.toml"})["shop"]
    (house.folder.root / "shop.toml").write_text('[shop]\nkerf = "3 mm"\n')
    after = house.standing(asked)
    assert (after["version"], after["shop"] != before["shop"]) == (before["version"], True)
    assert set(house.standing({"file": "slicer.toml"})) == {"version"}


def test_a_picture_nobody_waits_for_any_more_is_not_drawn(house: House) -> None:
    asked = {"file": "slicer.toml", "view": "right", "width": "420"}
    assert house.draw(asked, lambda: True) is None
    assert house.draw(asked, lambda: False) is not None


def test_a_folder_s_page_is_found_again_where_it_was_and_a_second_one_elsewhere(tmp_path: Path) -> None:
    ports = []
    for _ in range(2):
        first = Server(["open", str(tmp_path), "--no-browser"], tmp_path)
        ports.append(_port(first))
        first.kill()
    again = Server(["open", str(tmp_path), "--no-browser"], tmp_path)
    ports.append(_port(again))
    (tmp_path / "home").mkdir()
    beside = Server(["open", str(tmp_path), "--no-browser"], tmp_path / "home")
    ports.append(_port(beside))
    for one in (again, beside):
        one.kill()
    assert ports[0] == ports[1] == ports[2] != ports[3], ports


def _port(server: Server) -> str:
    found = re.search(r"127\.0\.0\.1:(\d+)", "".join(server.told("Ctrl-C stops it.")))
    assert found is not None
    return found[1]


def test_a_plan_is_found_pictured_and_taken(page: TestClient) -> None:
    state = sought(page)
    job = state["job"]
    assert state["candidates"] and not state["failed"]
    picture = page.get("/api/plan/picture", params={"job": job, "rank": 0})
    assert Image.open(io.BytesIO(picture.content)).width > 200
    assert taken(page, job, 0).json()["can_undo"]
