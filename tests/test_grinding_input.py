"""Stations from files and from the command line: what reads, and one sentence for what does not."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from billet.base.errors import InputError
from billet.blade import Blade, BladeDesign
from billet.grinding import Least, Reading, in_order, make_plan, on_blade, plan_readings, read_stations, read_typed
from billet.grinding.grinding_text import in_words

MM = 1e-3
DEMOS = Path(__file__).parents[1] / "demo_billets"
KNIFE = Blade(BladeDesign(length=0.240, heel_height=0.048))


@pytest.mark.parametrize(
    "text",
    [
        "50 mm spine 3.1 mm bow 0.2 mm left",
        "spine, 3.1 mm thick, 50 mm, 0.2 mm left",
        "bow left 0.2 mm, thickness 3.1 mm, at 50 mm, spine",
        "at the spine 5 cm from the heel, thick 3100 um, bow -0.2 mm",
        "SPINE 3.1mm 50mm bow 0.2mm LEFT",
    ],
)
def test_typed_words_read_in_any_order(text: str) -> None:
    """From the meaning of the words."""
    found = read_typed(text)
    assert (found.position, found.place, found.thickness) == pytest.approx((0.050, "spine", 0.0031))
    assert found.bow == pytest.approx(-0.2e-3)


@pytest.mark.parametrize(
    ("text", "position", "place", "thickness", "bow"),
    [
        ("heel edge 0.9 mm straight", 0.0, "edge", 0.9e-3, 0.0),
        ("2 in spine 1/8 in", 0.0508, "spine", 3.175e-3, None),
        ("2-3/4 in spine 140 thou bow 8 thou right", 0.06985, "spine", 3.556e-3, 0.2032e-3),
        ("120 mm, 20 mm up, 2.2 mm", 0.120, 0.020, 2.2e-3, None),
        ("120 mm, 20 mm above the edge, 2.2 mm thick", 0.120, 0.020, 2.2e-3, None),
        ("at 5 mm, thick 6 mm, spine", 0.005, "spine", 6e-3, None),
        ('4 3/4" edge 28 thou', 0.12065, "edge", 0.7112e-3, None),
    ],
)
def test_typed_stations_read_in_any_unit(
    text: str, position: float, place: object, thickness: float, bow: float | None
) -> None:
    """Conversions by hand: 1 in = 25.4 mm."""
    found = read_typed(text)
    assert (found.position, found.thickness) == pytest.approx((position, thickness))
    assert found.place == (pytest.approx(place) if isinstance(place, float) else place)
    assert found.bow == (None if bow is None else pytest.approx(bow))


TYPED_FAULTS = {
    "unknown word": ("50 mm spin 3.1 mm", ["spin", "did you mean", "spine"]),
    "no place": ("50 mm 3.1 mm", ["spine, edge, or a height"]),
    "both places": ("50 mm 3.1 mm spine edge", ["spine, edge, or a height"]),
    "no thickness": ("50 mm spine", ["found 1 lengths", "position and thickness"]),
    "three lengths": ("50 mm spine 3.1 mm 2 mm", ["found 3 lengths"]),
    "cannot be told": ("5 mm spine 3.1 mm", ["which of", "3.1 mm", "5 mm", "at"]),
    "side without bow": ("50 mm spine 3.1 mm left", ["3.1 mm", "position"]),
    "negative and a side": ("50 mm spine 3.1 mm bow -0.2 mm left", ["bow goes to one side"]),
    "comma in a number": ("50 mm spine 3,1 mm", ["comma"]),
    "no unit": ("50 spine 3.1 mm", ["50"]),
    "whose height": ("2 in up 20 mm 2.2 mm", ["up", "comma between"]),
    "twice": ("at 50 mm at 60 mm spine 3 mm", ["two lengths", "position"]),
    "negative thickness": ("50 mm spine thick -3.1 mm", ["thickness is -3.1 mm", "measure it again"]),
    "nothing": ("", ["found 0 lengths"]),
}


@pytest.mark.parametrize("case", TYPED_FAULTS, ids=list(TYPED_FAULTS))
def test_a_typed_station_that_cannot_be_read_is_told_in_one_sentence(case: str) -> None:
    """Ours: no outside source."""
    text, words = TYPED_FAULTS[case]
    with pytest.raises(InputError) as fault:
        read_typed(text)
    assert all(word in str(fault.value) for word in words), str(fault.value)
    assert "\n" not in str(fault.value)


CSV = "position,place,thickness,bow\n0 mm,spine,3.1 mm,straight\n70 mm,edge,30 thou,0.1 mm left\n140 mm,20 mm,2 mm,\n"
WITH_UNITS = "position mm,place,thickness mm,bow mm\n0,spine,3.1,0\n70,edge,30 thou,0.1 left\n140,20 mm,2,\n"
TOML = """
[[station]]
position = "0 mm"
place = "spine"
thickness = "3.1 mm"
bow = "straight"
[[station]]
position = "70 mm"
place = "edge"
thickness = "30 thou"
bow = "0.1 mm left"
[[station]]
position = "140 mm"
place = "20 mm up"
thickness = "2 mm"
"""


@pytest.mark.parametrize(
    ("name", "text"), [("a.csv", CSV), ("a.csv", WITH_UNITS), ("a.toml", TOML), ("a.csv", "\ufeff" + CSV)]
)
def test_files_of_stations_read_alike(tmp_path: Path, name: str, text: str) -> None:
    """Conversion by hand: 30 thou are 0.762 mm."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    found = read_stations(path)
    assert [r.position for r in found] == pytest.approx([0, 0.070, 0.140])
    assert [r.place for r in found] == ["spine", "edge", pytest.approx(0.020)]
    assert [r.thickness for r in found] == pytest.approx([3.1e-3, 0.762e-3, 2e-3])
    assert [r.bow for r in found] == [0.0, pytest.approx(-0.1e-3), None]


