"""What is odd about a folder, a name or a question is refused in one sentence, never answered as a fault of the program."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from render.page.app import application
from render.page.guard import Keys
from render.page.house import House

DEMOS = Path(__file__).parent.parent / "demo_billets"
NOBODY = 65534
LONG = "\N{CUNEIFORM SIGN A}" * 70 + ".toml"  # 75 letters, 285 bytes; ext4, APFS and NTFS take 255 at most
DEEP = pytest.mark.parametrize("deep", [30, 600, 750, 900])


def opened(folder: Path) -> Iterator[TestClient]:
    keys = Keys(hosts=frozenset({"testserver"}))
    with TestClient(application(House(folder), keys), raise_server_exceptions=False) as client:
        client.get("/", params={"token": keys.key})
        yield client


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path))
    shutil.copy(DEMOS / "slicer.toml", tmp_path)
    return tmp_path


@pytest.fixture
def page(shop: Path) -> Iterator[TestClient]:
    yield from opened(shop)


def refused(answer: Any) -> str:
    """The one sentence of an answer that refuses what was asked."""
    assert 400 <= answer.status_code < 500, answer.text
    (error,) = answer.json()["errors"]
    return str(error["message"])


def edit(page: TestClient, given: str) -> Any:
    """An edit sent as it stands; ``given`` is JSON, or nearly."""
    seen = page.get("/api/knife", params={"file": "slicer.toml"}).json()
    body = f'{{"file": "slicer.toml", "version": "{seen["version"]}", "edits": [{given}]}}'
    return page.post("/api/edit", content=body, headers={"content-type": "application/json"})


QUESTIONS = pytest.mark.parametrize(
    "question", ["knife", "shapes", "filmstrip", "fire", "bench", "watch", "draw", "solid", "where"]
)


@QUESTIONS
def test_a_link_that_leads_to_itself_is_refused_in_words(page: TestClient, shop: Path, question: str) -> None:
    (shop / "round.toml").symlink_to("round.toml")
    assert "leads back to itself" in refused(page.get(f"/api/{question}", params={"file": "round.toml"}))


def test_a_link_that_leads_to_itself_hides_no_other_recipe(page: TestClient, shop: Path) -> None:
    (shop / "round.toml").symlink_to("round.toml")
    assert "slicer.toml" in [one["file"] for one in page.get("/api/folder").json()["knives"]]


@pytest.mark.parametrize("name", ["round.toml", "over.toml"])
def test_a_new_knife_is_not_written_through_a_link_that_leads_to_itself(
    page: TestClient, shop: Path, name: str
) -> None:
    (shop / "round.toml").symlink_to("round.toml")
    (shop / "over.toml").symlink_to("round.toml")
    asked = {"start": "starter_metric", "file": name}
    assert "leads back to itself" in refused(page.post("/api/knives", json=asked))


def test_an_outline_that_leads_to_itself_is_refused_in_words(page: TestClient, shop: Path) -> None:
    (shop / "round.csv").symlink_to("round.csv")
    given = json.dumps([{"op": "set", "path": ["blade", "points"], "value": "round.csv"}])
    answer = page.get("/api/draw", params={"file": "slicer.toml", "view": "right", "width": "300", "edits": given})
    assert "round.csv" in refused(answer)


@QUESTIONS
def test_a_name_too_long_for_a_disk_is_refused_in_words(page: TestClient, question: str) -> None:
    assert "shorter" in refused(page.get(f"/api/{question}", params={"file": LONG}))


@pytest.mark.parametrize("asked", [{"start": "starter_metric", "file": LONG}, {"start": LONG, "file": "new.toml"}])
def test_a_new_knife_of_too_long_a_name_is_refused_in_words(page: TestClient, asked: dict[str, str]) -> None:
    assert "shorter" in refused(page.post("/api/knives", json=asked))


@pytest.mark.parametrize("op", ["move", "copy"])
@pytest.mark.parametrize("to", ["1e999", "-1e999", "NaN"])
def test_a_place_without_end_is_refused_in_words(page: TestClient, shop: Path, op: str, to: str) -> None:
    kept = (shop / "slicer.toml").read_bytes()
    assert "to: found" in refused(edit(page, f'{{"op": "{op}", "path": ["bar", 0, "step", 0], "to": {to}}}'))
    assert (shop / "slicer.toml").read_bytes() == kept


@DEEP
@pytest.mark.parametrize("signs", [('{"a": ', "}"), ("[", "]")], ids=["tables", "lists"])
def test_a_value_nested_without_end_is_refused_in_words(page: TestClient, deep: int, signs: tuple[str, str]) -> None:
    value = signs[0] * deep + "1" + signs[1] * deep
    refused(edit(page, f'{{"op": "set", "path": ["blade", "offset"], "value": {value}}}'))
    given = f'[{{"op": "set", "path": ["blade", "offset"], "value": {value}}}]'
    refused(page.get("/api/draw", params={"file": "slicer.toml", "view": "right", "width": "300", "edits": given}))


@DEEP
@pytest.mark.parametrize("question", ["note", "stations", "plan", "knives", "text", "undo", "plan/take"])
def test_any_question_nested_without_end_is_refused_in_words(page: TestClient, question: str, deep: int) -> None:
    nested = "[" * deep + "]" * deep
    fields = ("words", "readings", "target", "rack", "start", "title", "text", "version", "job", "rank", "to")
    body = '{"file": "slicer.toml", ' + ", ".join(f'"{name}": {nested}' for name in fields) + "}"
    refused(page.post(f"/api/{question}", content=body, headers={"content-type": "application/json"}))


@DEEP
def test_a_text_nested_without_end_is_refused_in_words(page: TestClient, shop: Path, deep: int) -> None:
    kept = (shop / "slicer.toml").read_bytes()
    seen = page.get("/api/knife", params={"file": "slicer.toml"}).json()
    asked = {"file": "slicer.toml", "version": seen["version"], "text": "a = " + "[" * deep + "]" * deep}
    refused(page.post("/api/text", json=asked))
    assert (shop / "slicer.toml").read_bytes() == kept


@DEEP
@pytest.mark.parametrize("question", ["shapes", "fire", "bench", "draw"])
def test_a_recipe_nested_without_end_is_refused_in_words(
    page: TestClient, shop: Path, question: str, deep: int
) -> None:
    (shop / "deep.toml").write_text("a = " + "[" * deep + "]" * deep)
    refused(page.get(f"/api/{question}", params={"file": "deep.toml"}))


@pytest.mark.parametrize("name", ["x" * 300 + ".js", "starts/" + "x" * 300 + ".jpg", "x%00.js"])
def test_a_file_of_the_page_that_cannot_be_named_is_not_there(page: TestClient, name: str) -> None:
    answer = page.get(f"/static/{name}")
    assert answer.status_code == 404 and refused(answer) == "There is no such file."


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.write_bytes(b'title = "\xff\xfe"\n'),
        lambda path: path.mkdir(),
        lambda path: path.write_bytes(b"#" * 2_000_001),
        lambda path: path.symlink_to("nowhere.toml"),
        lambda path: None,
    ],
    ids=["no text", "a folder", "too large", "a link to nowhere", "not there"],
)
def test_a_starting_point_that_cannot_be_read_is_refused_in_words(page: TestClient, shop: Path, spoil: Any) -> None:
    spoil(shop / "old.toml")
    told = refused(page.post("/api/knives", json={"start": "old.toml", "file": "new.toml"}))
    assert "old.toml" in told and not (shop / "new.toml").exists()


@pytest.fixture
def locked(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """A page on a folder whose mode is changed once it is open, asked by a user for whom modes count."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        monkeypatch.setenv("HOME", name)
        shutil.copy(DEMOS / "slicer.toml", folder)
        for page in opened(folder):
            seen = page.get("/api/knife", params={"file": "slicer.toml"}).json()
            page.headers["x-version"] = seen["version"]
            folder.chmod(request.param)
            os.seteuid(NOBODY if os.geteuid() == 0 else os.geteuid())
            try:
                yield page
            finally:
                os.seteuid(os.getuid())
                folder.chmod(0o755)


