"""Which stage of a knife some words mean."""

from __future__ import annotations

import re
from collections.abc import Sequence

from billet.record.door.near import all_near, nearest
from billet.record.entry import Place
from billet.stages import Stage, verb_of
from billet.stages.stage_names import EITHER, ORDINALS, SYNONYMS

_WORDS = tuple(word for verb, others in SYNONYMS.items() for word in (verb, *others))


def place_of(stage: Stage) -> Place:
    """The stage as it is kept with a note."""
    return Place(stage.bar, stage.number, stage.do if stage.bar else stage.name)


def matching(phrase: str, every: Sequence[Stage]) -> list[Stage]:
    """The stages that a phrase fits: a number, what is done with or without which time, the bar's name before either."""
    tidy = re.sub(r"[\s:/,#.]+", " ", phrase.lower()).strip()
    tidy = re.sub(r"\b(?:number|nr|the|step|stage|no(?= \d))\b ?", "", tidy).strip()
    if not tidy:
        return []
    found = [stage for stage in every if _fits(tidy, stage, every)]
    if found:
        return found
    for bar in dict.fromkeys(stage.bar for stage in every if stage.bar):
        rest = tidy.removeprefix(bar.lower()).strip()
        if rest != tidy and rest:
            return [stage for stage in every if stage.bar == bar and _fits(rest, stage, every)]
    return []


def _fits(tidy: str, stage: Stage, every: Sequence[Stage]) -> bool:
    if tidy in (str(stage.number), stage.name):
        return True
    if tidy == "last":
        return bool(stage.bar) and stage.number == max(other.number for other in every if other.bar == stage.bar)
    words = tidy.split()
    turn, rest = _turn(words)
    verbs = _verbs(rest, every)
    if stage.do not in verbs:
        return False
    alike = [other for other in every if other.bar == stage.bar and other.do == stage.do]
    if turn is None:
        return True
    if turn > len(alike):
        return stage.number == turn  # "weld 4": the weld that is step 4
    return alike[turn - 1 if turn > 0 else turn] is stage


def _turn(words: list[str]) -> tuple[int | None, str]:
    """Which of several alike ("second temper", "temper 2"), and the words without it."""
    first = nearest(words[0], ORDINALS) if len(words) > 1 else None
    if first is not None:
        return ORDINALS[first], " ".join(words[1:])
    if len(words) > 1 and re.fullmatch("[0-9]{1,4}", words[-1]):
        return int(words[-1]), " ".join(words[:-1])
    return None, " ".join(words)


def _verbs(word: str, every: Sequence[Stage]) -> tuple[str, ...]:
    if word in EITHER:
        return EITHER[word]
    verb = verb_of(word)
    if verb is not None:
        return (verb,)
    meant = {verb_of(near) or near for near in all_near(word, {*_WORDS, *(stage.do for stage in every)})}
    return (meant.pop(),) if len(meant) == 1 else ()


def choose(found: Sequence[Stage], every: Sequence[Stage], reached: tuple[str, int] | None) -> Stage:
    """Of several that fit, the first that has not been passed when the last note stood at ``reached``, else the last."""
    keys = [stage.key for stage in every]
    passed = keys.index(reached) if reached in keys else -1
    return next((stage for stage in found if keys.index(stage.key) >= passed), found[-1])
