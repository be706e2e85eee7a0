"""Files from another machine: line ends, byte order marks, backslashes, capitals and a spreadsheet's semicolons."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from billet.base.errors import InputError
from billet.base.safe_files import named_file, text_like
from billet.blade import read_points
from billet.cli import app
from billet.grinding import read_stations
from billet.ledger.recipe_warnings import ready_bar
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import load
from render.page.history import History, version_of

DEMOS = Path(__file__).parents[1] / "demo_billets"
SLICER = (DEMOS / "slicer.toml").read_text("utf-8")
POINTS = "x mm,y mm\n0,0\n0,34\n200,30\n280,0\n"
BOM = b"\xef\xbb\xbf"


def foreign(text: str) -> bytes:
    """A text as an editor of another machine leaves it."""
    return BOM + text.replace("\n", "\r\n").encode()


@pytest.fixture
def forge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with spaces and umlauts, and the outline in a folder beside it."""
    place = tmp_path / "Schmiede Übung" / "Rezepte 1"
    place.mkdir(parents=True)
    (place.parent / "Klingen").mkdir()
    (place.parent / "Klingen" / "Filet.csv").write_bytes(foreign(POINTS))
    monkeypatch.chdir(place)
    return place


NAMES = {
    "slashes": '"../Klingen/Filet.csv"',
    "backslashes, doubled": r'"..\\Klingen\\Filet.csv"',
    "backslashes, plain quotes": r"'..\Klingen\Filet.csv'",
    "capitals": '"../Klingen/FILET.CSV"',
    "both": r"'..\Klingen\filet.CSV'",
}


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_an_outline_is_found_however_its_name_is_written(name: str, forge: Path) -> None:
    (forge / "k.toml").write_bytes(foreign(SLICER.replace('shape = "slicer"', f"points = {name}")))
    assert np.ptp(blade_of(load(forge / "k.toml")).outline(), axis=1) == pytest.approx((0.280, 0.034))


def test_a_relief_is_found_by_backslashes(forge: Path) -> None:
    Image.open(DEMOS / "scales.png").save(forge.parent / "Klingen" / "Scales.png")
    text = (DEMOS / "relief.toml").read_text("utf-8")
    assert 'image = "scales.png"' in text
    (forge / "k.toml").write_text(text.replace('"scales.png"', r"'..\Klingen\scales.png'"), "utf-8")
    here, there = (ready_bar(run(load(path))) for path in (forge / "k.toml", DEMOS / "relief.toml"))
    assert (here.length, here.width, here.thickness) == (there.length, there.width, there.thickness)


def test_of_two_names_that_differ_in_capitals_none_is_guessed(tmp_path: Path) -> None:
    for name in ("a.csv", "A.csv"):
        (tmp_path / name).write_text(POINTS)
    assert named_file(tmp_path, "A.csv") == tmp_path / "A.csv"
    assert not named_file(tmp_path, "a.CSV").exists()


def test_a_backslash_in_double_quotes_is_told_with_its_remedy(forge: Path) -> None:
    """TOML v1.0.0, section String: in basic strings a backslash begins an escape, and unknown ones are errors."""
    (forge / "k.toml").write_text(SLICER.replace('shape = "slicer"', r'points = "..\Klingen\Filet.csv"'), "utf-8")
    with pytest.raises(InputError, match=r"k\.toml line 57: a backslash in quotes .* write folders with slashes"):
        load(forge / "k.toml")


def test_a_recipe_asked_for_in_capitals_is_offered(forge: Path) -> None:
    (forge / "knife.toml").write_text(SLICER, "utf-8")
    with pytest.raises(InputError, match=r"there is knife\.toml"):
        load(forge / "KNIFE.TOML")


@pytest.mark.parametrize("written", [str.encode, foreign, lambda text: text.replace("\n", "\r\n").encode()])
def test_an_edit_keeps_line_ends_and_mark(written: Callable[[str], bytes], forge: Path) -> None:
    path = forge / "k.toml"
    path.write_bytes(written(SLICER))
    history = History(forge)
    try:
        now = history.text(path)
        changed = now.replace("280 mm", "282 mm")
        history.save(path, version_of(now), changed)
        assert path.read_bytes() == written(changed)
        history.step(path, version_of(changed), -1)
        assert path.read_bytes() == written(SLICER)
    finally:
        history.close()


def test_a_text_where_nothing_was_is_written_plain(tmp_path: Path) -> None:
    assert text_like(tmp_path / "new.toml", "a = 1\r\nb = 2\n") == b"a = 1\nb = 2\n"


def test_a_knife_started_again_keeps_line_ends_and_finds_its_files(forge: Path) -> None:
    (forge / "k.toml").write_bytes(foreign(SLICER.replace('shape = "slicer"', f"points = {NAMES['both']}")))
    result = CliRunner().invoke(app, ["again", "k.toml", "../k2.toml"])
    assert result.exit_code == 0, result.output
    text = (forge.parent / "k2.toml").read_bytes()
    assert text.count(b"\n") == text.count(b"\r\n") > 50
    assert np.ptp(blade_of(load(forge.parent / "k2.toml")).outline()[0]) == pytest.approx(0.280)


@pytest.mark.parametrize(
    "text", ["x mm;y mm\n0;0\n0;34\n200,5;30\n280;0\n", "x mm\ty mm\n0\t0\n0\t34\n200.5\t30\n280\t0\n"]
)
def test_points_are_read_as_a_spreadsheet_leaves_them(text: str, tmp_path: Path) -> None:
    (tmp_path / "o.csv").write_bytes(foreign(text))
    found = read_points(tmp_path / "o.csv")
    assert (found.length, found.height) == pytest.approx((0.280, 0.034))
    assert (0.2005, 0.030) in [pytest.approx(point) for point in found.spine]


STATIONS = {
    "commas": "position,place,thickness,bow,note\n50 mm,spine,2.65 mm,0.1 mm left,first\n",
    "semicolons": "position;place;thickness;bow;note\n50 mm;spine;2,65 mm;0,1 mm left;first, cold\n",
    "semicolons, units above": "position mm;place;thickness mm;bow mm\n50;spine;2,65;0,1 left\n",
    "tabs": "position\tplace\tthickness\tbow\n50 mm\tspine\t2.65 mm\t0.1 mm left\n",
}


@pytest.mark.parametrize("text", STATIONS.values(), ids=STATIONS)
def test_stations_are_read_as_a_spreadsheet_leaves_them(text: str, tmp_path: Path) -> None:
    (tmp_path / "s.csv").write_bytes(foreign(text))
    (found,) = read_stations(tmp_path / "s.csv")
    assert (found.position, found.thickness) == pytest.approx((0.050, 0.00265))


def test_a_backup_that_an_editor_has_saved_is_restored(forge: Path) -> None:
    shutil.copy(DEMOS / "slicer.toml", forge)
    said = ["record", "add", "slicer.toml", "after", "2", "thickness", "12,1", "mm", "note", "kalte Ränder"]
    for words in (said, ["record", "backup", "--text", "b.jsonl"]):
        assert CliRunner().invoke(app, words).exit_code == 0
    (forge / "b.jsonl").write_bytes(foreign((forge / "b.jsonl").read_text("utf-8")))
    result = CliRunner().invoke(app, ["record", "restore", "b.jsonl", "--bench", "again.sqlite"])
    assert result.exit_code == 0, result.output
    told = CliRunner().invoke(app, ["record", "list", "--bench", "again.sqlite"]).output
    assert "thickness 12.10 mm | kalte Ränder" in " ".join(told.split())
