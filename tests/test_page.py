"""The page's server on the demo recipes: who is let in, what is written, what is drawn. Figures are those of the ledger and the
commands, tested where they are made; here the answers are compared with them and with the files on disk."""

from __future__ import annotations

import io
import json
import re
import shutil
import signal
import subprocess
import sys
import time
import tomllib
import tracemalloc
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient
from typer.testing import CliRunner

from billet.blade.lying import lying
from billet.cli import app
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import load
from billet.where import followed, plates_at
from render.page.app import application
from render.page.edit import edited_text
from render.page.folder import STARTS
from render.page.guard import LARGEST, Keys
from render.page.history import History, version_of
from render.page.house import House
from render.page.view import knife_view
from render.request import Request
from render.session import session
from tests.starts import recipes

DEMOS = Path(__file__).parent.parent / "demo_billets"
HOST = "testserver"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("slicer.toml", "order.toml", "twist.toml", "twist_bars.toml"):
        shutil.copy(DEMOS / name, tmp_path)
    return tmp_path


@pytest.fixture
def keys() -> Keys:
    return Keys(hosts=frozenset({HOST}))


@pytest.fixture
def page(shop: Path, keys: Keys) -> Iterator[TestClient]:
    with TestClient(application(House(shop), keys), raise_server_exceptions=False) as client:
        client.get("/", params={"token": keys.key})
        yield client


def knife(page: TestClient, file: str = "slicer.toml") -> Any:
    return page.get("/api/knife", params={"file": file}).json()


def edit(page: TestClient, seen: Any, *edits: dict[str, Any]) -> Any:
    return page.post("/api/edit", json={"file": seen["file"], "version": seen["version"], "edits": list(edits)})


OFFSET = {"op": "set", "path": ["blade", "offset"], "value": "0.1 mm"}


def test_nobody_is_let_in_without_the_key(shop: Path, keys: Keys) -> None:
    stranger = TestClient(application(House(shop), keys))
    for address in ("/", "/api/folder", "/static/main.js", "/?token=wrong"):
        assert stranger.get(address).status_code == 403
    assert stranger.post("/api/edit", json={}).status_code == 403


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "elsewhere.test"}, 403),
        ({"origin": "http://elsewhere.test"}, 403),
        ({"origin": f"http://{HOST}"}, 200),
    ],
    ids=["foreign host", "foreign page", "own page"],
)
def test_foreign_hosts_and_pages_are_turned_away(page: TestClient, headers: dict[str, str], status: int) -> None:
    assert page.get("/api/folder", headers=headers).status_code == status


def test_an_address_of_an_earlier_start_says_which_one_to_open(shop: Path, keys: Keys) -> None:
    stranger = TestClient(application(House(shop), keys))
    assert "printed last" in stranger.get("/?token=of-yesterday").text
    assert "The key is missing" in stranger.get("/").text


def test_the_key_is_kept_under_a_name_of_its_port(shop: Path) -> None:
    """RFC 6265 section 8.5: cookies are not kept apart by port; two folders open at once need two names."""
    hosts = frozenset({"127.0.0.1:8001", "127.0.0.1:8002"})
    kept = []
    for port in (8001, 8002):
        keys = Keys(hosts=hosts)
        client = TestClient(application(House(shop), keys), base_url=f"http://127.0.0.1:{port}")
        answer = client.get("/", params={"token": keys.key}, follow_redirects=False)
        name, _, rest = answer.headers["set-cookie"].partition("=")
        assert {"httponly", "samesite=lax", "path=/"} <= {part.strip().lower() for part in rest.split(";")}
        kept.append(name)
    assert len(set(kept)) == 2


@pytest.mark.parametrize(
    "name", ["../slicer.toml", "/etc/passwd", "slicer.toml/../slicer.toml", ".hidden.toml", "x.txt", ""]
)
def test_no_path_leads_out_of_the_folder(page: TestClient, name: str) -> None:
    assert page.get("/api/knife", params={"file": name}).status_code == 422
    assert page.get(f"/static/{name}").status_code == 404


