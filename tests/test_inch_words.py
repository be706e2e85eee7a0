"""What a field's sentence says to a smith who thinks in inches: the same field, sizes one would ask for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from billet.base.units import Kind, read
from render.page.field_words import CHOICES, LABELS
from render.page.forms import forms
from render.page.inch_words import inch_words


@pytest.mark.parametrize(
    ("metric", "inches"),
    [  # worked by hand: 12.7 mm to a half inch, 1150 C is 2102 F, 0.25 mm is 9.8 thou, 300 mm is 11.81 in, 195 C is 383 F, 15 l is 3.96 gal, 250 kN is 28.1 short tons
        ('Thickness. Left out, it follows; example "12 mm".', 'Thickness. Left out, it follows; example "1/2 in".'),
        ('How hot; example "1150 C".', 'How hot; example "2100 F".'),
        ('The edge. Default "0.25 mm"; example "0.4 mm".', 'The edge. Default "10 thou"; example "15 thou".'),
        ('The press. Default "80 mm"; example "100 mm".', 'The press. Default "3 1/8 in"; example "4 in".'),
        ('The fire. Default "300 mm"; example "400 mm".', 'The fire. Default "11 13/16 in"; example "16 in".'),
        ('The oven. Default "195 C"; example "200 C".', 'The oven. Default "385 F"; example "390 F".'),
        ('The bath; example "15 l".', 'The bath; example "4 gal".'),
        ('The press; example "250 kN".', 'The press; example "30 tons".'),
        ("Left out, 2.6, 2.1 and 0.9 mm; example 3.", "Left out, 102 thou, 83 thou and 35 thou; example 3."),
        ('Bars; example ["2 of 1084 1/8 x 1 1/2 x 48 in"].', 'Bars; example ["2 of 1084 1/8 x 1 1/2 x 48 in"].'),
        ('The cut; example "2 mm" or "1.6 mm".', 'The cut; example "80 thou" or "1/16 in".'),
        ('The file; example "7mm.csv".', 'The file; example "7mm.csv".'),
    ],
)
def test_sentences_are_said_in_inches(metric: str, inches: str) -> None:
    assert inch_words(metric) == inches


def _fields(form: Any) -> Iterator[Any]:
    for one in form["fields"]:
        yield one
        yield from _fields(one)


def _pairs() -> list[tuple[Any, Any]]:
    both = [forms(units) for units in ("metric", "imperial")]
    found = [[f for form in (*one["steps"], *one["tables"].values()) for f in _fields(form)] for one in both]
    return list(zip(*found, strict=True))


def test_every_example_in_inches_is_near_the_metric_one_and_can_be_typed() -> None:
    many = 0
    for metric, inch in _pairs():
        if metric["dimension"] not in ("length", "temperature") or not (metric["example"] or "").startswith('"'):
            continue
        kind = Kind.TEMPERATURE if metric["dimension"] == "temperature" else Kind.LENGTH
        one, other = (read(field["example"].strip('"'), kind) for field in (metric, inch))
        assert other == pytest.approx(one, rel=0.2, abs=5e-6), (metric["name"], metric["example"], inch["example"])
        many += 1
    assert many > 60


def test_no_metric_size_is_left_in_the_words_of_an_inch_recipe() -> None:
    said = [f"{f['sentence']} {f['hint']} {f['default']} {f['example']}" for _, f in _pairs()]
    assert [words for words in said if re.search(r"\d (mm|C|l|kN)\b", words)] == []
    assert sum((m["sentence"], m["hint"]) != (f["sentence"], f["hint"]) for m, f in _pairs()) > 60


def test_a_field_of_the_page_shows_its_default_and_its_example_once() -> None:
    every = [m for m, _ in _pairs()]
    assert [f["name"] for f in every if re.search(r"\bexample\b|Default|as a table", f["sentence"])] == []
    assert [f["name"] for f in every if "_" in f["label"] or not f["label"]] == []
    assert {f["hint"] for f in every if f["name"] == "repeat"} == {"1"}
    assert {f["hint"] for f in every if f["name"] == "hardness"} == {"such as 61"}


def test_every_word_of_the_page_for_a_field_belongs_to_one() -> None:
    both = forms("metric")
    known = {name for form in (*both["steps"], *both["tables"].values()) for name in (f["name"] for f in _fields(form))}
    assert [key for key in LABELS if key.rpartition(".")[2] not in known] == []
    assert [word for word in CHOICES if not any(word in f["choices"] for f, _ in _pairs())] == []