ASKED = [("GET", f"/api/{name}", {}) for name in ("knife", "shapes", "fire", "bench", "watch", "draw", "solid")]
WRITES = [
    ("POST", "/api/knives", {"start": "starter_metric", "file": "new.toml"}),
    ("POST", "/api/knives", {"start": "slicer.toml", "file": "new.toml"}),
    ("POST", "/api/edit", {"file": "slicer.toml", "edits": [{"op": "set", "path": ["title"], "value": "New"}]}),
    ("POST", "/api/text", {"file": "slicer.toml", "text": "title = 'New'"}),
    ("POST", "/api/note", {"file": "slicer.toml", "words": "after 1 thickness 12 mm"}),
]


def ask(page: TestClient, method: str, address: str, more: dict[str, Any]) -> Any:
    given = {"file": "slicer.toml", "version": page.headers["x-version"], **more}
    return page.request(method, address, **{"params" if method == "GET" else "json": given})


@pytest.mark.skipif(not hasattr(os, "seteuid"), reason="there are no modes there")
@pytest.mark.parametrize("locked", [0o000], indirect=True, ids=oct)
@pytest.mark.parametrize(("method", "address", "more"), [*ASKED, ("GET", "/api/folder", {}), *WRITES])
def test_a_folder_that_may_not_be_read_is_told_so(locked: TestClient, method: str, address: str, more: Any) -> None:
    told = refused(ask(locked, method, address, more))
    assert "Permission denied" in told


@pytest.mark.skipif(not hasattr(os, "seteuid"), reason="there are no modes there")
@pytest.mark.parametrize("locked", [0o555], indirect=True, ids=oct)
@pytest.mark.parametrize(("method", "address", "more"), WRITES)
def test_a_folder_that_may_not_be_written_is_told_so(locked: TestClient, method: str, address: str, more: Any) -> None:
    refused(ask(locked, method, address, more))