FILE_FAULTS = {
    "missing column": ("a.csv", "position,place,bow\n0 mm,spine,0\n", ["line 1", 'no column "thickness"']),
    "unknown column": ("a.csv", "position,place,thicknes\n", ["line 1", "thicknes", "did you mean", "thickness"]),
    "column twice": ("a.csv", "position,position,place,thickness\n", ["twice"]),
    "bare number": ("a.csv", "position,place,thickness\n50,spine,3 mm\n", ["line 2", "position", "without a unit"]),
    "wrong dimension": ("a.csv", "position,place,thickness\n50 mm,spine,3 kg\n", ["line 2", "thickness", "3 kg"]),
    "negative": ("a.csv", "position,place,thickness\n50 mm,spine,-3 mm\n", ["line 2", "negative"]),
    "no thickness": ("a.csv", "position,place,thickness\n50 mm,spine,0 mm\n", ["line 2", "more than nothing"]),
    "decimal comma": ("a.csv", "position,place,thickness\n50 mm,spine,3,1 mm\n", ["line 2", "comma"]),
    "unknown place": ("a.csv", "position,place,thickness\n50 mm,sipne,3 mm\n", ["line 2", "did you mean", "spine"]),
    "bow without unit": ("a.csv", "position,place,thickness,bow\n5 mm,spine,3 mm,2 left\n", ["line 2", "bow", "unit"]),
    "bow past sense": ("a.csv", "position,place,thickness,bow\n5 mm,spine,3 mm,2 m\n", ["line 2", "check the unit"]),
    "empty": ("a.csv", "", ["empty", "position,place,thickness"]),
    "no toml": ("a.toml", "[[station]\n", ["no TOML", "[[station]]"]),
    "toml without stations": ("a.toml", "", ["[[station]]"]),
    "toml bare number": ("a.toml", "[[station]]\nposition = 50\n", ["station 1", "position", "without a unit"]),
    "toml missing": ("a.toml", '[[station]]\nposition = "5 mm"\nplace = "edge"\n', ["station 1", "no thickness"]),
}


@pytest.mark.parametrize("case", FILE_FAULTS, ids=list(FILE_FAULTS))
def test_a_file_that_cannot_be_read_is_told_in_one_sentence(tmp_path: Path, case: str) -> None:
    """Ours: no outside source."""
    name, text, words = FILE_FAULTS[case]
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as fault:
        read_stations(path)
    assert all(word in str(fault.value) for word in words), str(fault.value)
    assert "\n" not in str(fault.value)


PLACING_FAULTS = {
    "past the tip": ([Reading(0.241, "spine", 3 * MM)], ["off the blade", "241 mm", "240 mm"]),
    "behind the heel": ([Reading(-0.010, "spine", 3 * MM)], ["off the blade", "-10 mm"]),
    "over the spine": ([Reading(0.050, 0.060, 3 * MM)], ["off the blade", "60 mm", "above the edge"]),
    "twice": (
        [Reading(0.050, "spine", 3 * MM), Reading(0.050, "spine", 4 * MM)],
        ["twice", "3 mm", "4 mm", "keep one"],
    ),
    "none": ([], ["no station", "--at"]),
}


@pytest.mark.parametrize("case", PLACING_FAULTS, ids=list(PLACING_FAULTS))
def test_a_station_that_does_not_fit_the_blade_is_told_in_one_sentence(case: str) -> None:
    """Ours: no outside source."""
    readings, words = PLACING_FAULTS[case]
    with pytest.raises(InputError) as fault:
        on_blade(readings, KNIFE)
    assert all(word in str(fault.value) for word in words), str(fault.value)


