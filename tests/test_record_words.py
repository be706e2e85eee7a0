"""Notes typed with dirty hands: any order, any units, slips forgiven, and the reading back says the same.

Conversions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959);
0 C = 273.15 K (SI brochure, 9th edition, table 8).
"""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billet.base.messages import note
from billet.record.door import Desk, Understood, say_back, understand
from billet.record.door.near import nearest, slips
from billet.record.door.which_stage import choose, matching
from billet.record.entry import Place
from billet.record.store import Bench
from billet.record.take import Knife, note_of
from billet.stages import Stage


def _bar(bar: str, number: int, name: str) -> Stage:
    return Stage(number, name, name.split()[-1], "bar", note(name), bar)


ONE_BAR = (_bar("billet", 0, "stack"), _bar("billet", 1, "first weld"), _bar("billet", 2, "draw"),
           _bar("billet", 3, "second weld"))  # fmt: skip
BLADE = tuple(
    Stage(4 + at, name, name.split()[-1] if "temper" in name else name, "blade", note(name))
    for at, name in enumerate(("rough grind", "harden", "first temper", "second temper", "thin", "etch"))
)
TWO_BARS = (*ONE_BAR, _bar("core bar", 0, "stack"), _bar("core bar", 1, "draw"), *BLADE)
DESK = Desk(lambda: (*ONE_BAR, *BLADE))


@pytest.mark.parametrize(
    ("typed", "name", "unit", "value"),
    [
        ("thickness 12.1 mm", "thickness", "m", 0.0121),
        ("thickness=12.1mm", "thickness", "m", 0.0121),
        ("Thick: 12.1 mm,", "thickness", "m", 0.0121),
        ("thi 1 1/2 in", "thickness", "m", 0.0381),
        ('1-1/2" thick', "thickness", "m", 0.0381),
        ("width 140 thou", "width", "m", 0.003556),
        ("weight 3 lb", "mass", "kg", 1.36077711),
        ("mass 1412 g", "mass", "kg", 1.412),
        ("heat 1150 C", "temperature", "K", 1423.15),
        ("temperature 2100°F", "temperature", "K", (2100 + 459.67) * 5 / 9),
        ("time 1 h 30 min", "time", "s", 5400),
        ("took half an hour", "took", "s", 1800),
        ("heats 3", "heats", "1", 3),
        ("three heats", "heats", "1", 3),
        ("hardness 59.5 HRC", "hardness", "HRC", 59.5),
        ("hardness HRC 61", "hardness", "HRC", 61),
        ("thickness.heel 2.6 mm", "thickness.heel", "m", 0.0026),
        ("thickness heel 2.6 mm", "thickness.heel", "m", 0.0026),
        ("2,6 mm thick at the heel", "thickness.heel", "m", 0.0026),
        ("bow 1.5 mm left 2 in from the tip", "bow.50.8mm from tip", "m", -0.0015),
        ("drift=-3mm", "drift", "m", -0.003),
        ("turns=7", "turns", "1", 7),
        ("oil=20 l", "oil", "m3", 0.02),
        ("oil=55 C", "oil", "K", 328.15),
    ],
)
def test_a_measure_is_read_in_any_unit(typed: str, name: str, unit: str, value: float) -> None:
    words = typed.split(" ") if "=" not in typed else [typed, " "]
    for found in (
        (understand(words, DESK), understand(typed, DESK))
        if " " not in typed or "=" not in typed
        else (understand(words, DESK),)
    ):
        (measure,) = found.measures
        assert (measure.name, measure.unit) == (name, unit)
        assert measure.value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "words"), [(["hardness", "file skates"], "file skates"), (["flux=borax", " "], "borax")]
)
def test_what_is_told_in_words_is_kept_as_words(typed: list[str], words: str) -> None:
    (measure,) = understand(typed, DESK).measures
    assert (measure.value, measure.unit, measure.written) == (None, "", words)


@pytest.mark.parametrize(
    "typed",
    [
        ["after", "2", "thickness", "12.1", "mm", "width", "41", "mm", "note", "edges cold", "wrong", "cold shut"],
        ["wrong", "cold shut", "note", "edges cold", "width=41mm", "thickness", "12.1mm", "step", "2"],
        ["width 41 mm", "thickness 12.1 mm", "after 2", "wrong", "cold shut", "note", "edges", "cold"],
        'after draw thickness 12.1 mm width 41 wrong "cold shut" note edges cold',
        "wrong: cold shut; note: edges cold; step 2; 12.1 thick 41 wide mm",
    ],
)
def test_order_and_quotes_do_not_matter(typed: list[str] | str) -> None:
    said = understand(typed, DESK)
    assert (said.place, said.note, said.wrong) == (Place("billet", 2, "draw"), "edges cold", "cold shut")
    assert {(m.name, m.value) for m in said.measures} == {("thickness", 0.0121), ("width", 0.041)}


