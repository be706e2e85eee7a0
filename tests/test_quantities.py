"""Workshop text in, SI out, and back: what must be read, what must be refused, and how it is printed.

Conversion factors: 1 in = 25.4 mm, 1 lb = 0.45359237 kg (international yard and pound agreement of 1959, exact);
standard gravity 9.80665 m/s2 (ISO 80000-3); 0 C = 273.15 K (SI brochure); t C = (t F - 32) / 1.8.
"""

import math
import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, ValidationError

from billet.base import fields
from billet.base.errors import InputError
from billet.base.units import EXAMPLES, Kind, read, show

LENGTHS = [
    ("3/16 in", 3 / 16 * 25.4),
    ("1 1/2 in", 38.1),
    ("1-1/2 in", 38.1),
    ("1½ in", 38.1),
    ('1½"', 38.1),
    ("½ in", 12.7),
    ("⅜ in", 9.525),
    ('3/16"', 4.7625),
    ("3⁄16 in", 4.7625),
    ("140 thou", 3.556),
    ("140 thousandths", 3.556),
    ('0.140"', 3.556),
    ("0.140″", 3.556),
    ("0.140''", 3.556),
    (".140 in", 3.556),
    ("3 in.", 76.2),
    ("5 Inch", 127.0),
    ("5 IN", 127.0),
    ("1 ft 6 in", 457.2),
    ("6' 2\"", 1879.6),
    ("6'", 1828.8),
    ("3.2 mm", 3.2),
    ("3.2mm", 3.2),
    ("5 MM", 5.0),
    ("  4 cm ", 40.0),
    ("0.24 m", 240.0),
    ("11 µm", 0.011),
    ("11 μm", 0.011),
    ("11 um", 0.011),
    ("11 microns", 0.011),
    ("1e-3 m", 1.0),
    ("0 mm", 0.0),
]


@pytest.mark.parametrize(("text", "millimetres"), LENGTHS)
def test_lengths_as_the_workshop_writes_them(text: str, millimetres: float) -> None:
    assert read(text, Kind.LENGTH) == pytest.approx(millimetres / 1e3, rel=1e-15)


OTHERS = [
    ("1150 C", Kind.TEMPERATURE, 1423.15),
    ("195 °C", Kind.TEMPERATURE, 468.15),
    ("195 ° C", Kind.TEMPERATURE, 468.15),
    ("195℃", Kind.TEMPERATURE, 468.15),
    ("195 degC", Kind.TEMPERATURE, 468.15),
    ("2100 F", Kind.TEMPERATURE, (2100 - 32) / 1.8 + 273.15),
    ("380 degF", Kind.TEMPERATURE, (380 - 32) / 1.8 + 273.15),
    ("1423 K", Kind.TEMPERATURE, 1423.0),
    ("-40 F", Kind.TEMPERATURE, 233.15),
    ("50 F", Kind.DIFFERENCE, 50 / 1.8),
    ("28 C", Kind.DIFFERENCE, 28.0),
    ("28 K", Kind.DIFFERENCE, 28.0),
    ("90 s", Kind.TIME, 90.0),
    ("10 min", Kind.TIME, 600.0),
    ("2 h", Kind.TIME, 7200.0),
    ("2 hr", Kind.TIME, 7200.0),
    ("1 h 30 min", Kind.TIME, 5400.0),
    ("1h30m", Kind.TIME, 5400.0),
    ("1 1/2 h", Kind.TIME, 5400.0),
    ("3 lb 4 oz", Kind.MASS, 3.25 * 0.45359237),
    ("1.4 kg", Kind.MASS, 1.4),
    ("454 g", Kind.MASS, 0.454),
    ("20 t", Kind.FORCE, 20 * 1000 * 9.80665),
    ("20 tonf", Kind.FORCE, 20 * 2000 * 0.45359237 * 9.80665),
    ("200 kN", Kind.FORCE, 200e3),
    ("45 deg", Kind.ANGLE, math.pi / 4),
    ("45°", Kind.ANGLE, math.pi / 4),
    ("0.5 rad", Kind.ANGLE, 0.5),
    ("20 l", Kind.VOLUME, 0.02),
    ("5 gal", Kind.VOLUME, 5 * 231 * 0.0254**3),
    ("500 cm³", Kind.VOLUME, 5e-4),
    ("3 in^3", Kind.VOLUME, 3 * 0.0254**3),
    ("3 cu in", Kind.VOLUME, 3 * 0.0254**3),
    ("0 K", Kind.TEMPERATURE, 0.0),
    ("+2 h", Kind.TIME, 7200.0),
    ("1 h 59 min", Kind.TIME, 7140.0),
    ("1e0003 s", Kind.TIME, 1000.0),
]


