"""What the page says to a smith: refusals beside their field, steps with their sizes, notes as they are read at the bench, and
whether the bar holds the knife as it is dragged. Figures are checked against the ledger and the recipe, never against the page."""

from __future__ import annotations

import io
import json
import re
import shutil
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from billet.base.errors import InputError
from billet.base.safety import cautions
from billet.ledger.recipe_warnings import holding
from billet.ledger.run import run
from billet.recipe.read import load
from billet.record.store import Bench
from billet.record.take import note_of, read_knife
from billet.record.whose import told_apart
from render.page.edit import edited_data, edited_text
from render.page.house import House
from render.page.refusals import at_the_head, beside, in_the_text
from render.request import chosen_bar

DEMOS = Path(__file__).parent.parent / "demo_billets"


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("slicer.toml", "ladder.toml", "santoku.toml"):
        shutil.copy(DEMOS / name, tmp_path)
    made = House(tmp_path)
    yield made
    made.close()


def edit(house: House, file: str, *edits: dict[str, Any]) -> dict[str, Any]:
    return house.edit({"file": file, "version": house.version({"file": file}), "edits": list(edits)})


def put(path: list[Any], value: Any) -> dict[str, Any]:
    return {"op": "set", "path": path, "value": value}


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (["bar", 0, "stack", 0], "1048 2 mm", 'did you mean "1084"'),
        (["bar", 0, "stack", 0], "1084", "wanted a steel and a thickness"),
        (["bar", 0, "stack", 0], "1084 2", "a number without a unit"),
        (["bar", 0, "cap"], "unobtainium 2 mm", 'I do not know the steel "unobtainium"'),
        (["bar", 0, "stack"], ["1084 2 mm", "unobtainium 2 mm"], 'I do not know the steel "unobtainium"'),
        (["bar", 0, "step", 0, "temperature"], "hot", "a unit without a number"),
        (["shop", "spread"], 3, "Found 3, wanted 1 or less."),
        (["hardening", "hardness"], 90, "Found 90, wanted less than 70."),
    ],
)
def test_what_is_no_plate_and_no_figure_is_refused_on_its_field_and_not_written(
    house: House, path: list[Any], value: Any, said: str
) -> None:
    before = (house.folder.root / "slicer.toml").read_bytes()
    with pytest.raises(InputError) as refused:
        edit(house, "slicer.toml", put(path, value))
    words = str(refused.value)
    assert said in words and ".toml" not in words and not re.search(r"\bline \d|^bar \d", words)
    assert (house.folder.root / "slicer.toml").read_bytes() == before


def test_a_plate_that_came_in_by_another_door_is_shown_as_a_gap(house: House) -> None:
    path = house.folder.root / "slicer.toml"
    first = tomllib.loads(path.read_text())["bar"][0]["stack"][0]
    path.write_text(path.read_text().replace(f'"{first}"', '"unobtainium 2 mm"', 1))
    seen = house.knife({"file": "slicer.toml"})
    gaps = [plate for plate in seen["bars"][0]["plates"] if plate.get("wrong")]
    assert gaps and all(plate["path"] == ["bar", 0, "stack", 0] for plate in gaps)
    assert "unobtainium" in gaps[0]["wrong"] and len(seen["bars"][0]["plates"]) > len(gaps)
    renamed = edit(
        house, "slicer.toml", put(["title"], "Still to be mended")
    )  # what is wrong elsewhere hinders nothing
    assert renamed["title"] == "Still to be mended"


@pytest.mark.parametrize(
    ("message", "key", "field", "head", "text"),
    [
        ('a.toml line 3: bar 1, step 2: soak: found "x", wanted a time.', "soak", 'Found "x", wanted a time.',
         'Step 2: soak: found "x", wanted a time.', 'Line 3: bar 1, step 2: soak: found "x", wanted a time.'),
        ('a b.toml line 3: bar "top" step 2 (draw_out): thickness: too thick', "", "Thickness: too thick",
         "Step 2, draw out: thickness: too thick", 'Line 3: bar "top" step 2 (draw_out): thickness: too thick'),
        ("a.toml line 9: The key \"heel_height\" is missing here.", "x", 'The key "heel_height" is missing here.',
         'Line 9: The key "heel_height" is missing here.', 'Line 9: The key "heel_height" is missing here.'),
        ("most_welds = 12 is the limit; relax it in [shop]", "", "Most welds = 12 is the limit; relax it under Forge, The shop",
         "Most welds = 12 is the limit; relax it under Forge, The shop", "Most_welds = 12 is the limit; relax it in [shop]"),
        ('a.toml line 3: blade: heel_height: found "x", wanted a length.', "heel_height", 'Found "x", wanted a length.',
         'Line 3: blade: heel height: found "x", wanted a length.', 'Line 3: blade: heel_height: found "x", wanted a length.'),
    ],
)  # fmt: skip
def test_a_refusal_is_told_where_it_is_read(message: str, key: str, field: str, head: str, text: str) -> None:
    assert beside(message, key) == field
    assert at_the_head(message, False) == head
    assert in_the_text(message) == text


