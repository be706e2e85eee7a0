"""How a telephone is let in: by a code that a button sends, once; looking at the link spends nothing."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from render.page.app import application
from render.page.guard import POLICY, Keys
from render.page.house import House

DEMOS = Path(__file__).parent.parent / "demo_billets"
HOST = "testserver"
CODE = "once-only"
OWN = f"http://{HOST}"


@pytest.fixture
def keys() -> Keys:
    return Keys(hosts=frozenset({HOST}), pairing=CODE)


@pytest.fixture
def page(tmp_path: Path, keys: Keys) -> Starlette:
    shutil.copy(DEMOS / "slicer.toml", tmp_path)
    return application(House(tmp_path), keys)


def pressed(client: TestClient, code: str = CODE, **headers: str) -> int:
    """The button of the pairing page; the status of the answer."""
    return client.post("/", data={"pair": code}, headers=headers, follow_redirects=False).status_code


def test_a_pairing_code_is_good_once(page: Starlette) -> None:
    first, second = TestClient(page), TestClient(page)
    assert first.get(f"/?pair={CODE}").status_code == 200
    assert first.get("/api/folder").status_code == 403  # looking alone lets nobody in
    answer = first.post("/", data={"pair": CODE}, follow_redirects=False)
    assert answer.status_code == 303 and answer.headers["location"] == "/"
    assert first.get("/api/folder").status_code == 200
    refused = second.get(f"/?pair={CODE}")
    assert refused.status_code == 403 and "start it again for a new one" in refused.text
    assert refused.headers["content-type"].startswith("text/html")  # read by a person, in a browser
    late = second.post("/", data={"pair": CODE})
    assert late.status_code == 403 and "start it again for a new one" in late.text
    assert second.get("/api/folder").status_code == 403


def test_a_chat_program_that_looks_at_the_link_spends_nothing(page: Starlette, keys: Keys) -> None:
    looks = [TestClient(page).get(f"/?pair={CODE}") for _ in range(5)]
    assert [one.status_code for one in looks] == [200] * 5
    assert not any("set-cookie" in one.headers for one in looks)
    assert keys.pairing == CODE and pressed(TestClient(page)) == 303


def test_the_page_of_the_code_has_one_button_that_sends_it_here(page: Starlette) -> None:
    shown = TestClient(page).get(f"/?pair={CODE}").text
    assert re.findall(r"<button>(.*?)</button>", shown) == ["Open the page on this telephone"]
    assert re.findall(r'<form method="post" action="(.*?)">', shown) == ["/"]
    assert re.findall(r'<input type="hidden" name="(.*?)" value="(.*?)">', shown) == [("pair", CODE)]


def test_the_page_of_the_code_alone_may_send_a_form(page: Starlette, keys: Keys) -> None:
    client = TestClient(page)
    assert "form-action 'self'" in client.get(f"/?pair={CODE}").headers["content-security-policy"]
    client.get("/", params={"token": keys.key})
    assert client.get("/").headers["content-security-policy"] == POLICY
    assert "form-action 'none'" in POLICY


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"origin": OWN}, 303),
        ({"origin": "null"}, 303),
        ({"origin": "http://elsewhere.test"}, 403),
        ({"origin": OWN, "host": "elsewhere.test"}, 403),
    ],
    ids=["own page", "a page that names no referrer", "foreign page", "foreign host"],
)
def test_the_button_is_of_this_page(page: Starlette, keys: Keys, headers: dict[str, str], status: int) -> None:
    """Fetch standard, "append a request `Origin` header": under the policy no-referrer a form is sent with the origin null."""
    assert pressed(TestClient(page), **headers) == status
    assert (keys.pairing is None) == (status == 303)


@pytest.mark.parametrize("address", ["/api/edit", "/api/note"])
def test_nothing_but_the_button_is_taken_from_a_null_origin_or_a_form(
    page: Starlette, keys: Keys, address: str
) -> None:
    client = TestClient(page)
    client.get("/", params={"token": keys.key})
    assert client.post(address, json={}, headers={"origin": "null"}).status_code == 403
    assert client.post(address, data={"file": "slicer.toml"}).status_code == 415


@pytest.mark.parametrize("code", ["wrong", "", "ümläut", "x" * 900])
def test_a_wrong_code_lets_nobody_in_and_spends_nothing(page: Starlette, keys: Keys, code: str) -> None:
    stranger = TestClient(page)
    assert stranger.get("/", params={"pair": code}).status_code == 403
    assert pressed(stranger, code) == 403
    assert stranger.get("/api/folder").status_code == 403 and keys.pairing == CODE


def test_more_than_a_code_is_not_taken(page: Starlette, keys: Keys) -> None:
    assert pressed(TestClient(page), CODE + "&more=" + "x" * 5000) == 413
    assert keys.pairing == CODE


def test_a_telephone_that_is_in_may_press_again(page: Starlette, keys: Keys) -> None:
    client = TestClient(page)
    assert pressed(client) == 303
    assert pressed(client) == 303
    assert client.get("/api/folder").status_code == 200
