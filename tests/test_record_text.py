"""The record as text: searched, compared, exported, backed up and restored."""

import csv
import io
import json
import math
import os
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billet.base.errors import InputError
from billet.record.backup import FORMAT, LARGEST, from_text, read_backup, restore, to_text
from billet.record.compare import compare, predicted_rows
from billet.record.entry import Entry, Measure, Photo, Place, text_sha256
from billet.record.export import as_csv, as_markdown
from billet.record.measures import BY_NAME, doubt, shown
from billet.record.search import search
from billet.record.show import line
from billet.record.sound import MOST_STEPS
from billet.record.store import Bench
from billet.record.visible import visible

OLD = Path(__file__).parent / "old_records"

AT = "2024-03-02T09:14:05.120+00:00"
SLICER = Entry("Smokehouse slicer", AT, 60, id=1, place=Place("billet", 2, "draw"), note="warped after the third heat")
PARING = Entry("Paring knife", AT, 60, id=2, wrong="delamination", note="clinker in the fire", by="M.")
THICK = replace(SLICER, id=3, note="", measures=(Measure("thickness", "m", 0.0121, "12.1 mm"),))
ALL = (SLICER, PARING, THICK)


@pytest.mark.parametrize(
    ("question", "found"),
    [
        ("what did I write about warp?", [1]),
        ("warped", [1]),
        ("DELAMINATION", [2]),
        ("slicer", [1, 3]),
        ("slicer heat", [1]),
        ("thickness", [3]),
        ("12.1", [3]),
        ("clinker warp", []),
        ("bent", [1]),
        ("bow", [1]),
        ("wapred", [1]),
        ("opened", [2]),
        ("wrong", [2]),
        ("delaminatoin", [2]),
        ("drawing", [1, 3]),
        ("overheated", []),
        ("about", []),
        ('" OR 77=77 --', []),
        ("?!", []),
        ("knife*", [2]),
    ],
)
def test_search_over_all_knives(question: str, found: list[int]) -> None:
    assert [entry.id for entry in search(ALL, question)] == found


def test_search_without_the_full_text_index(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(*_: object) -> set[int]:
        raise sqlite3.OperationalError("no such module: fts5")

    monkeypatch.setattr("billet.record.search._by_index", missing)
    assert [entry.id for entry in search(ALL, "what did I write about warp?")] == [1]
    assert [entry.id for entry in search(ALL, "Slicer heat")] == [1]


LEDGER = {
    "bars": [
        {
            "name": "billet",
            "steps": [
                {"number": 0, "do": "stack", "length_m": 0.15, "width_m": 0.04, "thickness_m": 0.036, "mass_kg": 1.7},
                {"number": 2, "do": "draw", "length_m": 0.4, "width_m": 0.04, "thickness_m": 0.012, "mass_kg": None},
            ],
        },
        {"name": "core", "steps": [{"number": 2, "do": "draw", "thickness_m": 0.005}]},
    ]
}


def test_predicted_and_measured_step_by_step() -> None:
    stack = replace(THICK, id=4, place=Place("billet", 0), measures=(Measure("mass", "kg", 1.705, "1705 g"),))
    length = replace(THICK, id=5, measures=(Measure("length", "m", 0.38, "380 mm"), Measure("heats", "1", 4, "4")))
    found = compare(predicted_rows(LEDGER), [THICK, PARING, length, stack])
    assert [(d.entry, d.place.number, d.name) for d in found] == [(4, 0, "mass"), (3, 2, "thickness"), (5, 2, "length")]
    # 1.705 - 1.7 = 5 g; 12.1 - 12 = 0.1 mm; 380 - 400 = -20 mm, -5 %. Only the last is more than twice 0.1 mm or 0.5 %.
    assert [d.by for d in found] == pytest.approx([0.005, 0.0001, -0.02])
    assert found[2].share == pytest.approx(-0.05)
    assert [d.beyond_reading for d in found] == [False, False, True]


def test_rows_without_a_bar_stand_for_a_recipe_of_one_bar() -> None:
    assert [d.name for d in compare(LEDGER["bars"][0]["steps"], [THICK])] == ["thickness"]
    assert compare(LEDGER["bars"][0]["steps"], [replace(THICK, place=Place("billet", 7))]) == ()


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "\n=1"])
def test_no_cell_of_the_table_is_a_formula(cell: str) -> None:
    # OWASP, "CSV Injection": cells that begin with = + - @ tab or carriage return.
    text = as_csv([replace(SLICER, note=cell, wrong=cell, by=cell, knife=cell, place=Place(cell, 1, cell))])
    row = list(csv.reader(io.StringIO(text)))[1]
    assert not any(value.lstrip(" \n").startswith(("=", "+", "-", "@", "\t", "\r")) for value in row)
    assert f"'{visible(cell)}" in row