def test_a_refusal_names_the_bar_where_there_are_several() -> None:
    said = at_the_head('a.toml line 3: bar "core" step 2 (draw): thickness: too thick', True)
    assert said == "Bar core, step 2, draw: thickness: too thick"


def test_a_refusal_of_another_step_keeps_its_place(house: House) -> None:
    path = house.folder.root / "slicer.toml"
    steps = tomllib.loads(path.read_text())["bar"][0]["step"]
    first, last = [k for k, step in enumerate(steps) if "temperature" in step][:: len(steps) - 2][:2]
    path.write_text(edited_text(path.read_text(), [put(["bar", 0, "step", first, "temperature"], "twelve")]))
    with pytest.raises(InputError, match=rf"^Bar 1, step {first + 1}: temperature: found \"twelve\""):
        edit(house, "slicer.toml", put(["bar", 0, "step", last, "temperature"], "1000 C"))


def test_a_recipe_that_cannot_be_read_names_the_bar_of_its_refusal(house: House) -> None:
    path = house.folder.root / "santoku.toml"
    path.write_text(edited_text(path.read_text(), [put(["bar", 2, "step", 0, "temperature"], "twelve")]))
    (problem,) = house.knife({"file": "santoku.toml"})["problems"]
    assert problem["message"].startswith("Bar 3, step 1: temperature: found")


def test_what_may_be_written_under_text_is_told_as_it_is_written() -> None:
    said = in_the_text('a.toml line 3: I do not know the key "edge" here; known are edge_at, tip_at.')
    assert said == beside(said, "") == 'Line 3: I do not know the key "edge" here; known are edge_at, tip_at.'
    assert in_the_text("a.toml: the file is empty") == "a.toml: the file is empty"


def test_a_steel_of_ones_own_is_no_plate(house: House) -> None:
    seen = edit(house, "slicer.toml", put(["steels", "base"], {"like": "1084", "C": 0.9}))
    assert seen["tables"]["steels"]["base"]["like"] == "1084"
    assert edit(house, "slicer.toml", put(["steels", "base", "like"], "15N20"))["can_undo"]


def test_a_kind_that_was_tried_is_no_word_of_a_refusal(house: House) -> None:
    with pytest.raises(InputError) as refused:
        edit(house, "slicer.toml", put(["shop", "end_trim"], "-3 mm"))
    assert "Function" not in str(refused.value) and "EndTrim" not in str(refused.value)
    assert "negative" in str(refused.value)


def test_what_is_filled_in_takes_nothing_away() -> None:
    text = '[blade]\nlength = "200 mm"\n'
    own = [{"op": "fill", "path": ["blade", key], "value": "1 mm"} for key in ("length", "heel_height")]
    made = {"length": "200 mm", "heel_height": "1 mm"}
    assert tomllib.loads(edited_text(text, own))["blade"] == edited_data(tomllib.loads(text), own)["blade"] == made


def test_a_step_says_its_sizes_and_a_restack_its_weld_and_draw_line_by_line(house: House) -> None:
    (bar,) = house.knife({"file": "ladder.toml"})["bars"]
    written = tomllib.loads((house.folder.root / "ladder.toml").read_text())["bar"][0]["step"]
    draw = next(k for k, step in enumerate(written) if step["do"] == "draw")
    assert (written[draw]["thickness"], written[draw]["temperature"]) == ("0.44 in", "2000 F")
    assert (
        bar["steps"][draw]["told"][0].startswith("Draw to 440 thou x 2 in")
        and "2000 F" in bar["steps"][draw]["told"][0]
    )
    restack = next(k for k, step in enumerate(written) if step["do"] == "restack")
    cut, weld, drawn = bar["steps"][restack]["told"]
    assert f"cut in {written[restack]['pieces']}" in cut
    assert written[restack]["weld"]["temperature"] in weld
    assert written[restack]["draw"]["temperature"] in drawn and drawn.startswith("Draw to ")


