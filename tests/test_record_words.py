"""Notes typed with dirty hands: any order, any units, and a refusal in one sentence where words may mean two things.

Conversions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959);
0 C = 273.15 K (SI brochure, 9th edition, table 8).
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billet.base.errors import InputError
from billet.record.entry import Place
from billet.record.note_words import read_words
from billet.record.places import find_place

ONE_BAR = (
    Place("billet", 0, "stack"),
    Place("billet", 1, "weld"),
    Place("billet", 2, "draw"),
    Place("billet", 3, "weld"),
)
TWO_BARS = (*ONE_BAR, Place("core bar", 0, "stack"), Place("core bar", 1, "draw"))


@pytest.mark.parametrize(
    ("typed", "name", "unit", "value"),
    [
        ("thickness 12.1 mm", "thickness", "m", 0.0121),
        ("thickness=12.1mm", "thickness", "m", 0.0121),
        ("Thick: 12.1 mm,", "thickness", "m", 0.0121),
        ("thi 1 1/2 in", "thickness", "m", 0.0381),
        ("width 140 thou", "width", "m", 0.003556),
        ("weight 3 lb", "mass", "kg", 1.36077711),
        ("mass 1412 g", "mass", "kg", 1.412),
        ("heat 1150 C", "temperature", "K", 1423.15),
        ("temperature 2100 F", "temperature", "K", (2100 + 459.67) * 5 / 9),
        ("time 1 h 30 min", "time", "s", 5400),
        ("heats 3", "heats", "1", 3),
        ("hardness 59.5 HRC", "hardness", "HRC", 59.5),
        ("hardness HRC 61", "hardness", "HRC", 61),
        ("thickness.heel 2.6 mm", "thickness.heel", "m", 0.0026),
        ("drift=-3mm", "drift", "m", -0.003),
        ("turns=7", "turns", "1", 7),
        ("oil=20 l", "oil", "m3", 0.02),
    ],
)
def test_a_measure_is_read_in_any_unit(typed: str, name: str, unit: str, value: float) -> None:
    (measure,) = read_words(typed.split(" ") if "=" not in typed else [typed]).measures
    assert (measure.name, measure.unit) == (name, unit)
    assert measure.value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("typed", "words"), [(["hardness", "file skates"], "file skates"), (["flux=borax"], "borax")])
def test_what_is_told_in_words_is_kept_as_words(typed: list[str], words: str) -> None:
    (measure,) = read_words(typed).measures
    assert (measure.value, measure.unit, measure.written) == (None, "", words)


@pytest.mark.parametrize(
    "typed",
    [
        ["after", "5", "thickness", "12.1", "mm", "width", "41 mm", "note", "edges cold", "wrong", "cold shut"],
        ["wrong", "cold shut", "note", "edges cold", "width=41mm", "thickness", "12.1mm", "step", "5"],
        ["width 41 mm", "thickness 12.1 mm", "after 5", "wrong", "cold shut", "note", "edges", "cold"],
    ],
)
def test_order_and_quotes_do_not_matter(typed: list[str]) -> None:
    said = read_words(typed)
    assert (said.after, said.note, said.wrong) == ("5", "edges cold", "cold shut")
    assert {(m.name, m.value) for m in said.measures} == {("thickness", 0.0121), ("width", 0.041)}


def test_a_note_without_quotes_runs_to_the_end_of_the_line() -> None:
    assert (
        read_words(["heats", "3", "note", "cracked", "by", "the", "third", "heat"]).note == "cracked by the third heat"
    )


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("thickness -3 mm", "negative"),
        ("thickness 0 mm", "not above zero"),
        ("thickness 12.1", "number without a unit"),
        ("thickness 3 kg", "mass"),
        ("thickness 40 in", "look at the unit"),
        ("heats 2.5", "whole number"),
        ("heats 0", "whole number"),
        ("hardness 95 HRC", "up to 70"),
        ("hardness -5", "above 0"),
        ("t 12 mm", "length|thickness or temperature or time"),
        ("12.1 mm thickness", "before any name"),
        ("thikness=12mm", "did you mean thickness"),
        ("flow=5 m", "may mean a"),
        ("note cold thickness 12 mm", "put the note in quotes"),
        ("note cold after 5", "put the note in quotes"),
        ("note cold wrong shut", "put the note in quotes"),
        ("note cold width=3mm", "put the note in quotes"),
        ("wrong cold shut", "quotes"),
        ("thickness 12 mm thick 13 mm", "thickness is given twice"),
        ("after 5 after 6 heats 1", "given twice"),
        ("thickness", "Nothing follows"),
        ("gibberish", "I do not understand"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(typed: str, sentence: str) -> None:
    words = [typed] if "=" in typed and "note" not in typed else typed.split()
    with pytest.raises(InputError, match=sentence) as error:
        read_words(words)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ("2", ONE_BAR[2]),
        ("billet 2", ONE_BAR[2]),
        ("Billet: 2", ONE_BAR[2]),
        ("draw", ONE_BAR[2]),
        ("stack", ONE_BAR[0]),
        ("last", ONE_BAR[3]),
    ],
)
def test_a_step_is_found_by_number_or_by_what_it_does(words: str, place: Place) -> None:
    assert find_place(words, ONE_BAR) == place


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("9", "no step.*billet 0 to 3, core bar 0 to 1"),
        ("weld", "may mean billet 1 .weld. or billet 3 .weld."),
        ("1", "may mean billet 1 .weld. or core bar 1"),
        ("core bar 2", "no step"),
        ("billet", "no step"),
    ],
)
def test_a_step_that_does_not_exist_or_could_be_two_is_refused(words: str, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        find_place(words, TWO_BARS)


def test_a_bar_whose_name_has_a_space_is_found() -> None:
    assert find_place("core bar draw", TWO_BARS) == TWO_BARS[-1]


PIECES = ["after", "thickness", "note", "wrong", "heats", "hardness", "12", "mm", "-3", "1/0", "in", "=", "x=1/0 in"]
ODD = ["x=5 m", "x=½ in", "x=1e999", "none", "photo", "by", "", " ", ",", "thickness.", "=3mm"]


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from([*PIECES, *ODD]) | st.text(max_size=12), max_size=8))
def test_any_words_are_a_note_or_one_sentence(words: list[str]) -> None:
    try:
        said = read_words(words)
    except InputError as error:
        assert str(error)
    else:
        assert all(measure.value is None or math.isfinite(measure.value) for measure in said.measures)


@given(st.text(max_size=20))
def test_any_place_is_a_step_or_one_sentence(words: str) -> None:
    try:
        assert find_place(words, TWO_BARS) in TWO_BARS
    except InputError as error:
        assert str(error)


def test_went_wrong_is_said_as_at_the_bench() -> None:
    said = read_words(["after", "5", "went", "wrong", "warp", "note", "bow to the left"])
    assert (said.after, said.wrong, said.note) == ("5", "warp", "bow to the left")