def test_the_table_is_one_line_a_note_in_si() -> None:
    text = as_csv([THICK, replace(THICK, id=4, corrects=3, note='two\nlines, "quoted"')])
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(row["id"], row["thickness_m"], row["corrects"], row["corrected_by"]) for row in rows] == [
        ("3", "0.0121", "", "4"),
        ("4", "0.0121", "3", ""),
    ]
    assert rows[1]["note"] == 'two\nlines, "quoted"'
    assert text.count("\r\n") == 3  # RFC 4180, section 2: lines end with CRLF


def test_what_is_told_in_words_or_another_kind_of_unit_stands_beside_the_columns() -> None:
    """A hardness by the file has no figure, an edge in degrees is no length, a name of one's own has no column."""
    told = (
        Measure("hardness", "", None, "file skates"),
        Measure("edge", "rad", 0.2618, "15 deg"),
        Measure("belts", "1", 2.0, "2"),
        Measure("thickness", "m", 0.0121, "12.1 mm"),
    )
    (row,) = csv.DictReader(io.StringIO(as_csv([replace(SLICER, measures=told)])))
    assert (row["hardness_hrc"], row["thickness_m"]) == ("", "0.0121")
    (others,) = (cell for cell in row.values() if "file skates" in (cell or ""))
    assert set(others.split("; ")) >= {"hardness=file skates", "edge=15 deg"}
    assert "12.1 mm" not in others


@pytest.mark.parametrize(
    ("measure", "said"),
    [
        (Measure("hardness", "HRC", 61.5, "61.5 HRC"), "hardness 61.5 HRC"),
        (Measure("grit", "1", 120.0, "120"), "grit 120"),
        (Measure("hardness", "", None, "file skates"), "hardness file skates"),
        (Measure("bow", "m", -1.5e-3, "1.5 mm left"), "bow 1.50 mm left"),
        (Measure("mass", "kg", 1.4, "1.4 kg"), "weight 1.40 kg"),
    ],
)
def test_a_measure_is_shown_as_a_smith_would_say_it(measure: Measure, said: str) -> None:
    assert shown(measure, "metric") == said


def test_markdown_shows_what_stands_and_escapes_the_rest() -> None:
    text = as_markdown([*ALL, replace(PARING, id=4, corrects=2, note="<script>a|b</script>")], "imperial")
    assert "clinker" not in text
    assert "4, corrects 2" in text
    assert "<script>" not in text
    assert r"a\|b" in text
    assert "thickness 476 thou" in text  # 12.1 mm / 25.4 = 0.4764 in


# ECMA-48: ESC opens a sequence, 0x9B is CSI and 0x9D OSC in one byte, BEL ends an OSC; U+202E turns the line round.
STEERING = "\x1b]0;title\x07 \x1b[2J \x9b2J \x9d52;c;eA==\x9c \r over \x7f \u202e txt"