def test_what_is_done_over_and_over_is_told_once(house: House) -> None:
    text = (house.folder.root / "ladder.toml").read_text()
    at = next(k for k, step in enumerate(tomllib.loads(text)["bar"][0]["step"]) if step["do"] == "restack")
    once = len(house.knife({"file": "ladder.toml"})["bars"][0]["steps"][at]["told"])
    seen = edit(house, "ladder.toml", put(["bar", 0, "step", at, "times"], 2))
    told = seen["bars"][0]["steps"][at]["told"]
    assert told[0] == "2 times over; the first time:" and len(told) == once + 1


@pytest.mark.parametrize("length", ["9 in", "12 in"])
def test_the_page_says_whether_the_bar_holds_the_knife_as_it_is_dragged(house: House, length: str) -> None:
    wished = json.dumps([put(["blade", "length"], length)])
    lines = house.holds({"file": "ladder.toml", "edits": wished})["lines"]
    path = house.folder.root / "ladder.toml"
    path.write_text(re.sub(r'(\[blade\]\nlength = )".*?"', rf'\1"{length}"', path.read_text()))
    assert tomllib.loads(path.read_text())["blade"]["length"] == length
    fits = holding(run(load(path), diffuse=False))
    assert lines[0] == ("The bar holds the blade." if fits.enough else "The bar is too small for the blade.")
    assert f"{abs(fits.length.surplus) / 0.0254:.2f} in {'to spare' if fits.length.enough else 'short'}" in lines[1]


@pytest.mark.parametrize(("view", "sides"), [("bar-end", ("width", "thickness")), ("bar-face", ("length", "width"))])
def test_the_picture_of_a_bar_ends_where_the_bar_ends(house: House, view: str, sides: tuple[str, str]) -> None:
    path = house.folder.root / "ladder.toml"
    drawn = house.draw({"file": "ladder.toml", "view": view, "width": "320", "after": "billet:2"})
    assert drawn is not None
    shade = np.asarray(Image.open(io.BytesIO(drawn.data)).convert("L"), int)
    bar, _ = chosen_bar(run(load(path), diffuse=False), "billet:2")
    wide, tall = (getattr(bar, side) for side in sides)
    assert shade.shape[1] / shade.shape[0] == pytest.approx(wide / tall, rel=0.05)
    table = house.draw({"file": "ladder.toml", "view": view, "width": "320"})
    assert table is not None and Image.open(io.BytesIO(table.data)).size[0] > shade.shape[1]


@pytest.mark.parametrize("file", ["slicer.toml", "ladder.toml", "santoku.toml"])
def test_a_quick_picture_stands_as_the_fine_one_does(house: House, file: str) -> None:
    fine, quick = (
        Image.open(io.BytesIO(drawn.data)).size
        for quality, width in (("settled", "1600"), ("drag", "540"))
        if (drawn := house.draw({"file": file, "quality": quality, "width": width})) is not None
    )
    assert quick[1] / quick[0] == pytest.approx(fine[1] / fine[0], abs=2 / quick[0])


def test_the_fire_card_follows_the_work(house: House) -> None:
    card = [name for name, _ in house.fire({"file": "ladder.toml"})["card"]]
    assert card == ["Normalise", "Anneal", "Harden", "Quench", "Straighten", "Temper"]


@pytest.mark.parametrize(("units", "there", "not_there"), [("imperial", "50 F", "28 C"), ("metric", "28 C", "50 F")])
def test_cautions_speak_in_the_units_of_the_recipe(units: str, there: str, not_there: str) -> None:
    said = " ".join(cautions("quench", units=units))
    assert there in said and not_there not in said
    assert "28 C (50 F)" in " ".join(cautions("quench"))


def test_no_two_scales_of_heat_meet_in_one_room(house: House) -> None:
    fire = house.fire({"file": "ladder.toml"})
    said = str({key: told for key, told in fire.items() if key != "sources"}) + str(
        house.bench({"file": "ladder.toml"})
    )
    assert re.findall(r"\d+ C\b", said) == [] and len(re.findall(r"\d+ F\b", said)) > 10


def test_a_note_is_read_as_it_was_meant(house: House) -> None:
    house.note(
        {"file": "santoku.toml", "words": "after jacket 1: thick 28 mm, 3 heats, wrong edges cold, cure more soak"}
    )
    (note,) = house.bench({"file": "santoku.toml"})["notes"]
    assert (note["at"], note["wrong"], note["cure"]) == ("weld of the jacket", "edges cold", "more soak")
    assert "28" in note["said"] and "eats 3" in note["said"] and "|" not in str(note)


