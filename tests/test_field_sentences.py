"""Every field of a recipe says what it is, and what it says is true: its model reads its default and its example."""

from __future__ import annotations

import tomllib
from typing import Annotated, Any

import pytest
from pydantic import TypeAdapter

from billet.manual.described import Described, all_fields

FIELDS = {f"{f.model.__name__}.{f.name}": f for f in all_fields()}


def read(field: Described, text: str) -> Any:
    """What the field makes of a text of TOML that comes through the door of a recipe."""
    kind: Any = (
        Annotated[(field.info.annotation, *field.info.metadata)] if field.info.metadata else field.info.annotation
    )
    return TypeAdapter(kind).validate_python(tomllib.loads(f"value = {text}")["value"], context={"door": True})


@pytest.mark.parametrize("name", FIELDS)
def test_a_field_has_a_sentence_of_its_own_with_an_example_its_model_reads(name: str) -> None:
    field = FIELDS[name]
    assert len(field.sentence.split()) > 4 and field.sentence[0].isupper() and field.sentence.endswith("."), (
        f"{name} has no sentence: write Field(description='What it is. Default ...; example ....')"
    )
    assert field.example is not None, f"{name}: the sentence ends with '; example VALUE.', VALUE as in a recipe"
    assert read(field, field.example) is not None


@pytest.mark.parametrize("name", [n for n, f in FIELDS.items() if isinstance(f.info.default, bool | int | float | str)])
def test_a_default_is_said_as_it_is(name: str) -> None:
    field = FIELDS[name]
    assert field.default is not None, f"{name}: say 'Default {field.info.default}' as a recipe would write it"
    said, true = read(field, field.default), field.info.default
    assert said == (pytest.approx(true, rel=1e-4) if isinstance(true, float) else true)


@pytest.mark.parametrize("name", [n for n, f in FIELDS.items() if not f.info.is_required() and f.info.default is None])
def test_a_field_that_may_be_left_out_says_what_happens_then(name: str) -> None:
    assert "Left out" in FIELDS[name].sentence, f"{name}: say 'Left out, ...'"


def test_the_sentences_reach_an_editor_through_the_schema() -> None:
    from billet.recipe.models import schema

    made = schema()["$defs"]
    assert made["Shop"]["properties"]["kerf"]["description"] == FIELDS["Shop.kerf"].sentence
    assert made["Draw"]["properties"]["thickness"]["description"] == FIELDS["Draw.thickness"].sentence
