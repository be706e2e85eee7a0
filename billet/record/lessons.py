"""What went wrong at a stage on other knives, the likest knife first, with what cured it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

from billet.base.errors import InputError
from billet.base.units import Kind, read
from billet.record.entry import Entry, Place, latest
from billet.stages import Stage, verb_of
from billet.stages.stage_names import ORDINALS

MOST = 3
AGAIN = "again"  # the source of the note that names the knife a recipe was started from
_PLAIN = frozenset(("weld", "draw", "restack", "fold", "heat", "surface", "trim"))
_ALIKE = 0.2  # spines whose thickness differs by less than this share are alike: common practice, no source


@dataclass(frozen=True)
class Lesson:
    """What went wrong on a ``knife`` on a ``day`` at a ``stage``, and what cured it (empty: nobody wrote it down)."""

    knife: str
    day: str
    stage: str
    wrong: str
    cure: str
    entry: int

    def say(self) -> str:
        """One line for the smith."""
        told = self.wrong or "do better"
        cure = f" Cure: {self.cure}." if self.cure and self.wrong else f" Next time: {self.cure}." if self.cure else ""
        said = f"{told.rstrip('.')}." if self.wrong else ""
        return f"{self.knife}, {self.day}, {self.stage}: {said}{cure}".replace(":  ", ": ")


@dataclass(frozen=True)
class Traits:
    """What makes two knives alike: their steels, what was done for the pattern, the spine at the heel [m]."""

    steels: frozenset[str] = frozenset()
    pattern: frozenset[str] = frozenset()
    spine: float | None = None


def lessons(
    entries: Iterable[Entry], recipes: Mapping[str, str], knife: str, stage: Stage, text: str = ""
) -> tuple[Lesson, ...]:
    """At most three, for a stage of ``knife`` whose recipe is ``text``; ``recipes`` are the texts kept with the notes.

    Only what was noted at the same work counts, on other knives. First comes what befell the very stage (the second
    weld before any other), then the knife this one was started from, then the same steels, pattern and thickness; among
    equals the newest. What is told twice in the same words is shown once.
    """
    standing = latest(entries)
    parents = {one.note for one in standing if one.knife == knife and one.source == AGAIN}
    own = traits(text)
    ranked = []
    for entry in standing:
        if entry.knife == knife or not (entry.wrong or entry.cure) or stage_verb(entry) != stage.do:
            continue
        wrong, cure = entry.wrong, entry.cure or _later_cure(entry, standing)
        if not wrong and _answers(entry, standing):
            continue
        other = traits(recipes.get(entry.recipe_sha256, ""))
        rank = (_same_name(entry.place, stage), entry.knife in parents, *_alike(own, other), entry.at, entry.id)
        ranked.append(
            (rank, Lesson(entry.knife, entry.local_time[:10], _stage_word(entry, stage), wrong, cure, entry.id))
        )
    found: dict[tuple[str, str], Lesson] = {}
    for _, lesson in sorted(ranked, key=lambda pair: pair[0], reverse=True):
        found.setdefault((lesson.wrong.lower(), lesson.cure.lower()), lesson)
    return tuple(found.values())[:MOST]


def stage_verb(entry: Entry) -> str | None:
    """What was being done when a note was written: by its place, else by the first stage its words name."""
    if entry.place is not None:
        return entry.place.do if entry.place.bar else verb_at(entry.place.do)
    words = re.findall(r"[^\W\d_]+", f"{entry.wrong} {entry.note}".lower())
    pairs = [f"{a} {b}" for a, b in pairwise(words)]
    return next((verb for word in (*pairs, *words) if (verb := verb_of(word))), None)


def verb_at(name: str) -> str:
    """What is done at a stage of that name: ``first temper`` is ``temper``."""
    first, _, rest = name.partition(" ")
    return rest if rest and (first in ORDINALS or re.fullmatch(r"\d+th", first)) else name


def _same_name(place: Place | None, stage: Stage) -> bool:
    if place is None:
        return False
    return place.number == stage.number if place.bar else place.do == stage.name


def _stage_word(entry: Entry, stage: Stage) -> str:
    if entry.place is None:
        return stage.do
    return f"{entry.place.do} (step {entry.place.number})" if entry.place.bar else entry.place.do


def _later_cure(wrong: Entry, standing: Sequence[Entry]) -> str:
    """The cure of a later note of the same knife at the same work, where the note itself has none."""
    return next((one.cure for one in standing if one.id > wrong.id and one.cure and _belongs(one, wrong)), "")


def _answers(cure: Entry, standing: Sequence[Entry]) -> bool:
    """Whether a cure without a wrong was already told with the wrong it answers."""
    return any(one.id < cure.id and one.wrong and not one.cure and _belongs(cure, one) for one in standing)


def _belongs(cure: Entry, wrong: Entry) -> bool:
    return cure.knife == wrong.knife and not cure.wrong and stage_verb(cure) in (None, stage_verb(wrong))


def _alike(one: Traits, other: Traits) -> tuple[bool, bool, bool]:
    spines = None if one.spine is None or other.spine is None else abs(one.spine - other.spine) <= _ALIKE * one.spine
    return (
        bool(one.steels) and one.steels == other.steels,
        bool(one.steels) and one.pattern == other.pattern,
        bool(spines),
    )


@cache
def traits(text: str) -> Traits:
    """The traits of a recipe's text; what cannot be read is left open, for an old text must not stop a lesson."""
    try:
        data = tomllib.loads(text)
    except ValueError:
        return Traits()
    bars = [bar for bar in _list(data.get("bar")) if isinstance(bar, dict)]
    steels = frozenset(name for bar in bars for plate in _plates(bar) if (name := _steel(plate)))
    verbs = frozenset(
        str(step["do"]) for bar in bars for step in _list(bar.get("step")) if isinstance(step, dict) and "do" in step
    )
    return Traits(steels, verbs - _PLAIN, _spine(data))


def _plates(bar: dict[str, Any]) -> list[Any]:
    return [*_list(bar.get("stack")), bar.get("base"), bar.get("cap")]


def _steel(plate: Any) -> str:
    """The name in a plate such as ``1084 3.2 mm``: all before its thickness."""
    words = str(plate or "").split()
    at = next((k for k in range(1, len(words)) if re.match(r"[\d.]", words[k])), len(words))
    return " ".join(words[:at]).lower()


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _spine(data: dict[str, Any]) -> float | None:
    blade = data.get("blade")
    spine = blade.get("spine") if isinstance(blade, dict) else None
    if isinstance(spine, dict) and isinstance(spine.get("finished"), dict):
        spine = spine["finished"]
    try:
        return read(spine["heel"], Kind.LENGTH, "spine") if isinstance(spine, dict) else None
    except (KeyError, InputError):
        return None