@pytest.mark.parametrize("file", ["ladder.toml", "santoku.toml"])
def test_the_stage_offered_for_a_note_is_the_one_the_note_is_written_under(house: House, file: str) -> None:
    bench = house.bench({"file": file})
    for stage in (bench["stages"][0], bench["stages"][3], bench["stages"][-1]):
        house.note({"file": file, "words": "at last it went well", "stage": stage["key"]})
        assert house.bench({"file": file})["notes"][0]["at"] == stage["name"]


def test_a_knife_renamed_keeps_its_notes_and_one_of_the_same_title_its_own(house: House) -> None:
    shutil.copy(house.folder.root / "ladder.toml", house.folder.root / "twin.toml")
    house.note({"file": "ladder.toml", "words": "after first weld: 3 heats"})
    assert len(house.bench({"file": "ladder.toml"})["notes"]) == 1
    assert house.bench({"file": "twin.toml"})["notes"] == []
    edit(house, "ladder.toml", put(["title"], "Another name"))
    renamed = house.bench({"file": "ladder.toml"})
    assert len(renamed["notes"]) == 1 and renamed["next"]["name"] == "first draw"
    assert house.bench({"file": "twin.toml"})["next"]["number"] == 1


def test_a_new_knife_in_the_file_of_a_renamed_one_takes_no_note_of_it(house: House) -> None:
    root = house.folder.root
    house.note({"file": "ladder.toml", "words": "after first weld: 3 heats"})
    (root / "ladder.toml").rename(root / "old.toml")
    shutil.copy(DEMOS / "raindrop.toml", root / "ladder.toml")
    assert [len(house.bench({"file": file})["notes"]) for file in ("ladder.toml", "old.toml")] == [0, 1]


def test_two_knives_that_swap_titles_keep_their_notes(house: House) -> None:
    house.note({"file": "ladder.toml", "words": "after first weld: 3 heats"})
    titles = [house.knife({"file": file})["title"] for file in ("ladder.toml", "slicer.toml")]
    edit(house, "ladder.toml", put(["title"], titles[1]))
    edit(house, "slicer.toml", put(["title"], titles[0]))
    assert [len(house.bench({"file": file})["notes"]) for file in ("ladder.toml", "slicer.toml")] == [1, 0]


def test_stations_of_a_knife_of_the_same_title_are_its_own(house: House) -> None:
    shutil.copy(house.folder.root / "slicer.toml", house.folder.root / "twin.toml")
    asked = {"readings": ["0 mm spine 3.1 mm", "100 mm spine 2.8 mm"], "to": "finished"}
    assert [house.stations(asked | {"file": file})["written"] for file in ("slicer.toml", "twin.toml")] == [True, True]
    assert house.stations(asked | {"file": "twin.toml"})["written"] is False  # the same again is written once


@pytest.mark.parametrize("name", ["the core", "core, left", "A/B", "b: x", "#1", "weld", "harden", "thick 3 mm"])
def test_a_note_stands_under_the_stage_it_was_written_at_whatever_the_bar_is_called(house: House, name: str) -> None:
    edit(house, "slicer.toml", put(["bar", 0, "name"], name))
    stage = house.bench({"file": "slicer.toml"})["stages"][2]
    house.note({"file": "slicer.toml", "words": "before quench it was straight", "stage": stage["key"]})
    (note,) = house.bench({"file": "slicer.toml"})["notes"]
    assert (note["at"], note["said"]) == (stage["name"], "Before quench it was straight.")


def test_words_that_begin_with_a_stage_go_before_the_one_chosen(house: House) -> None:
    first = house.bench({"file": "slicer.toml"})["stages"][0]
    house.note({"file": "slicer.toml", "words": "after second temper HRC 61", "stage": first["key"]})
    assert house.bench({"file": "slicer.toml"})["notes"][0]["at"] == "second temper"


def test_a_note_keeps_its_stage_when_a_step_is_put_in_before_it(house: House) -> None:
    stages = house.bench({"file": "slicer.toml"})["stages"]
    restack = next(stage for stage in stages if stage["name"] == "restack")
    house.note({"file": "slicer.toml", "words": "cut clean", "stage": restack["key"]})
    trim = {"op": "insert", "path": ["bar", 0, "step", 1], "value": {"do": "trim", "each_end": "1 mm"}}
    edit(house, "slicer.toml", trim)
    assert house.bench({"file": "slicer.toml"})["notes"][0]["at"] == "restack"