@pytest.mark.parametrize(
    ("typed", "field", "text"),
    [
        ("heats 3 note cracked by the third heat", "note", "cracked by the third heat"),
        ("after 2 went wrong warp note bow to the left", "wrong", "warp"),
        ("after 2 wrong edges cold cure two more minutes", "cure", "two more minutes"),
        ("wrong: flux trapped; next time: crown the faces", "cure", "crown the faces"),
        ("read the rule from the wrong end", "note", "read the rule from the wrong end"),
        ("let the epoxy cure over night", "note", "let the epoxy cure over night"),
        ("nothing wrong", "note", "nothing wrong"),
        ("weld line opened at the heel", "wrong", "weld line opened at the heel"),
        ("no weld line opened", "note", "no weld line opened"),
        ("all good by M.", "by", "M."),
        ("CRACKED BY HEAT", "wrong", "CRACKED BY HEAT"),
        ("edges cold = bad", "wrong", "edges cold = bad"),
    ],
)  # fmt: skip
def test_what_is_not_understood_goes_where_it_belongs(typed: str, field: str, text: str) -> None:
    assert getattr(understand(typed, DESK), field) == text


@pytest.mark.parametrize(
    ("typed", "doubt"),
    [
        ("thickness -3 mm", "negative"),
        ("thickness 0 mm", "not above zero"),
        ("thickness 3 kg", ""),
        ("thickness 40 in", "look at the unit"),
        ("thickness 1 parsec", "look at the unit"),
        ("heats 2.5", "whole number"),
        ("heats 0", "whole number"),
        ("hardness 95 HRC", "up to 70"),
        ("temperature 9000 C", "more than"),
        ("temperature -300 C", "below absolute zero"),
    ],
)
def test_what_cannot_be_meant_is_kept_in_the_note_and_told(typed: str, doubt: str) -> None:
    said = understand(typed, DESK)
    assert typed.split()[0] not in [measure.name for measure in said.measures]
    assert doubt in "; ".join(said.doubts)
    assert "\n" not in "".join(said.doubts)
    assert said.note == typed or said.measures


@pytest.mark.parametrize(
    ("words", "number"),
    [("2", 2), ("billet 2", 2), ("Billet: 2", 2), ("draw", 2), ("drawing", 2), ("stack", 0), ("last", 3), ("weld 2", 3),
     ("2nd weld", 3), ("weld 3", 3), ("quench", 5), ("hardning", 5), ("temper 2", 7), ("last temper", 7), ("5", 5)],
)  # fmt: skip
def test_a_stage_is_found_by_number_or_by_what_is_done(words: str, number: int) -> None:
    assert [stage.number for stage in matching(words, (*ONE_BAR, *BLADE))] == [number]


@pytest.mark.parametrize("words", ["99", "core bar 2", "billet", "hammer dance", ""])
def test_a_stage_that_is_not_there_is_none(words: str) -> None:
    assert matching(words, TWO_BARS) == []


def test_a_bar_whose_name_has_a_space_is_found() -> None:
    assert [stage.key for stage in matching("core bar draw", TWO_BARS)] == [("core bar", 1)]


@pytest.mark.parametrize(("reached", "taken"), [(None, 1), (("billet", 1), 1), (("billet", 2), 3), (("", 5), 3)])
def test_of_several_stages_the_one_come_to_is_taken(reached: tuple[str, int] | None, taken: int) -> None:
    found = matching("weld", (*ONE_BAR, *BLADE))
    assert len(found) == 2
    assert choose(found, (*ONE_BAR, *BLADE), reached).number == taken


@pytest.mark.parametrize(
    ("one", "other", "count"),
    # Damerau 1964: one letter wrong, missing, too many, or two neighbours changed about are one slip each.
    [("weld", "weld", 0), ("wled", "weld", 1), ("wekd", "weld", 1), ("wld", "weld", 1), ("weeld", "weld", 1), ("quench", "etch", 3)],
)  # fmt: skip
def test_slips_are_counted(one: str, other: str, count: int) -> None:
    assert slips(one, other) == count == slips(other, one)
    assert nearest(one, (other,)) == (other if count <= 1 and len(one) >= 4 else None)  # short words as they stand


