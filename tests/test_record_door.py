"""The door for notes: sixty as smiths shout them, and the law that what is said back is understood the same."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from billet.recipe.read import load
from billet.record.door import Desk, understand
from billet.stages import Stage, stages
from tests.bench_notes import LATER, NOTES, Shouted

DEMO = Path(__file__).parent.parent / "demo_billets" / "chef.toml"


@cache
def _stages() -> tuple[Stage, ...]:
    return stages(load(DEMO))


def _named(note: Shouted) -> str:
    place = understand(note.text, Desk(_stages, note.units)).place
    return next((s.name for s in _stages() if place and s.key == (place.bar, place.number)), "")


def _right(note: Shouted) -> bool:
    found = understand(note.text, Desk(_stages, note.units))
    figures = {m.name: m.value for m in found.measures}
    return _named(note) == note.stage and figures == pytest.approx(note.figures, rel=1e-6)


def test_there_are_sixty_notes() -> None:
    assert len(NOTES) == len({note.text for note in NOTES}) == 60


@pytest.mark.parametrize("note", NOTES, ids=lambda note: note.text[:40])
def test_no_note_is_refused_and_its_words_are_kept(note: Shouted) -> None:
    found = understand(note.text, Desk(_stages, note.units))
    assert found.typed == note.text
    assert note.keeps in " ".join((found.note, found.wrong, found.cure))


def test_nearly_all_are_understood_to_the_last_number() -> None:
    missed = [note.text for note in NOTES if not _right(note)]
    assert len(missed) <= 10, "\n".join(missed)


@pytest.mark.parametrize("note", LATER, ids=lambda note: note.text[:40])
def test_those_that_came_later_are_understood_too(note: Shouted) -> None:
    found = understand(note.text, Desk(_stages, note.units))
    assert _named(note) == note.stage
    assert {m.name: m.value for m in found.measures} == pytest.approx(note.figures, rel=1e-6)
    assert note.keeps in " ".join((found.note, found.wrong, found.cure))


@pytest.mark.parametrize(
    ("words", "measures", "note", "wrong"),
    [
        ("wrong delam at one corner", [], "", "delam at one corner"),
        ("went well", [], "went well", ""),
        ("three heats, went well", [("heats", "3")], "went well", ""),
        ("crack one inch long at the heel", [("crack.heel", "1 inch")], "", "crack one inch long"),
    ],
)
def test_a_number_in_words_measures_nothing_that_has_no_unit(
    words: str, measures: list[tuple[str, str]], note: str, wrong: str
) -> None:
    said = understand([words], Desk(tuple, "imperial"))
    assert ([(one.name, one.written) for one in said.measures], said.note, said.wrong) == (measures, note, wrong)
