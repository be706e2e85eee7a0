"""What recipes may be called: whatever a smith's machine lets a file be called, but for what hides, leads elsewhere or cannot be read."""

from __future__ import annotations

import shutil
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from render.page.app import application
from render.page.guard import Keys
from render.page.house import House
from render.page.serve import house_of

DEMOS = Path(__file__).parent.parent / "demo_billets"
DECOMPOSED = unicodedata.normalize("NFD", "Küchenmesser für René.toml")
CALLED = [
    "knife (1).toml",
    "smith's.toml",
    DECOMPOSED,
    "petty, no. 2 & 3 [old].toml",
    "100 %.toml",
    "knife #1.toml",
    "包丁.toml",
    "-o.toml",
    "a..b.toml",
    "~draft.toml",
    "🔪.toml",
]


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.setenv("HOME", str(tmp_path))
    keys = Keys(hosts=frozenset({"testserver"}))
    with TestClient(application(House(tmp_path), keys), raise_server_exceptions=False) as client:
        client.get("/", params={"token": keys.key})
        yield client


def listed(page: TestClient) -> list[str]:
    return [one["file"] for one in page.get("/api/folder").json()["knives"]]


def said(answer: Any) -> str:
    """The one sentence of a refusal."""
    assert answer.status_code == 422, answer.text
    (error,) = answer.json()["errors"]
    return str(error["message"])


@pytest.mark.parametrize("name", CALLED)
def test_a_recipe_is_listed_opened_changed_and_drawn(page: TestClient, tmp_path: Path, name: str) -> None:
    shutil.copy(DEMOS / "slicer.toml", tmp_path / name)
    assert listed(page) == [name] and house_of(tmp_path / name).opened == name
    seen = page.get("/api/knife", params={"file": name}).json()
    edits = [{"op": "set", "path": ["title"], "value": "Called oddly"}]
    saved = page.post("/api/edit", json={"file": name, "version": seen["version"], "edits": edits})
    assert saved.json()["file"] == name and 'title = "Called oddly"' in (tmp_path / name).read_text()
    assert page.post("/api/undo", json={"file": name, "version": saved.json()["version"]}).status_code == 200
    assert (tmp_path / name).read_text() == (DEMOS / "slicer.toml").read_text()
    drawn = page.get("/api/draw", params={"file": name, "view": "right", "width": "300"})
    assert drawn.headers["content-type"] == "image/png"


@pytest.mark.parametrize("name", CALLED)
def test_a_new_knife_may_be_called_so(page: TestClient, tmp_path: Path, name: str) -> None:
    assert page.post("/api/knives", json={"start": "starter_metric", "file": name}).json()["file"] == name
    assert listed(page) == [name] and (tmp_path / name).is_file()


@pytest.mark.parametrize(
    "name",
    [
        *(".toml", ".hidden.toml", "../up.toml", "in/side.toml", "in\\side.toml", "..\\up.toml", "/etc/passwd.toml"),
        *("line\nbreak.toml", "tab\t.toml", "null\0.toml", "esc\x1b.toml", "c1\x85.toml", "line\u2028.toml"),
        *("backwards\u202elmot.toml", "knife.txt", "knife", "", "knife.toml.bak"),
    ],
    ids=ascii,
)
def test_what_hides_or_leads_elsewhere_is_no_name(page: TestClient, tmp_path: Path, name: str) -> None:
    assert "wanted a name such as knife.toml" in said(page.get("/api/knife", params={"file": name}))
    asked = {"start": "starter_metric", "file": name}
    assert "wanted a name such as knife.toml" in said(page.post("/api/knives", json=asked))
    assert list(tmp_path.rglob("*.toml")) == []


@pytest.mark.parametrize("name", [b".hidden.toml", b"back\\slash.toml", b"esc\x1b.toml", b"no \xff letter.toml"])
def test_a_file_that_cannot_be_named_safely_is_not_listed_and_hides_no_other(
    page: TestClient, tmp_path: Path, name: bytes
) -> None:
    """A name is bytes to Linux; 0xff stands in no text (RFC 3629)."""
    shutil.copy(DEMOS / "slicer.toml", tmp_path)
    try:
        shutil.copy(DEMOS / "slicer.toml", bytes(tmp_path) + b"/" + name)
    except OSError:
        pytest.skip("this disk holds no such name")
    assert listed(page) == ["slicer.toml"]


@pytest.mark.parametrize(
    "name",
    [
        *("CON.toml", "con.toml", "Nul.toml", "prn.toml", "AUX.toml", "com1.toml", "COM9.old.toml", "lpt3.toml"),
        *("CON .toml", "COM¹.toml", "conin$.toml"),
    ],
)
def test_a_new_knife_is_not_called_as_a_device_of_windows(page: TestClient, tmp_path: Path, name: str) -> None:
    assert "device to Windows" in said(page.post("/api/knives", json={"start": "starter_metric", "file": name}))
    assert listed(page) == []


@pytest.mark.parametrize("name", ["console.toml", "null.toml", "com10.toml", "lpt.toml", "my con.toml", "icon.toml"])
def test_a_name_that_only_looks_like_a_device_is_taken(page: TestClient, name: str) -> None:
    assert page.post("/api/knives", json={"start": "starter_metric", "file": name}).status_code == 200


@pytest.mark.parametrize("sign", '<>:"|?*')
def test_a_new_knife_is_called_so_that_it_can_be_carried_to_windows(page: TestClient, sign: str) -> None:
    asked = {"start": "starter_metric", "file": f"a{sign}b.toml"}
    assert f"found {sign} in" in said(page.post("/api/knives", json=asked))