def test_a_link_out_of_the_folder_is_not_followed(page: TestClient, shop: Path, tmp_path_factory: Any) -> None:
    outside = tmp_path_factory.mktemp("outside") / "secret.toml"
    shutil.copy(DEMOS / "slicer.toml", outside)
    (shop / "link.toml").symlink_to(outside)
    assert "leads out" in page.get("/api/knife", params={"file": "link.toml"}).json()["errors"][0]["message"]


@pytest.mark.parametrize(
    "address",
    [
        "/api/draw?file=slicer.toml&width=300&view=right&wish=²",
        "/api/plan/picture?job=1&rank=²",
        "/api/plan?job=²",
        "/api/draw?file=slicer.toml&width=300&view=right&wish=" + "9" * 5000,
        "/api/plan?job=" + "9" * 5000,
        "/api/plan/picture?job=1&rank=" + "9" * 5000,
    ],
    ids=lambda address: address[:40],
)
def test_a_number_in_small_letters_or_without_end_is_no_fault_of_the_program(page: TestClient, address: str) -> None:
    assert page.get(address).status_code in (200, 422)


@pytest.mark.parametrize(
    "address",
    ["/api/draw?file=slicer.toml&view=right&width=300&finish=chrome",
     *(f"/api/where?file=slicer.toml&face=left&x_m={x}&y_m=0.01" for x in ("nan", "inf", "1e308", "", "a"))],
)  # fmt: skip
def test_what_is_no_finish_and_no_place_is_refused_in_words(page: TestClient, address: str) -> None:
    answer = page.get(address)
    assert answer.status_code == 422 and "wanted" in answer.json()["errors"][0]["message"]


def test_half_a_letter_is_refused_in_words(page: TestClient, shop: Path) -> None:
    seen, kept = knife(page), (shop / "slicer.toml").read_bytes()
    half = {"op": "set", "path": ["title"], "value": "\ud800"}
    body = json.dumps({"file": seen["file"], "version": seen["version"], "edits": [half]})
    assert page.post("/api/edit", content=body, headers={"content-type": "application/json"}).status_code == 400
    assert (shop / "slicer.toml").read_bytes() == kept


@pytest.mark.parametrize("name", ["shop.toml", "Shop.toml"])
def test_a_knife_does_not_take_the_name_of_the_shop_s_file(page: TestClient, shop: Path, name: str) -> None:
    answer = page.post("/api/knives", json={"start": "starter_metric", "file": name})
    assert answer.status_code == 422 and "shop's own habits" in answer.json()["errors"][0]["message"]
    assert not (shop / name).exists() and knife(page)["problems"] == []


def test_an_edit_of_a_file_that_is_not_sound_is_refused_in_words(page: TestClient, shop: Path) -> None:
    torn = b"title = [\n"
    (shop / "slicer.toml").write_bytes(torn)
    seen = knife(page)
    answer = edit(page, seen, OFFSET)
    assert answer.status_code == 422 and "mend it under Text" in answer.json()["errors"][0]["message"]
    assert (shop / "slicer.toml").read_bytes() == torn


def test_a_spot_ground_deeper_is_what_lay_under_it(page: TestClient, shop: Path) -> None:
    """The plate at a spot ground deeper by so much is the one the bar holds at that depth under the spot before."""
    book = run(load(shop / "slicer.toml"), diffuse=False)
    blade = blade_of(book.recipe)
    bar, at = followed(book.recipe).last, lying(blade, followed(book.recipe).last)
    found = set()
    for x in (0.03, 0.06, 0.09, 0.12, 0.15):
        y, grind = 0.75 * blade.design.heel_height, 0.45e-3
        asked = {"file": "slicer.toml", "face": "right", "x_m": x, "y_m": y}
        now, deeper = (
            page.get("/api/where", params=asked | more).json()["data"] for more in ({}, {"grind_m": f"{grind:.8f}"})
        )
        taken = 0.5 * (now["thickness_m"] - deeper["thickness_m"])
        assert 0.2e-3 < taken <= grind
        half = 0.5 * deeper["thickness_m"]
        point = np.array([[x + at.heel_x], [y + at.edge_y], [at.offset + half - 1e-7]])
        under = plates_at(bar, point)[0]
        assert deeper["plate"]["steel"] == under.steel
        found.add((now["plate"]["steel"], under.steel))
    assert any(one != other for one, other in found)