def test_nothing_that_steers_a_terminal_is_shown() -> None:
    odd = replace(
        SLICER, note=STEERING, wrong=STEERING, knife=STEERING, by=STEERING, cure=STEERING, typed=STEERING,
        place=Place(STEERING, 1, STEERING), measures=(Measure("flux", "", None, STEERING),),
        photos=(Photo(STEERING, "ab" * 32, 1),),
    )  # fmt: skip
    shown = [line(odd, "metric", OLD), as_markdown([odd], "metric"), as_csv([odd]).replace("\r\n", "")]
    for text in shown:
        assert not any((ord(sign) < 0x20 and sign not in "\n\t") or 0x7F <= ord(sign) < 0xA0 for sign in text)
        assert "\u202e" not in text
        assert "title" in text and "␛" in text


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('"id": 2', '"id": 99999999999999999999', "out of range"),
        ('"offset_min": 60', '"offset_min": 60000', "minutes from UTC"),
        ('"at": "2024-03-02T09:14:05.120+00:00"', '"at": "2024-03-02T09:14:05"', "zone"),
        ('"number": 2', '"number": -2', "step -2"),
        ('"number": 2', '"number": 1e400', "cannot be read|no note"),
        ('"value": 0.0121', '"value": -0.0121', "not above zero"),
        ('"value": 0.0121', '"value": 12.1', "more than"),
        ('"value": 0.0121', '"value": 1e999', "no note|finite"),
        ('"unit": "m"', '"unit": "pc"', "unit unknown"),
        ('"unit": "m"', '"unit": "kg"', "no thickness in its unit"),
        ('"note": "warped after the third heat"', '"note": ' + "[" * 100_000, "too deep|cannot be read"),
        ('"by": "M."', '"by": ' + "[" * 100_000 + "]" * 100_000, "too deep|cannot be read"),
    ],
)
def test_a_backup_with_the_impossible_is_refused_before_anything_is_taken(
    tmp_path: Path, old: str, new: str, sentence: str
) -> None:
    text = to_text([SLICER, PARING, THICK], {})
    assert old in text
    with pytest.raises(InputError, match=sentence) as error:
        restore(text.replace(old, new), tmp_path / "b.sqlite")
    assert "\n" not in str(error.value)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("sha256", "taken"), [("ab" * 32, True), ("ab" * 31, False), ("zz" * 32, False)])
def test_a_photograph_needs_its_hash(tmp_path: Path, sha256: str, taken: bool) -> None:
    """SHA-256 is 64 hexadecimal digits (FIPS 180-4)."""
    text = to_text([replace(SLICER, photos=(Photo("photos/end.jpg", sha256, 3),))], {})
    if taken:
        restore(text, tmp_path / "b.sqlite")
        return
    with pytest.raises(InputError, match="no sound hash"):
        restore(text, tmp_path / "b.sqlite")


@pytest.mark.parametrize(
    ("measure", "meant"),
    [
        (Measure("edge", "rad", math.radians(89), "89 deg"), True),
        (Measure("edge", "rad", math.radians(91), "91 deg"), False),
        (Measure("edge", "m", 0.049, "49 mm"), True),
        (Measure("edge", "m", 0.051, "51 mm"), False),
        (Measure("took", "s", 29 * 86400.0, "29 days"), True),
        (Measure("took", "s", 31 * 86400.0, "31 days"), False),
        (Measure("hardness", "HRC", 0.0, "0 HRC"), False),
        (Measure("hardness", "m", 0.06, "60 mm"), False),
        (Measure("edge", "", None, "keen"), True),
        (Measure("edge", "m", None, "keen"), False),
        (Measure("belts", "1", 3.0, "3"), True),
        (Measure("b=elts", "1", 3.0, "3"), False),
    ],
)
def test_what_a_measure_cannot_be_is_doubted(measure: Measure, meant: bool) -> None:
    """An edge is under a right angle and five centimetres, a job under a month: our judgement, no source."""
    assert (not doubt(measure)) is meant