@pytest.mark.parametrize(("text", "kind", "si"), OTHERS)
def test_other_kinds(text: str, kind: Kind, si: float) -> None:
    assert read(text, kind) == pytest.approx(si, rel=1e-14)


REFUSED: list[tuple[object, Kind, str]] = [
    ("3/16", Kind.LENGTH, "without a unit"),
    ("3.2", Kind.LENGTH, "without a unit"),
    (3.2, Kind.LENGTH, "without a unit"),
    (3, Kind.TIME, "without a unit"),
    (True, Kind.LENGTH, "not a text"),
    (None, Kind.MASS, "not a text"),
    (["3 mm"], Kind.LENGTH, "not a text"),
    ("", Kind.LENGTH, "empty"),
    ("   ", Kind.LENGTH, "empty"),
    ("in", Kind.LENGTH, "without a number"),
    ("195 C", Kind.LENGTH, "a temperature"),
    ("380 F", Kind.TIME, "a temperature"),
    ("195°", Kind.TEMPERATURE, "an angle"),
    ("5 kg", Kind.LENGTH, "a mass"),
    ("3 mm", Kind.TEMPERATURE, "a length"),
    ("5 hectare", Kind.LENGTH, "not a unit of length"),
    ("140 mil", Kind.LENGTH, "ambiguous"),
    ("3,5 mm", Kind.LENGTH, "comma"),
    ("1,200 mm", Kind.LENGTH, "comma"),
    ("-3 mm", Kind.LENGTH, "negative"),
    ("−3 mm", Kind.LENGTH, "negative"),
    ("-2 h", Kind.TIME, "negative"),
    ("nan mm", Kind.LENGTH, "not a finite"),
    ("inf mm", Kind.LENGTH, "not a finite"),
    ("1e999 mm", Kind.LENGTH, "not a finite"),
    ("1e99999999 mm", Kind.LENGTH, "not a finite"),
    ("-300 C", Kind.TEMPERATURE, "absolute zero"),
    ("-1 K", Kind.TEMPERATURE, "absolute zero"),
    ("3/0 in", Kind.LENGTH, "divides by zero"),
    ("1 5/3 in", Kind.LENGTH, "5/3"),
    ("1 2/2 in", Kind.LENGTH, "2/2"),
    ("10 thou + 2 mm", Kind.LENGTH, "not one number"),
    ("2*3 mm", Kind.LENGTH, "not one number"),
    ("9**9**7 mm", Kind.LENGTH, "not one number"),
    ("__import__('os')", Kind.LENGTH, "not one number"),
    ("2:00", Kind.TIME, "not one number"),
    ("3.2.1 mm", Kind.LENGTH, "not one number"),
    ("--3 mm", Kind.LENGTH, "not one number"),
    ("١٢ mm", Kind.LENGTH, "not one number"),
    ("3 thow", Kind.LENGTH, "thou"),
    ("3 parsnip", Kind.LENGTH, "do not know the unit"),
    ("6 in 2 ft", Kind.LENGTH, "parts"),
    ("1 h 90 min", Kind.TIME, "parts"),
    ("1 h 60 min", Kind.TIME, "parts"),
    ("1 lb 16 oz", Kind.MASS, "parts"),
    ("20 deg 5 deg", Kind.ANGLE, "parts"),
    ("9" * 58 + " mm", Kind.LENGTH, "longer than"),
    ("1e9999 mm", Kind.LENGTH, "not a finite"),
    ("100 C 20 F", Kind.TEMPERATURE, "parts"),
    ("1" * 5000 + " mm", Kind.LENGTH, "longer than"),
]


@pytest.mark.parametrize(("text", "kind", "why"), REFUSED)
def test_what_is_no_quantity_is_refused_in_one_sentence(text: object, kind: Kind, why: str) -> None:
    with pytest.raises(InputError) as refusal:
        read(text, kind, "bar 1 thickness")
    sentence = str(refusal.value)
    assert sentence.startswith("bar 1 thickness: found ")
    assert why in sentence
    assert f'"{EXAMPLES[kind][0]}"' in sentence
    assert "\n" not in sentence