def test_recipes_that_are_not_listed_are_counted(page: TestClient, shop: Path) -> None:
    for k in range(403):
        (shop / f"k{k}.toml").write_text("")
    told = page.get("/api/folder").json()
    assert len(told["knives"]) == 400 and told["beyond"] == 403 + 4 - 400


def test_a_blade_of_no_size_is_refused_before_it_is_drawn(page: TestClient) -> None:
    edits = json.dumps([{"op": "set", "path": ["blade", "heel_height"], "value": "1e-30 mm"}])
    answer = page.get("/api/draw", params={"file": "slicer.toml", "view": "choil", "width": "300", "edits": edits})
    assert answer.status_code == 422 and "is the unit right?" in answer.json()["errors"][0]["message"]


def test_too_much_is_not_taken(page: TestClient) -> None:
    assert page.post("/api/note", json={"words": "x" * LARGEST}).status_code == 413
    assert page.post("/api/note", content=b"[1", headers={"content-type": "application/json"}).status_code == 400
    assert page.post("/api/note", content=b"{}", headers={"content-type": "text/plain"}).status_code == 415


def test_a_knife_is_shown_as_the_ledger_has_it(page: TestClient, shop: Path) -> None:
    seen = knife(page)
    book = run(load(shop / "slicer.toml"))
    sizes = [step["row"]["size_m"] for step in seen["bars"][0]["steps"]]
    assert sizes[-1] == pytest.approx([book.last.length, book.last.width, book.last.thickness])
    assert len(seen["bars"][0]["plates"]) == run(load(shop / "slicer.toml")).bars[0].rows[0].bar.layers_counted
    assert seen["answer"][0] == "The bar holds the blade."


def test_an_edit_keeps_comments_and_is_taken_back_and_done_again(page: TestClient, shop: Path) -> None:
    before = (shop / "slicer.toml").read_text()
    seen = edit(page, knife(page), OFFSET).json()
    now = (shop / "slicer.toml").read_text()
    assert tomllib.loads(now)["blade"]["offset"] == "0.1 mm"
    assert [line for line in before.splitlines() if line.startswith("#")] == [
        line for line in now.splitlines() if line.startswith("#")
    ]
    asked = {"file": "slicer.toml", "version": seen["version"]}
    seen = page.post("/api/undo", json=asked).json()
    assert (shop / "slicer.toml").read_text() == before and seen["can_redo"] and not seen["can_undo"]
    page.post("/api/redo", json={"file": "slicer.toml", "version": seen["version"]})
    assert (shop / "slicer.toml").read_text() == now


def test_undo_outlives_a_restart(page: TestClient, shop: Path, keys: Keys) -> None:
    before = (shop / "slicer.toml").read_text()
    edit(page, knife(page), OFFSET)
    with TestClient(application(House(shop), keys)) as again:
        again.get("/", params={"token": keys.key})
        seen = knife(again)
        assert seen["can_undo"]
        again.post("/api/undo", json={"file": "slicer.toml", "version": seen["version"]})
    assert (shop / "slicer.toml").read_text() == before


def test_what_the_recipe_refuses_is_not_written(page: TestClient, shop: Path) -> None:
    before = (shop / "slicer.toml").read_bytes()
    reply = edit(page, knife(page), {**OFFSET, "value": "0.1"})
    assert reply.status_code == 422
    assert "a number without a unit" in reply.json()["errors"][0]["message"]
    assert (shop / "slicer.toml").read_bytes() == before


def test_a_file_changed_outside_is_never_written_over(page: TestClient, shop: Path) -> None:
    seen = knife(page)
    by_hand = (shop / "slicer.toml").read_text() + "\n# by hand\n"
    (shop / "slicer.toml").write_text(by_hand)
    assert edit(page, seen, OFFSET).status_code == 409
    assert (shop / "slicer.toml").read_text() == by_hand
    assert page.get("/api/watch", params={"file": "slicer.toml", "version": seen["version"]}).json() == {
        "version": version_of(by_hand)
    }


def test_two_windows_cannot_write_over_one_another(page: TestClient) -> None:
    seen = knife(page)
    assert edit(page, seen, OFFSET).status_code == 200
    assert edit(page, seen, {**OFFSET, "value": "0.2 mm"}).status_code == 409