def test_a_note_of_a_recipe_that_is_gone_goes_by_its_title(tmp_path: Path) -> None:
    path = tmp_path / "old.toml"
    shutil.copy(DEMOS / "ladder.toml", path)
    knife = read_knife(path)
    entry, _ = note_of(knife, _understood(), tmp_path)
    with Bench(tmp_path / "bench.sqlite") as record:
        record.add(entry, knife.text)
    moved = path.rename(tmp_path / "new.toml")
    (seen,) = told_apart([entry], {}, moved, knife.title, tmp_path)
    assert seen == entry
    shutil.copy(moved, path)
    (apart,) = told_apart([entry], {}, moved, knife.title, tmp_path)
    assert apart == replace(entry, knife=f"{knife.title} (old.toml)")


def _understood() -> Any:
    from billet.record.desk import desk_of
    from billet.record.door import understand

    path = DEMOS / "ladder.toml"
    return understand(["after first weld: 3 heats"], desk_of(read_knife(path), path.parent / "none.sqlite"))


def test_what_to_grind_says_a_thing_of_several_places_once(house: House) -> None:
    asked = {
        "file": "ladder.toml",
        "readings": ["0 in spine 120 thou", "2 in spine 110 thou", "4 in spine 100 thou"],
        "to": "finished",
    }
    mind = house.stations(asked | {"keep": False})["mind"]
    told = [line for line in mind if "ow not measured" in line]
    assert len(told) == 1 and "2.00 in spine, 4.00 in spine" in told[0]
    assert not any("--" in line or "billet grind" in line for line in mind)


def test_too_little_metal_is_told_in_the_units_it_was_measured_in(house: House) -> None:
    asked = {
        "file": "ladder.toml",
        "readings": ["0 in spine 50 thou", "2 in spine 50 thou"],
        "to": "finished",
        "keep": False,
    }
    with pytest.raises(InputError, match=r"^Every station is already thinner.*here 50 thou, wanted 105 thou"):
        house.stations(asked)


def test_straightening_comes_line_by_line(house: House) -> None:
    readings = [
        "0 in spine 125 thou bow 60 thou left",
        "4 in spine 110 thou bow 0 thou left",
        "8 in spine 90 thou bow 60 thou left",
    ]
    said = house.stations({"file": "ladder.toml", "readings": readings, "to": "finished", "keep": False})
    assert len(said["straighten"]) > 2 and said["answer"].endswith("Straighten first.")


@pytest.mark.parametrize(
    ("wished", "said"),
    [
        ({"offset_m": "0.0012"}, "The bar is too small for the blade."),
        ({"grind_m": "0.0005"}, "So deep nothing is left at the edge"),
        ({"edits": json.dumps([{"op": "set", "path": ["bar", 0, "step", 4, "depth"], "value": "400 thou"}])}, "hollows remain"),
    ],
)  # fmt: skip
def test_a_dragged_knife_is_warned_of_as_a_kept_one_is(house: House, wished: dict[str, str], said: str) -> None:
    assert not any(said in line for line in str(house.holds({"file": "ladder.toml"})).split("\n"))
    assert said in str(house.holds({"file": "ladder.toml"} | wished))


def test_each_knife_of_a_bar_has_its_own_figures(house: House) -> None:
    shutil.copy(DEMOS / "order.toml", house.folder.root)
    names = [blade["name"] for blade in house.knife({"file": "order.toml"})["blades"]]
    said = {tuple(house.holds({"file": "order.toml", "blade": name})["lines"]) for name in names}
    assert len(names) == 3 and all(lines[0] == "The bar holds the blade." for lines in said)


def test_only_a_stage_noted_itself_is_ticked(house: House) -> None:
    every = house.bench({"file": "slicer.toml"})["stages"]
    house.note({"file": "slicer.toml", "words": "went well", "stage": every[3]["key"]})
    bench = house.bench({"file": "slicer.toml"})
    assert [stage["number"] for stage in bench["stages"] if stage["done"]] == [4]
    assert [stage["number"] for stage in bench["stages"] if stage["passed"]] == [1, 2, 3, 4]
    assert bench["next"]["number"] == 5 and bench["notes"][0]["said"] == "Went well."


def test_the_filmstrip_holds_the_knife_as_finished(house: House) -> None:
    words = [one["words"] for one in house.strip({"file": "slicer.toml"})["pictures"]]
    assert words.count("as finished") == 1 and len(words) == 6
    assert [one.endswith("to go") for one in words] == [True] * 3 + [False] * 3


def test_what_to_do_with_a_gap_stands_apart_from_what_the_line_is(house: House) -> None:
    found = house.where({"file": "ladder.toml", "face": "right", "x_m": "0.1", "y_m": "0.02"})
    assert found["if_open"][0].startswith("Opened up here?") and not any("Opened" in line for line in found["lines"])