def test_offsets_may_be_negative() -> None:
    assert read("-1-1/2 in", Kind.LENGTH, signed=True) == pytest.approx(-0.0381, rel=1e-15)
    assert read("-1 ft 6 in", Kind.LENGTH, signed=True) == pytest.approx(-0.4572, rel=1e-15)


def test_sixty_letters_are_read_and_one_more_is_not() -> None:
    """The longest text that is read, in words: sixty letters."""
    assert read("0" * 56 + "3 mm", Kind.LENGTH) == pytest.approx(3e-3, rel=1e-15)
    with pytest.raises(InputError, match="longer than 60"):
        read("0" * 57 + "3 mm", Kind.LENGTH)


@pytest.mark.parametrize(("text", "near"), [("3 milimetre", "millimetre"), ("3 inhc", "inch")])
def test_a_misspelt_unit_is_met_with_the_nearest(text: str, near: str) -> None:
    with pytest.raises(InputError, match=f"did you mean {near}"):
        read(text, Kind.LENGTH)


@pytest.mark.parametrize("kind", list(Kind))
def test_the_examples_in_sentences_are_readable(kind: Kind) -> None:
    assert [read(example, kind) > 0 for example in EXAMPLES[kind]] == [True, True]


@given(st.text(max_size=80), st.sampled_from(list(Kind)))
def test_any_text_is_read_or_refused_never_anything_else(text: str, kind: Kind) -> None:
    try:
        value = read(text, kind)
    except InputError as refusal:
        assert "wanted" in str(refusal)
    else:
        assert math.isfinite(value)


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_a_mixed_fraction_is_the_sum_of_its_parts(whole: int, top: int, bottom: int) -> None:
    top %= bottom
    expected = (whole + top / bottom) * 25.4e-3
    spaced, hyphened = f"{whole} {top}/{bottom} in", f"{whole}-{top}/{bottom} in"
    assert read(spaced, Kind.LENGTH) == read(hyphened, Kind.LENGTH) == pytest.approx(expected, rel=1e-15)