def test_a_step_that_cannot_be_done_yet_stands_and_says_so(page: TestClient) -> None:
    seen = edit(page, knife(page), {"op": "delete", "path": ["bar", 0, "step", 0]}).json()
    assert seen["problems"][0]["path"] == ["bar", 0, "step", 0]
    assert "not welded" in seen["problems"][0]["message"]
    assert seen["bars"][0]["stack"] is not None and seen["bars"][0]["steps"][0]["row"] is None


def test_steps_are_put_in_moved_copied_and_taken_out() -> None:
    text = (DEMOS / "slicer.toml").read_text()
    before = [s["do"] for s in tomllib.loads(text)["bar"][0]["step"]]
    path = ["bar", 0, "step"]
    trim = {"do": "trim", "each_end": "2 mm"}
    text = edited_text(text, [{"op": "insert", "path": [*path, 1], "value": trim}, {"op": "copy", "path": [*path, 1]}])
    assert [s["do"] for s in tomllib.loads(text)["bar"][0]["step"]] == [before[0], "trim", "trim", *before[1:]]
    text = edited_text(text, [{"op": "move", "path": [*path, 0], "to": 2}, {"op": "delete", "path": [*path, 0]}])
    assert [s["do"] for s in tomllib.loads(text)["bar"][0]["step"]] == ["trim", before[0], *before[1:]]


def test_a_picture_is_the_sessions_own(page: TestClient, shop: Path) -> None:
    reply = page.get("/api/draw", params={"file": "slicer.toml", "view": "right", "width": 500})
    drawn = np.asarray(Image.open(io.BytesIO(reply.content)).convert("RGB"))[..., 1]
    own = session(run(load(shop / "slicer.toml")), Request(view="right", width=500, bare=True)).codes()
    np.testing.assert_array_equal(drawn, own)
    [place] = json.loads(reply.headers["x-places"])
    assert (place["rows"], place["columns"]) == own.shape


def test_a_moved_blade_is_drawn_as_the_saved_one_would_be(page: TestClient) -> None:
    asked = {"file": "slicer.toml", "view": "left", "width": "400"}
    wished = page.get("/api/draw", params={**asked, "edits": json.dumps([OFFSET])}).content
    plain = page.get("/api/draw", params=asked).content
    edit(page, knife(page), OFFSET)
    assert wished == page.get("/api/draw", params=asked).content != plain


def test_the_newest_wish_of_a_window_wins(page: TestClient) -> None:
    asked = {"file": "slicer.toml", "width": "300", "quality": "drag", "client": "one"}
    newest = page.get("/api/draw", params={**asked, "wish": "7"})
    assert newest.status_code == 200 and newest.headers["content-type"] == "image/jpeg"
    assert page.get("/api/draw", params={**asked, "wish": "3"}).status_code == 204
    assert page.get("/api/draw", params={**asked, "wish": "3", "client": "other"}).status_code == 200


@pytest.mark.parametrize("question", ["shapes", "filmstrip", "fire", "bench"])
@pytest.mark.parametrize("file", ["slicer.toml", "twist.toml", "order.toml", "twist_bars.toml"])
def test_every_room_has_its_answer(page: TestClient, question: str, file: str) -> None:
    reply = page.get(f"/api/{question}", params={"file": file})
    assert reply.status_code == 200
    assert all(value for key, value in reply.json().items() if key not in ("notes", "mind"))


def test_a_bar_that_is_like_another_shows_the_steps_of_that_one(page: TestClient) -> None:
    bars = {bar["name"]: bar for bar in knife(page, "twist_bars.toml")["bars"]}
    copies = [bar for bar in bars.values() if bar["like"]]
    assert copies and all(bar["steps"] for bar in copies)
    for bar in copies:
        assert [s["do"] for s in bar["steps"]] == [s["do"] for s in bars[bar["like"]]["steps"]]


def test_a_note_is_kept_and_the_next_stage_comes(page: TestClient) -> None:
    first = page.get("/api/bench", params={"file": "slicer.toml"}).json()["next"]["name"]
    kept = page.post("/api/note", json={"file": "slicer.toml", "words": "after stack went well"}).json()
    assert kept["id"] == 1
    after = page.get("/api/bench", params={"file": "slicer.toml"}).json()
    assert first == "stack" != after["next"]["name"] and len(after["notes"]) == 1


