"""Days at the grinder: every figure here is a subtraction or a division done by hand beside it."""

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from billet.cli import app
from billet.record.entry import Entry, Place
from billet.record.grind_days import Spot, beside, last_day, measures_of, spot_name

DEMO = Path(__file__).parent.parent / "demo_billets" / "chef.toml"
DAY = Entry("Slicer", "2024-03-02T09:14:05.120+00:00", 60, place=Place("", 9, "thin"), source="grind", id=1)


def _day(*spots: Spot) -> Entry:
    return Entry(**{**vars(DAY), "measures": measures_of(spots)})


def _spot(thickness: float, bow: float | None = None, x: float = 0.05) -> Spot:
    return Spot(spot_name("spine", x, 0.0), x, thickness * 1e-3, 2.1e-3, None if bow is None else bow * 1e-3)


@pytest.mark.parametrize(
    ("before", "now", "said"),
    [
        # 3.0 - 2.7 = 0.3 off; 2.7 - 2.1 = 0.6 left; 0.6 / 0.3 = 2 sessions
        (_spot(3.0), _spot(2.7), ["0.30 mm came off at 50.0 mm (spine)", "0.60 mm still to go", "about 2 more sessions"]),
        (_spot(3.0), _spot(2.1), ["0.90 mm came off"]),
        (_spot(3.0), _spot(2.98), ["nothing has come off"]),
        (_spot(3.0, -0.2), _spot(2.7, -0.6), ["the bow grows at 50.0 mm: 0.20 mm left, now 0.60 mm left"]),
        (_spot(3.0, -0.6), _spot(2.7, -0.2), ["the bow goes back"]),
        (_spot(3.0, -0.6), _spot(2.7, 0.3), ["has changed sides at 50.0 mm: 0.60 mm left, now 0.30 mm right"]),
        (_spot(3.0, 0.2), _spot(2.7, 0.25), ["the bow is as it was"]),
    ],
)  # fmt: skip
def test_today_is_set_beside_the_day_before(before: Spot, now: Spot, said: list[str]) -> None:
    text = " | ".join(one.say("metric") for one in beside(_day(before), [now]))
    assert all(words in text for words in said), text
    assert ("still to go" in text) == (before.thickness - now.thickness > 5e-5 and now.thickness > 2.15e-3)


def test_other_stations_are_not_compared() -> None:
    assert beside(_day(_spot(3.0)), [_spot(2.7, x=0.08)]) == ()


def test_the_slowest_place_sets_the_pace() -> None:
    # 0.1 of 0.7 left at 50 mm: 7 sessions; 0.5 of 0.5 at 80 mm: one.
    before = _day(_spot(2.9), _spot(3.1, x=0.08))
    text = " | ".join(one.say("metric") for one in beside(before, [_spot(2.8), _spot(2.6, x=0.08)]))
    assert "about 7 more sessions" in text
    assert "0.50 mm came off at 80.0 mm (spine), 0.10 mm at 50.0 mm (spine)" in text


def test_only_the_grinders_own_notes_are_days() -> None:
    other = Entry(**{**vars(DAY), "source": "", "id": 2})
    rough = Entry(**{**vars(DAY), "place": Place("", 5, "rough grind"), "id": 3})
    assert last_day([DAY, other, rough], "thin") == DAY
    assert last_day([other], "thin") is None


def test_grind_writes_its_stations_down_and_tells_what_changed(tmp_path: Path) -> None:
    shutil.copy(DEMO, tmp_path / "chef.toml")

    def grind(*words: str) -> dict:
        result = CliRunner().invoke(app, ["grind", str(tmp_path / "chef.toml"), "--json", *words])
        assert result.exit_code == 0, result.output
        return json.loads(result.stdout)

    first = grind("--at", "2 in spine 3.1 mm bow 0.2 mm left", "--at", "4 in edge 1 mm")
    assert first["since_last"] == []
    second = grind("--at", "2 in spine 2.9 mm bow 0.5 mm left", "--at", "4 in edge 0.9 mm")
    assert "since" in second["since_last"][0] and "grows" in second["since_last"][-1]
    assert grind("--at", "2 in spine 2.9 mm bow 0.5 mm left", "--at", "4 in edge 0.9 mm")["since_last"] == []
    assert grind("--at", "2 in spine 2.5 mm", "--no-record")["since_last"] != []
    listed = CliRunner().invoke(app, ["record", "list", str(tmp_path / "chef.toml"), "--json"])
    entries = json.loads(listed.stdout)["entries"]
    assert [(one["source"], one["place"]["do"]) for one in entries] == [("grind", "thin")] * 2
    assert entries[0]["measured"] == {"spine.50.8mm_m": 3.1e-3, "bow.50.8mm_m": -0.2e-3, "edge.101.6mm_m": 1e-3}


def test_a_record_that_cannot_be_written_does_not_stop_the_grinder(tmp_path: Path) -> None:
    words = ["grind", str(DEMO), "--at", "2 in spine 3.1 mm", "--bench", str(tmp_path / "nowhere" / "b.sqlite")]
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 0
    assert "not written down" in result.stderr
    assert "Enough metal" in result.stdout