def test_an_endless_or_odd_file_is_no_backup(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for source in (Path("/dev/zero"), tmp_path / "pipe", tmp_path):
        with pytest.raises(InputError, match="no plain file"):
            read_backup(source)
    with (tmp_path / "large").open("wb") as file:
        file.truncate(LARGEST + 1)
    with pytest.raises(InputError, match="larger than any record"):
        read_backup(tmp_path / "large")


def test_backups_of_every_format_load_for_ever(tmp_path: Path) -> None:
    assert {path.name for path in OLD.glob("*.jsonl")} == {f"backup_format_{n}.jsonl" for n in range(1, FORMAT + 1)}
    for path in OLD.glob("*.jsonl"):
        entries, recipes = from_text(read_backup(path))
        assert [entry.id for entry in entries][:5] == [1, 2, 3, 4, 5]
        assert (entries[0].wrong, entries[4].by, len(recipes)) == ("cold shut", "M.", 1)


TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)
OWN = st.from_regex(r"[a-z][a-z0-9_ .-]{0,39}", fullmatch=True).filter(
    lambda name: name.partition(".")[0] not in BY_NAME
)
MEASURES = st.builds(
    Measure, OWN, st.sampled_from(["m", "kg", "K", "1", "rad"]), st.floats(allow_nan=False, allow_infinity=False), TEXTS
) | st.builds(Measure, TEXTS, st.just(""), st.none(), TEXTS) | st.builds(
    Measure, st.sampled_from(["spine.heel", "thickness", "bow.50mm"]), st.just("m"), st.floats(1e-9, 0.05), TEXTS
)  # fmt: skip
NUMBERS = st.integers(0, MOST_STEPS)
HASHES = st.from_regex(r"[0-9a-f]{64}", fullmatch=True)
ENTRIES = st.builds(
    Entry, TEXTS, st.just(AT), st.integers(-720, 840), recipe_path=TEXTS,
    place=st.none() | st.builds(Place, TEXTS, NUMBERS, TEXTS),
    measures=st.lists(MEASURES, max_size=4, unique_by=lambda m: m.name).map(tuple), note=TEXTS, wrong=TEXTS,
    photos=st.lists(st.builds(Photo, TEXTS, HASHES, NUMBERS), max_size=2).map(tuple), by=TEXTS,
    cure=TEXTS, typed=TEXTS, source=TEXTS,
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(ENTRIES, TEXTS, st.booleans()), max_size=5))
def test_a_backup_restores_every_note_exactly(tmp_path_factory: pytest.TempPathFactory, notes: list) -> None:
    folder = tmp_path_factory.mktemp("backup")
    with Bench(folder / "b.sqlite") as bench:
        last = None
        for entry, recipe, corrects in notes:
            whole = replace(entry, recipe_sha256=text_sha256(recipe), corrects=last if corrects else None)
            last = bench.add(whole, recipe).id
        before = bench.entries(), bench.recipes()
    text = to_text(*before)
    assert from_text(text) == (list(before[0]), before[1])
    assert restore(text, folder / "again.sqlite") == len(notes)
    with Bench(folder / "again.sqlite") as bench:
        assert (bench.entries(), bench.recipes()) == before


def _backup() -> str:
    recipe = "title = 'x'"
    return to_text([replace(SLICER, recipe_sha256=text_sha256(recipe)), PARING], {text_sha256(recipe): recipe})


@pytest.mark.parametrize("cut", range(0, len(_backup()) - 1, 37))
def test_a_shortened_backup_is_refused_and_leaves_nothing(tmp_path: Path, cut: int) -> None:
    with pytest.raises(InputError):
        restore(_backup()[:cut], tmp_path / "b.sqlite")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("title = 'x'", "title = 'y'", "does not agree with its hash"),
        ('"bench_record": 2', '"bench_record": 3', "newer"),
        ('"note": {"knife"', '"remark": {"knife"', "no note and no recipe"),
        ('"knife": "Paring knife"', '"kniffe": "Paring knife"', "no note and no recipe"),
        ('"offset_min": 60', '"offset_min": 60, "offset_min": ', "cannot be read"),
        ('"offset_min": 60', '"offset_min": "60"', "no note and no recipe"),
        (
            '"measures": []',
            '"measures": [{"name": "x", "unit": "m", "value": "3", "written": ""}]',
            "no note and no recipe",
        ),
        ('"at": "2024', '"at": "MMXXIV', "no note and no recipe"),
        ('"id": 2', '"id": 1', "twice"),
        ('"corrects": null', '"corrects": 9', "twice or corrects no earlier"),
    ],
)
def test_an_altered_backup_is_refused(old: str, new: str, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        from_text(_backup().replace(old, new))


def test_a_backup_is_not_restored_over_a_record(tmp_path: Path) -> None:
    restore(_backup(), tmp_path / "b.sqlite")
    with pytest.raises(InputError, match="exists"):
        restore(_backup(), tmp_path / "b.sqlite")
    with pytest.raises(InputError, match="not a backup"):
        restore("title = 'recipe'", tmp_path / "c.sqlite")


def test_a_backup_is_json_on_every_line() -> None:
    lines = [json.loads(line) for line in _backup().splitlines()]
    assert lines[0] == {"bench_record": 2, "recipes": 1, "notes": 2}
    assert [next(iter(line)) for line in lines[1:]] == ["recipe", "note", "note"]


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_garbled_backup_is_notes_or_one_sentence(data: st.DataObject) -> None:
    text = _backup()
    at = data.draw(st.integers(0, len(text) - 1))
    garbled = text[:at] + data.draw(st.text(max_size=3)) + text[at + data.draw(st.integers(0, 4)) :]
    try:
        entries, _ = from_text(garbled)
    except InputError as error:
        assert str(error)
    else:
        assert len(entries) == 2