@pytest.mark.parametrize("named", ["/etc/passwd", "../secret.csv", "..\\secret.csv", "/proc/self/environ"])
def test_no_outline_or_picture_from_outside_is_read(page: TestClient, shop: Path, named: str) -> None:
    (shop.parent / "secret.csv").write_text("a word nobody outside may read\n")
    relief = {"op": "insert", "path": ["bar", 0, "step", 9], "value": {"do": "relief", "image": named, "depth": "1 mm"}}
    for one in ({"op": "set", "path": ["blade", "points"], "value": named}, relief):
        asked = {"file": "slicer.toml", "view": "right", "width": "300", "edits": json.dumps([one])}
        answer = page.get("/api/draw", params=asked)
        assert answer.status_code == 422 and "leads out of this folder" in answer.json()["errors"][0]["message"]
        assert edit(page, knife(page), one).status_code == 422


def test_an_outline_in_the_folder_is_drawn(page: TestClient, shop: Path) -> None:
    (shop / "own.csv").write_text("x mm,y mm\n0,0\n150,0\n200,12\n150,30\n0,34\n")
    edits = json.dumps([{"op": "set", "path": ["blade", "points"], "value": "own.csv"}])
    asked = {"file": "slicer.toml", "view": "right", "width": "300", "edits": edits}
    answer = page.get("/api/draw", params=asked)
    assert "leads out" not in answer.text


def test_a_wish_without_a_window_stops_no_other_picture(page: TestClient) -> None:
    asked = {"file": "slicer.toml", "view": "right", "width": "300"}
    assert page.get("/api/draw", params={**asked, "wish": "9"}).status_code == 200
    assert page.get("/api/draw", params=asked).status_code == 200


def test_one_strange_file_does_not_hide_the_others(page: TestClient, shop: Path) -> None:
    (shop / "odd.toml").write_text("a = " + "[" * 1200)
    assert {"slicer.toml", "odd.toml"} <= {one["file"] for one in page.get("/api/folder").json()["knives"]}


def test_measuring_for_the_grinder_ends_no_stage(page: TestClient) -> None:
    """What is measured is to be ground; the stages before it, the fire among them, are not done by it."""
    before = page.get("/api/bench", params={"file": "slicer.toml"}).json()["next"]["name"]
    asked = {"file": "slicer.toml", "readings": ["50 mm spine 3.1 mm bow 0.2 mm left"], "to": "finished"}
    assert page.post("/api/stations", json=asked).json()["written"]
    after = page.get("/api/bench", params={"file": "slicer.toml"}).json()
    assert after["next"]["name"] == before and not any(stage["done"] for stage in after["stages"])
    assert len(after["notes"]) == 1


def test_bars_are_drawn_as_far_as_they_can_be_made(page: TestClient) -> None:
    """A step that cannot be done leaves the pictures of those before it; of it and what follows there is none."""
    seen = knife(page)
    steps = len(seen["bars"][0]["steps"])
    wide = {"op": "set", "path": ["bar", 0, "step", 1, "thickness"], "value": "400 mm"}
    broken = edit(page, seen, wide).json()
    assert broken["problems"] and broken["problems"][0]["path"] == ["bar", 0, "step", 1] and steps > 1
    asked = {"file": "slicer.toml", "view": "bar-end", "width": "240"}
    name = seen["bars"][0]["name"]
    assert page.get("/api/draw", params={**asked, "after": f"{name}:1"}).status_code == 200
    assert page.get("/api/draw", params={**asked, "after": f"{name}:2"}).status_code == 422


def test_pictures_of_bars_leave_little_behind(shop: Path) -> None:
    """A bar's face lies along its layers, and what draws it can take half a gigabyte; the picture is kept, not that."""
    shutil.copy(DEMOS / "chef.toml", shop)
    house = House(shop)
    bar = house.knife({"file": "chef.toml"})["bars"][0]
    number = bar["steps"][-1]["number"]
    asked = {"file": "chef.toml", "view": "bar-face", "width": "320", "after": f"{bar['name']}:{number}"}
    tracemalloc.start()
    try:
        first, again = house.draw(asked), house.draw(asked)
        left, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
        house.close()
    assert first is again and first is not None
    assert peak > 200e6 > 60e6 > left  # otherwise this says nothing