PRINTED = [
    (0.0032, Kind.LENGTH, "metric", "3.2 mm", "3.20 mm"),
    (0.1524, Kind.LENGTH, "imperial", "6.00 in", "6.000 in"),
    (0.003556, Kind.LENGTH, "imperial", "0.14 in", "140 thou"),
    (0.00234, Kind.LENGTH, "metric", "2.3 mm", "2.35 mm"),
    (0.00023, Kind.LENGTH, "metric", "0.2 mm", "0.23 mm"),
    (11e-6, Kind.LENGTH, "metric", "0.0 mm", "11 µm"),
    (11e-6, Kind.LENGTH, "imperial", "0.00 in", "0.4 thou"),
    (3e-9, Kind.LENGTH, "metric", "0.0 mm", "3.0 nm"),
    (-0.002, Kind.LENGTH, "metric", "-2.0 mm", "-2.00 mm"),
    (0.0, Kind.LENGTH, "metric", "0.0 mm", "0.00 mm"),
    (1423.15, Kind.TEMPERATURE, "metric", "1150 C", "1150 C"),
    (1423.15, Kind.TEMPERATURE, "imperial", "2102 F", "2102 F"),
    (27.7778, Kind.DIFFERENCE, "imperial", "50 F", "50 F"),
    (5400.0, Kind.TIME, "metric", "1 h 30 min", "1 h 30 min"),
    (90.0, Kind.TIME, "imperial", "90 s", "90 s"),
    (600.0, Kind.TIME, "metric", "10 min", "10 min"),
    (1.4741752, Kind.MASS, "imperial", "3 lb 4.0 oz", "3 lb 4.0 oz"),
    (1.4, Kind.MASS, "metric", "1.40 kg", "1.40 kg"),
    (0.45358, Kind.MASS, "imperial", "1 lb 0.0 oz", "1 lb 0.0 oz"),
    (math.pi / 4, Kind.ANGLE, "metric", "45 deg", "45 deg"),
    (math.pi / 7, Kind.ANGLE, "imperial", "25.7 deg", "25.7 deg"),
    # where one way of writing ends and the next begins
    (1e-3, Kind.LENGTH, "metric", "1.0 mm", "1.00 mm"),
    (1.03e-3, Kind.LENGTH, "metric", "1.0 mm", "1.05 mm"),
    (0.98e-3, Kind.LENGTH, "metric", "1.0 mm", "0.98 mm"),
    (1e-4, Kind.LENGTH, "metric", "0.1 mm", "0.10 mm"),
    (1e-7, Kind.LENGTH, "metric", "0.0 mm", "0.10 µm"),
    (99e-9, Kind.LENGTH, "metric", "0.0 mm", "99 nm"),
    (-1e-8, Kind.LENGTH, "metric", "0.0 mm", "-10 nm"),
    (10 * 25.4e-6, Kind.LENGTH, "imperial", "0.01 in", "10 thou"),
    (9.6 * 25.4e-6, Kind.LENGTH, "imperial", "0.01 in", "9.6 thou"),
    (0.1 * 25.4e-6, Kind.LENGTH, "imperial", "0.00 in", "0.1 thou"),
    (0.09 * 25.4e-6, Kind.LENGTH, "imperial", "0.00 in", "0.090 thou"),
    (999.4 * 25.4e-6, Kind.LENGTH, "imperial", "1.00 in", "999 thou"),
    (999.6 * 25.4e-6, Kind.LENGTH, "imperial", "1.00 in", "1.000 in"),
    (0.0, Kind.TIME, "metric", "0 s", "0 s"),
    (9.5, Kind.TIME, "metric", "9.5 s", "9.5 s"),
    (10.0, Kind.TIME, "metric", "10 s", "10 s"),
    (119.0, Kind.TIME, "metric", "119 s", "119 s"),
    (120.0, Kind.TIME, "metric", "2 min", "2 min"),
    (125.0, Kind.TIME, "metric", "2 min 5 s", "2 min 5 s"),
    (3599.0, Kind.TIME, "metric", "59 min 59 s", "59 min 59 s"),
    (3600.0, Kind.TIME, "metric", "1 h", "1 h"),
    (3660.0, Kind.TIME, "imperial", "1 h 1 min", "1 h 1 min"),
    (1.0, Kind.MASS, "metric", "1.00 kg", "1.00 kg"),
    (0.999, Kind.MASS, "metric", "999 g", "999 g"),
    (0.010, Kind.MASS, "metric", "10 g", "10 g"),
    (0.0095, Kind.MASS, "metric", "9.5 g", "9.5 g"),
    (0.5 * 0.45359237, Kind.MASS, "imperial", "8.0 oz", "8.0 oz"),
    (27.7778, Kind.DIFFERENCE, "metric", "28 C", "28 C"),
    (10e3, Kind.FORCE, "metric", "10 kN", "10 kN"),
    (9.99e3, Kind.FORCE, "metric", "9.99 kN", "9.99 kN"),
    (20 * 2000 * 0.45359237 * 9.80665, Kind.FORCE, "imperial", "20.0 tonf", "20.0 tonf"),
    (1e-3, Kind.VOLUME, "metric", "1.0 l", "1.0 l"),
    (0.5e-3, Kind.VOLUME, "metric", "500.0 ml", "500.0 ml"),
    (0.003785411784, Kind.VOLUME, "imperial", "1.0 gal", "1.0 gal"),
    (115.5 * 0.0254**3, Kind.VOLUME, "imperial", "115.5 in3", "115.5 in3"),
]


@pytest.mark.parametrize(("value", "kind", "units", "coarse", "fine"), PRINTED)
def test_printed_with_the_digits_a_bench_uses(value: float, kind: Kind, units: str, coarse: str, fine: str) -> None:
    """Rounding 0.05 mm or 1 thou for thicknesses, 0.1 mm or 0.01 in for the ledger: common practice, no source."""
    assert (show(value, kind, units), show(value, kind, units, fine=True)) == (coarse, fine)


@pytest.mark.parametrize("nothing", [None, math.nan, math.inf])
def test_nothing_to_print_is_a_dash(nothing: float | None) -> None:
    assert show(nothing, Kind.LENGTH, "metric") == "-"


def test_units_other_than_the_two_are_a_fault_of_the_caller() -> None:
    with pytest.raises(ValueError, match="metric"):
        show(1.0, Kind.LENGTH, "cubits")


ROUNDING = {
    (Kind.LENGTH, "metric"): (0.05001e-3, 0.0),
    (Kind.LENGTH, "imperial"): (0.005001 * 0.0254, 0.0),
    (Kind.TEMPERATURE, "metric"): (0.5001, 0.0),
    (Kind.TEMPERATURE, "imperial"): (0.5001 / 1.8, 0.0),
    (Kind.TIME, "metric"): (0.5001, 0.0084),
    (Kind.MASS, "metric"): (0.0051, 0.05),
    (Kind.MASS, "imperial"): (0.05001 * 0.45359237 / 16, 0.0),
    (Kind.ANGLE, "metric"): (math.radians(0.05001), 0.0),
}


