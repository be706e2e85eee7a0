"""A step is told nothing that is not so: the ledger knows it by its flags alone, and a new one needs no list elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import pytest

from billet.bar.bar import Bar, Laminar
from billet.bar.outcome import Bench, Outcome
from billet.ledger.step_warnings import after_step
from billet.steps import step_types
from billet.steps.step import Step
from tests.examples import EXAMPLES, bench, marked


@pytest.fixture
def newcomer() -> Iterator[type[Step]]:
    """A step that turns the bar over, as a newcomer would write it: no flag, no list, gone again afterwards."""

    class TurnOver(Step):
        """Turn the bar upside down."""

        do: Literal["turn_over"] = "turn_over"

        def apply(self, bar: Bar, bench: Bench) -> Outcome:
            assert bar.laminate is not None
            return Outcome(replace(bar, material=Laminar(bar.laminate.turned_over())))

    yield TurnOver
    del Step.kinds["TurnOver"]


def lopsided() -> Bar:
    """A bar whose two faces are of two steels."""
    bar = marked()
    assert bar.laminate is not None
    cut, _ = bar.laminate.skimmed(0.0, 0.7e-3)
    return replace(bar, material=Laminar(cut), thickness=cut.total)


def test_a_new_step_is_known_by_its_class_and_warned_of_nothing(newcomer: type[Step]) -> None:
    assert step_types()["turn_over"] is newcomer
    before = lopsided()
    assert before.laminate is not None
    steels = [before.laminate.steels[k].name for k in before.laminate.steel[[0, -1]]]
    assert steels[0] != steels[1]
    step = newcomer()
    assert after_step(before, step.apply(before, bench()), bench(), step) == ()


@pytest.mark.parametrize("name", EXAMPLES)
def test_layers_are_only_told_gone_where_metal_left_the_faces(name: str) -> None:
    example = EXAMPLES[name]
    before = example.start()
    outcome = example.step.apply(before, bench())
    told = [n for n in after_step(before, outcome, bench(), example.step) if "gone" in n.say("metric")]
    assert not told or outcome.lost.scale + outcome.lost.grinding > 0


def test_a_step_is_known_only_when_it_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    class Watched(dict[str, type[Step]]):
        def __setitem__(self, name: str, kind: type[Step]) -> None:
            seen.append((name, "do" in kind.model_fields))  # whoever looks in from another thread asks for this
            super().__setitem__(name, kind)

    seen: list[tuple[str, bool]] = []
    monkeypatch.setattr(Step, "kinds", Watched())

    class Upset(Step):
        do: Literal["upset"] = "upset"

    assert seen == [(Upset.__name__, True)]