def test_readings_out_of_order_are_put_in_order_and_it_can_be_told() -> None:
    """From the meaning: the readings of one place should run one way."""
    readings = [Reading(x * MM, "spine", 3 * MM) for x in (0, 140, 70)]
    assert [s.x for s in on_blade(readings, KNIFE)] == pytest.approx([0, 0.070, 0.140])
    assert not in_order(readings)
    assert in_order([*readings[:2], Reading(0.050, "edge", MM), Reading(0.020, "edge", MM)])
    told = [n.say() for n in plan_readings(readings, KNIFE).notes]
    assert any("not in order" in sentence for sentence in told)


def test_a_blade_thinner_than_its_target_everywhere_is_refused() -> None:
    """Grinding only takes away."""
    stations = on_blade([Reading(0.0, "spine", 2 * MM), Reading(0.120, "spine", 1 * MM)], KNIFE)
    with pytest.raises(
        InputError, match=r"every station is already thinner than its target to finish.*2\.00 mm, wanted 2\.60 mm"
    ):
        make_plan(stations, KNIFE)


def test_a_reading_in_the_other_system_is_shown_both_ways() -> None:
    """By hand: 122 thou are 3.0988 mm; less 2.6 mm wanted, half of 0.5 mm."""
    plan = make_plan(on_blade([read_typed("heel spine 122 thou straight")], KNIFE), KNIFE)
    assert (
        in_words(plan.stations[0], "metric")
        == "heel spine: 3.10 mm (122 thou) now, 2.60 mm wanted: 0.50 mm off, 0.25 mm a side"
    )


@pytest.mark.parametrize("grit", [0, 12, 5000])
def test_a_grit_nobody_grinds_with_is_refused(grit: float) -> None:
    """Ours: the table of grains runs from 24 to 2500."""
    with pytest.raises(InputError, match="24 to 2500"):
        Least(grit=grit)


def command(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the command as its own program; the demos beside it are to keep no record."""
    program = (
        "import sys, typer\nfrom billet.cli.grind import grind\nfrom billet.base.errors import InputError\n"
        "app = typer.Typer(pretty_exceptions_enable=False)\napp.command('grind')(grind)\n"
        "try:\n    app()\nexcept InputError as fault:\n    sys.exit(f'billet: {fault}')\n"
    )
    return subprocess.run(
        [sys.executable, "-c", program, *words, "--no-record"], capture_output=True, text=True, check=False
    )


def test_the_demo_is_planned_printed_and_drawn(tmp_path: Path) -> None:
    """The words every printed result must carry: from the rules on cautions and burnt edges."""
    picture = tmp_path / "sheet.png"
    demo = [str(DEMOS / "slicer.toml"), str(DEMOS / "slicer.stations.csv")]
    done = command(*demo, "--grit", "120", "--picture", str(picture), "--full")
    assert done.returncode == 0, done.stderr
    for words in (
        "file-test, or harden again",
        "No colour does not prove",
        "respirator",
        "never says that a weld is sound",
    ):
        assert words in " ".join(done.stdout.split())
    assert picture.read_bytes().startswith(b"\x89PNG")
    again = command(*demo, "--picture", str(picture))
    assert again.returncode == 1
    assert "--force" in again.stderr


def test_json_is_in_metres_under_the_agreed_keys() -> None:
    """By hand on the slicer: 3.2 mm now, 2.2 wanted, 1.0 off; the middle 0.1 mm left of the line at the heel."""
    done = command(
        str(DEMOS / "slicer.toml"), "--at", "heel spine 3.2 mm bow 0.1 mm left", "--least", "0.1 mm", "--json"
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    station = told["stations"][0]
    agreed = ("position_m", "measured_m", "target_m", "remove_left_m", "remove_right_m")
    assert [station[key] for key in agreed] == pytest.approx([0.0, 3.2e-3, 2.2e-3, 0.6e-3, 0.4e-3])
    assert station["place"] == "spine"
    assert station["warnings"] == []
    assert told["cautions"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--at", "heel spine 3 mm", "--least", "-1 mm"], "--least"),
        (["--at", "heel spine 3 mm", "--scale", "3"], "--scale"),
        (["--at", "heel spine 1 mm"], "thinner than its target"),
        (["nowhere.csv"], "nowhere.csv"),
        ([], "no station"),
    ],
)
def test_the_command_leaves_with_one_sentence(words: list[str], told: str) -> None:
    """Ours: exit code 1, one sentence, no traceback."""
    done = command(str(DEMOS / "slicer.toml"), *words)
    assert done.returncode == 1
    assert told in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert done.stdout == ""
