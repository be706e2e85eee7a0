"""What a tired hand or a hostile file writes: one sentence with its line each, never a traceback, never a guess."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from billet.base.errors import InputError
from billet.grinding.station_files import read_stations
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.models import schema
from billet.recipe.read import load
from render.request import Request
from render.vary import sheet
from tests.test_bad_input import DRAW, GOOD

RESTACK = 'do = "restack"\npieces = 2\n'
WELD = 'weld = { temperature = "1150 C", soak = "8 min" }\n'


def refused(text: str, folder: Path) -> str:
    """What is said of a recipe that cannot be used."""
    file = folder / "knife.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        run(load(file))
    return str(caught.value)


def step(text: str) -> str:
    """The good recipe with one more step before its blade."""
    return GOOD.replace("[blade]", f"[[bar.step]]\n{text}\n[blade]")


# the text put into the good recipe, the line named, the words said
CASES = {
    "a weld inside a restack without a unit": (step(RESTACK + "weld = { temperature = 1150, soak = \"8 min\" }"), 21, "temperature: found 1150"),
    "half of its units": (step(RESTACK + 'weld = { temperature = "1150 C", soak = 600 }'), 21, "soak: found 600"),
    "half of one": (step(RESTACK + 'weld = { temperature = "1150 C" }'), 21, '"soak" is missing'),
    "a misspelt key in one": (step(RESTACK + 'weld = { temperature = "1150 C", temprature = "1150 C", soak = "8 min" }'), 21, 'mean "temperature"'),
    "a draw inside one without sizes": (step(RESTACK + WELD + 'draw = { temperature = "1100 C", soak = "3 min" }'), 22, "give two of"),
    "a draw called a weld": (step(RESTACK + 'weld = { do = "draw", temperature = "1150 C", soak = "8 min" }'), 21, "wanted 'weld'"),
    "a billion restacks": (step(RESTACK + WELD + "times = 1000000000"), 22, "50 or less"),
    "a million heats": (GOOD.replace('soak = "8 min"', 'soak = "8 min"\nheats = 1000000'), 12, "1000 or less"),
    "a spacer of unknown steel": (step(RESTACK + 'spacer = "15N21 0.8 mm"'), 18, '"15N20"'),
    "a spacer without a unit": (step(RESTACK + 'spacer = "15N20 0.8"'), 18, "without a unit"),
    "a cap without a unit": (GOOD.replace("repeat = 4", 'repeat = 4\ncap = "1084 3"'), 8, "without a unit"),
    "a join of nothing": (GOOD + '[[bar]]\nname = "b"\njoin = []\nas = "layers"\n', 21, "join is empty"),
    "a join turned oddly": (
        GOOD + '[[bar]]\nname = "b"\njoin = [{ bar = "billet", turn = "round" }]\nas = "layers"\n', 23, "'end for end'"),
    "a join of a number": (GOOD + '[[bar]]\nname = "b"\njoin = [3]\nas = "layers"\n', 23, "wanted a table"),
    "a bar as long as the world": (GOOD.replace('length = "120 mm"', 'length = "1e30 m"'), 5, "at most 10 km"),
    "a heat past melting": (GOOD.replace("1150 C", "9000 F"), 10, "at most 2000 C"),
    "a year in the fire": (GOOD.replace("8 min", "8760 h"), 11, "at most 1000 h"),
    "a plate of atoms": (GOOD.replace("1084 3 mm", "1084 1e-9 mm"), 6, "between 1 µm and 1 m"),
    "a plate as high as a house": (GOOD.replace("1084 3 mm", "1084 3 m"), 6, "between 1 µm and 1 m"),
    "a negative seed": (GOOD.replace("repeat = 4", "repeat = 4\nseed = -1"), 8, "0 or more"),
    "a negative seed of blows": (step('do = "hammer"\nmark = "9 mm"\ndepth = "0.3 mm"\nseed = -4'), 22, "0 or more"),
    "a ladder finer than dust": (step('do = "ladder"\npitch = "0.001 mm"\ngroove = "0.001 mm"\ndepth = "1 mm"'), 18, "larger or further"),
    "a million raindrops": (step('do = "raindrop"\nacross = "5 mm"\ndepth = "1 mm"\nspacing = "0.1 mm"'), 18, "larger or further"),
    "blows like sand": (step('do = "hammer"\nmark = "0.1 mm"\ndepth = "0.01 mm"'), 18, "larger or further"),
    "turns in words": (step('do = "twist"\nturns = "3"'), 20, "turns"),
    "a bar without a name": (GOOD.replace('name = "billet"', 'name = ""'), 3, "at least 1 letter"),
    "control characters": (GOOD.replace("test knife", "test\\u001b[31m knife"), 1, "control character"),
    "a key as long as a book": ("k" * 5000 + " = 1\n" + GOOD, 1, "I do not know the key"),
    "a blade as long as a house": (GOOD.replace('length = "210 mm"', 'length = "40 m"'), 18, "at most 2 m"),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_it_is_refused_in_one_sentence_with_its_line(name: str, tmp_path: Path) -> None:
    text, line, words = CASES[name]
    assert text != GOOD
    said = refused(text, tmp_path)
    assert f"knife.toml line {line}: " in said
    assert words in said
    assert "\n" not in said
    assert len(said) < 700


def test_a_cycle_inside_a_restack_is_the_same_as_its_steps_written_out(tmp_path: Path) -> None:
    """Kelvin and seconds may not slip in, and nothing else may change."""
    file = tmp_path / "knife.toml"
    draw = "draw = {" + DRAW.replace('do = "draw"', "").strip().replace("\n", ", ").replace("5 mm", "4 mm") + "}\n"
    file.write_text(step(RESTACK + WELD + draw))
    inside = run(load(file)).last
    out = (
        RESTACK
        + '[[bar.step]]\ndo = "weld"\ntemperature = "1150 C"\nsoak = "8 min"\n[[bar.step]]\n'
        + DRAW.replace("5 mm", "4 mm")
    )
    file.write_text(step(out))
    apart = run(load(file)).last
    assert inside.length == pytest.approx(apart.length, rel=1e-12)
    assert inside.mass == pytest.approx(apart.mass, rel=1e-12)


def test_the_schema_knows_what_a_restack_may_carry() -> None:
    """An editor offers the keys of the weld and the draw inside a restack, and both ways of naming a bar in a join."""
    known = schema()["$defs"]
    assert "temperature" in known["Weld"]["properties"]
    assert any("Weld" in str(one) for one in known["Restack"]["properties"]["weld"]["anyOf"])
    assert "string" in str(known["BarTable"]["properties"]["join"])


def told(*words: str, cwd: Path, stdout: int = subprocess.PIPE) -> tuple[int, str]:
    """Exit code and standard error of a command."""
    done = subprocess.run(
        [sys.executable, "-m", "billet.cli", *words],
        cwd=cwd,
        stdout=stdout,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    return done.returncode, done.stderr


@pytest.mark.parametrize(
    ("options", "words"),
    [
        pytest.param(["-o", "knife.toml", "--force"], "ending in .png", id="a picture over the recipe"),
        pytest.param(["-o", "knife.jpg"], "ending in .png", id="another kind of picture"),
        pytest.param(["-o", "a" * 300 + ".png"], "cannot be read or written", id="too long a name"),
        pytest.param(["--view", "bar-end", "--after", "²"], "wanted the number of a step", id="a raised figure"),
        pytest.param(["-o", "folder.png"], "folder", id="a folder"),
        pytest.param(
            ["--view", "left", "--crop", "900 mm, 20 mm 9 mm x 5 mm"], "beside all", id="a look beside the blade"
        ),
        pytest.param(["--zoom", "100 mm, 90 mm"], "beside all", id="a look above it"),
    ],
)
def test_a_picture_that_cannot_be_written_leaves_all_as_it_was(options: list[str], words: str, tmp_path: Path) -> None:
    (tmp_path / "knife.toml").write_text(GOOD)
    (tmp_path / "folder.png").mkdir()
    code, said = told("preview", "knife.toml", "--width", "240", *options, cwd=tmp_path)
    assert code == 1
    assert said.count("\n") == 1
    assert words in said
    assert (tmp_path / "knife.toml").read_text() == GOOD
    assert {p.name for p in tmp_path.iterdir()} == {"knife.toml", "folder.png"}


def test_a_full_disk_is_one_sentence(tmp_path: Path) -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("this system has no device that is always full")
    (tmp_path / "knife.toml").write_text(GOOD)
    with full.open("w") as out:
        code, said = told("ledger", "knife.toml", cwd=tmp_path, stdout=out.fileno())
    assert code == 1
    assert "Traceback" not in said


def test_a_sheet_works_with_the_same_shop_as_the_ledger(tmp_path: Path) -> None:
    """Habits in a shop.toml beside the recipe hold for every picture of a sheet too: here the bar does not survive."""
    (tmp_path / "knife.toml").write_text(GOOD)
    (tmp_path / "shop.toml").write_text('scale_per_heat = "30 mm"\n')
    with pytest.raises(InputError, match="nothing is left"):
        run(load(tmp_path / "knife.toml"))
    plain = tmp_path / "alone" / "knife.toml"
    plain.parent.mkdir()
    plain.write_text(GOOD)
    assert sheet(load(plain), "bar.billet.repeat=3,4", Request(width=300)).facts["values"]
    with pytest.raises(InputError, match="nothing is left"):
        sheet(load(tmp_path / "knife.toml"), "bar.billet.repeat=3,4", Request(width=300))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        pytest.param("1150 C", "115 C", "colder than smiths weld", id="a weld with a figure missing"),
        pytest.param("1100 C", "110 C", "below red heat", id="a draw with a figure missing"),
    ],
)
def test_a_heat_with_a_figure_missing_is_doubted(old: str, new: str, words: str, tmp_path: Path) -> None:
    file = tmp_path / "knife.toml"
    for text, doubted in ((GOOD, False), (GOOD.replace(old, new), True)):
        file.write_text(text)
        said = " ".join(n.say() for row in run(load(file)).bars[0].rows for n in row.notes)
        assert (words in said) is doubted


@pytest.mark.parametrize("name", ["/dev/zero", ".", "none.csv"])
def test_what_is_no_file_of_points_is_refused_and_not_read_for_ever(name: str, tmp_path: Path) -> None:
    file = tmp_path / "knife.toml"
    file.write_text(GOOD.replace("[blade]", f'[blade]\npoints = "{name}"'))
    with pytest.raises(InputError, match=r"knife\.toml line 18: .*(cannot be read|is not there)"):
        blade_of(load(file))
    with pytest.raises(InputError, match="cannot be read"):
        read_stations(Path(name))


@pytest.mark.parametrize(
    ("shop", "words"),
    [
        pytest.param("# ours\nkerf = 3\n", "shop.toml line 2: kerf: found 3", id="bare keys"),
        pytest.param('[shop]\nkerf = "3 mm"\nkref = "1 mm"\n', "shop.toml line 3: .*kref.*kerf", id="under a heading"),
        pytest.param('title = "x"\n', "shop.toml line 1: .*title", id="a key of a recipe"),
    ],
)
def test_what_is_wrong_in_the_shop_file_is_told_of_the_shop_file(shop: str, words: str, tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(shop)
    (tmp_path / "knife.toml").write_text(GOOD)
    with pytest.raises(InputError, match=words):
        load(tmp_path / "knife.toml")


@pytest.mark.parametrize("shop", ['kerf = "3 mm"\n', '[shop]\nkerf = "3 mm"\n', ""], ids=["bare", "headed", "empty"])
def test_a_shop_file_may_be_headed_as_the_record_offers_it(shop: str, tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(shop)
    (tmp_path / "knife.toml").write_text(GOOD)
    assert load(tmp_path / "knife.toml").tables.shop.kerf == pytest.approx(3e-3 if shop else 2e-3)