def test_stations_are_reckoned_and_written_down(page: TestClient, shop: Path) -> None:
    asked = {"file": "slicer.toml", "readings": ["50 mm spine 3.1 mm bow 0.2 mm left"], "to": "finished"}
    reply = page.post("/api/stations", json=asked).json()
    assert reply["written"] and reply["rows"][0][2] == "3.10 mm"
    said = CliRunner().invoke(app, ["grind", str(shop / "slicer.toml"), "--at", asked["readings"][0]]).stdout
    assert " ".join(reply["answer"].split()) in " ".join(said.split())  # the command's own answer
    wrong = page.post("/api/stations", json={**asked, "readings": ["fifty"]})
    assert wrong.status_code == 422 and "fifty" in wrong.json()["errors"][0]["message"]
    thin = page.post("/api/stations", json={**asked, "readings": ["50 mm spine 1 mm"]}).json()
    for words in (thin["errors"][0]["message"], *reply["mind"], *reply["lines"]):
        assert not re.search(
            r"(?<!billet grind )--[a-z]|\[blade\]", words
        )  # no option and no table of a text one does not see


def test_a_spot_is_followed_as_the_command_does(page: TestClient) -> None:
    asked = {"file": "slicer.toml", "face": "right", "x_m": "0.05", "y_m": "0.012"}
    assert "from the bottom of the first stack" in page.get("/api/where", params=asked).json()["lines"][1]


def test_a_new_knife_starts_from_a_starting_point_and_never_over_a_file(page: TestClient, shop: Path) -> None:
    asked = {"start": "starter_imperial", "file": "new.toml", "title": "Second slicer"}
    assert page.post("/api/knives", json=asked).json()["title"] == "Second slicer"
    before = (shop / "new.toml").read_bytes()
    refused = page.post("/api/knives", json={**asked, "title": "Third"})
    assert refused.status_code == 422 and "call the new file otherwise" in refused.json()["errors"][0]["message"]
    assert (shop / "new.toml").read_bytes() == before


SAVER = """
import sys
from pathlib import Path
from render.page.history import History, version_of
path = Path(sys.argv[1])
history = History(path.parent)
text = history.text(path)
print("ready", flush=True)
k = 0
while True:
    k += 1
    new = text + f"# {k}\\n" * 400
    history.save(path, version_of(history.text(path)), new)
"""


@pytest.mark.parametrize("wait", [0.05, 0.11, 0.23])
def test_a_kill_in_the_middle_of_a_save_leaves_a_whole_recipe(shop: Path, wait: float) -> None:
    path = shop / "slicer.toml"
    saver = subprocess.Popen([sys.executable, "-c", SAVER, str(path)], stdout=subprocess.PIPE, text=True)
    assert saver.stdout is not None and saver.stdout.readline() == "ready\n"
    time.sleep(wait)
    saver.send_signal(signal.SIGKILL)
    saver.wait()
    whole = path.read_text()
    assert (
        tomllib.loads(whole)["title"]
        and (whole.count("# ") - (DEMOS / "slicer.toml").read_text().count("# ")) % 400 == 0
    )
    house = House(shop)
    assert knife_view(house.books, house.history, path)["can_undo"]
    assert History(shop).text(path) == whole


def test_the_starting_points_are_the_smokehouse_set_each_with_a_small_picture(page: TestClient) -> None:
    """The recipes shipped in the wheel are those of the demos, letter by letter; `python -m tests.starts` writes them."""
    shipped = {p.stem: p.read_text("utf-8") for p in STARTS.glob("*.toml")}
    assert shipped == {name: p.read_text("utf-8") for name, p in recipes().items()}
    for start in page.get("/api/folder").json()["starts"]:
        picture = page.get(f"/static/starts/{start['id']}.jpg")
        assert picture.headers["content-type"] == "image/jpeg" and 2_000 < len(picture.content) < 60_000
    assert page.get("/static/starts/chef.toml").status_code == 404