@pytest.mark.parametrize(("kind", "units"), list(ROUNDING))
@given(value=st.floats(1.0, 5.0e3))
def test_what_is_printed_reads_back_within_its_rounding(kind: Kind, units: str, value: float) -> None:
    absolute, relative = ROUNDING[kind, units]
    assert read(show(value, kind, units), kind) == pytest.approx(value, abs=absolute + relative * value)


STEPS = {"metric": (0.0, 0.02501e-3), "imperial": (0.0501 * 2.54e-5, 0.501 * 2.54e-5)}


@pytest.mark.parametrize("units", list(STEPS))
@given(power=st.floats(-9.0, -0.7))
def test_a_thickness_reads_back_within_its_step(units: str, power: float) -> None:
    """Half of the second digit, and never more than half of 0.05 mm or of 1 thou (0.1 thou for thin layers)."""
    value, (thin, step) = 10.0**power, STEPS[units]
    again = read(show(value, Kind.LENGTH, units, fine=True), Kind.LENGTH)
    assert abs(again - value) <= min(step, max(0.0501 * value, thin))


def test_reading_everyday_units_does_not_load_pint() -> None:
    code = "import sys; from billet.base.units import *; read('3/16 in', Kind.LENGTH); print('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


class Plate(BaseModel):
    """A small model with one field of each sort."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    thickness: fields.Length
    offset: fields.SignedLength = 0.0
    heat: fields.Temperature = 1423.15
    time: fields.Duration = 600.0
    drops: tuple[fields.Length, ...] = ()
    pieces: fields.Count = 1
    share: fields.Share = 0.5


def sentences(values: dict[str, Any], door: bool) -> list[str]:
    with pytest.raises(ValidationError) as refusal:
        Plate.model_validate(values, context={"door": door})
    return [fields.sentence(dict(error), Plate.model_fields) for error in refusal.value.errors()]


def test_a_recipe_file_gives_texts_and_a_caller_may_give_si() -> None:
    through_the_door = Plate.model_validate(
        {"thickness": "3 mm", "offset": "-1 mm", "heat": "1150 C", "time": "10 min", "pieces": 4, "share": 1},
        context={"door": True},
    )
    assert through_the_door == Plate(thickness=0.003, offset=-0.001, pieces=4, share=1.0)


@pytest.mark.parametrize(
    ("values", "part"),
    [
        ({"thickness": 3.2}, "thickness: found 3.2, a number without a unit"),
        ({"thickness": "3 C"}, "thickness: found"),
        ({"thickness": "3 mm", "drops": ["1 mm", "2 C"]}, 'drops number 2: found "2 C", which is a temperature'),
        ({"thickness": "3 mm", "pieces": 2.5}, "pieces: found 2.5, wanted a whole number."),
        ({"thickness": "3 mm", "pieces": True}, "pieces: found True, wanted a whole number."),
        ({"thickness": "3 mm", "pieces": 0}, "pieces: found 0, wanted 1 or more."),
        ({"thickness": "3 mm", "share": 95}, "share: found 95, wanted 1 or less."),
        ({"thickness": "3 mm", "share": True}, "share: found True, wanted a bare number."),
        ({"thickness": "3 mm", "thicknes": 1}, 'I do not know the key "thicknes" here; did you mean "thickness"?'),
        ({}, 'The key "thickness" is missing here.'),
    ],
)
def test_every_fault_of_a_recipe_has_its_sentence(values: dict[str, Any], part: str) -> None:
    (only,) = sentences(values, door=True)
    assert part in only
    assert "Value error" not in only


def test_all_faults_come_at_once() -> None:
    assert len(sentences({"thickness": 1, "heat": "2 mm", "pieces": "x", "colour": 1}, door=True)) == 4


@pytest.mark.parametrize("value", [-0.001, math.nan, np.ones(3), True])
def test_a_caller_gets_no_nonsense_past_either(value: object) -> None:
    (only,) = sentences({"thickness": value}, door=False)
    assert only.startswith("thickness: found")


def test_the_schema_shows_a_text_with_examples() -> None:
    schema = Plate.model_json_schema()["properties"]["thickness"]
    assert (schema["type"], schema["examples"]) == ("string", ["3/16 in", "3.2 mm"])