NUMBERS = st.decimals(min_value="0.1", max_value="9.9", places=1).map(str)
LENGTH_UNITS = st.sampled_from(["mm", "in", "cm"])
PLACES = st.sampled_from(["", " at the heel", " at the middle", " at the tip", " at 50 mm", " at 12.5 mm from the tip"])
PARTS = st.one_of(
    st.builds("{} {} mm{}".format, st.sampled_from(["thickness", "spine"]), NUMBERS, PLACES),
    st.builds("bow {} mm {}{}".format, NUMBERS, st.sampled_from(["left", "right"]), PLACES),
    st.builds("width {} {}".format, NUMBERS, LENGTH_UNITS),
    st.builds("hardness {} HRC{}".format, st.integers(30, 68), PLACES),
    st.builds("heats {}".format, st.integers(1, 9)),
    st.builds("belts {}".format, st.integers(1, 9)),
    st.builds("oven {} {}".format, st.integers(150, 450), st.sampled_from(["C", "F"])),
    st.builds("took {} {}".format, st.integers(1, 59), st.sampled_from(["min", "h"])),
    st.builds(
        '{} "{}"'.format,
        st.sampled_from(["wrong", "cure", "note"]),
        st.text("abc dé,;:!.='/", min_size=1, max_size=20).map(lambda text: " ".join(text.split()) or "so"),
    ),
    st.builds("note {}".format, st.text("abcdefg 123", min_size=1, max_size=20)),
)
STAGES = st.sampled_from(
    ["", "after 2: ", "after billet 1: ", "after quench: ", "after second temper: ", "etch: ", "after weld "]
)


@settings(max_examples=300, deadline=None)
@given(STAGES, st.lists(PARTS, max_size=5))
def test_what_is_said_back_is_understood_the_same(stage: str, parts: list[str]) -> None:
    first = understand(stage + ", ".join(parts), DESK)
    again = understand(say_back(first), DESK)
    assert [(m.name, m.unit, m.value) for m in again.measures] == [(m.name, m.unit, m.value) for m in first.measures]
    assert replace(again, measures=(), typed="", doubts=()) == replace(first, measures=(), typed="", doubts=())


@settings(max_examples=80, deadline=None)
@given(STAGES, st.lists(PARTS, min_size=1, max_size=5))
def test_what_was_understood_is_what_the_record_gives_back(
    tmp_path_factory: pytest.TempPathFactory, stage: str, parts: list[str]
) -> None:
    said = understand(stage + ", ".join(parts), DESK)
    folder = tmp_path_factory.mktemp("book")
    if not any((said.measures, said.note, said.wrong, said.cure, said.place)):
        return
    entry, _ = note_of(Knife("Slicer", folder / "k.toml", "title = 'x'"), said, folder)
    with Bench(folder / "b.sqlite") as bench:
        bench.add(entry, "title = 'x'")
        (kept,) = bench.entries()
    assert replace(kept, id=0) == entry
    assert (kept.place, kept.measures, kept.wrong, kept.cure) == (said.place, said.measures, said.wrong, said.cure)
    assert understand(say_back(kept), DESK).measures == said.measures or say_back(kept).count("=")


PIECES = ["after", "thickness", "note", "wrong", "heats", "hardness", "12", "mm", "-3", "1/0", "in", "=", "x=1/0 in"]
ODD = ["x=5 m", "x=½ in", "x=1e999", "none", "photo", "by", "", " ", ",", "thickness.", "=3mm", "x", "at", "from", "½"]


@settings(max_examples=400, deadline=None)
@given(st.lists(st.sampled_from([*PIECES, *ODD]) | st.text(max_size=12), max_size=8))
def test_no_words_are_ever_refused(words: list[str]) -> None:
    for said in (understand(words, DESK), understand(" ".join(words), DESK)):
        assert all(measure.value is None or math.isfinite(measure.value) for measure in said.measures)
        assert isinstance(said, Understood)


@given(st.text(max_size=20))
def test_any_words_are_some_stages_or_none(words: str) -> None:
    assert set(matching(words, TWO_BARS)) <= set(TWO_BARS)


def test_a_field_is_taken_back(tmp_path: Path) -> None:
    said = understand("thickness none wrong none after none", DESK)
    assert set(said.dropped) == {"thickness", "wrong", "after"}
    assert not said.note
