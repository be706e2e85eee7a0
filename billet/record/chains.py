"""From notes to passages: a bar measured, then heated, drawn or restacked, and measured again."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count, pairwise

from billet.record.entry import Entry, latest
from billet.record.recipes import HOT, StepFacts

SIZES = ("length", "width", "thickness", "mass")


@dataclass(frozen=True)
class Reading:
    """What was read off a bar after a step: ``sizes`` in SI by name, and whether its plates are joined (``solid``).

    ``key`` tells readings apart: a bar that was read once and used twice carries one error of reading, not two.
    """

    key: int
    sizes: Mapping[str, float]
    solid: bool


@dataclass(frozen=True)
class Passage:
    """From one reading to the next: first cut into ``pieces`` (1: not cut), then heated.

    ``kerf`` and ``spacer`` are in metres; ``fire`` holds one value per heat, True when the bar was drawn in that heat.
    """

    before: Reading
    after: Reading
    pieces: int = 1
    kerf: float = 0.0
    spacer: float = 0.0
    fire: tuple[bool, ...] = ()

    @property
    def shares(self) -> tuple[float, ...]:
        """How much of the way from the first size to the last lay behind the bar when each heat began."""
        steps = self.fire if any(self.fire) else (True,) * len(self.fire)
        return tuple(sum(steps[:at]) / sum(steps) for at in range(len(steps)))


def passages(entries: Iterable[Entry], steps: Mapping[str, Sequence[StepFacts]]) -> tuple[Passage, ...]:
    """Every passage that the notes which stand hold, knife by knife and bar by bar.

    ``steps`` gives the steps of each recipe by the hash of its text. Between two readings there may be one restack or
    fold, then any number of welds, heats and draws; over anything else there is no passage. Heats that were noted
    count before those that were planned. When a size was read twice after one step, the later reading stands.
    """
    bars: dict[tuple[str, str, str], list[Entry]] = {}
    for entry in latest(entries):
        if entry.place is not None and entry.recipe_sha256 in steps:
            bars.setdefault((entry.knife, entry.recipe_sha256, entry.place.bar), []).append(entry)
    found: list[Passage] = []
    keys = count()
    for (_, sha256, bar), notes in bars.items():
        own = [facts for facts in steps[sha256] if facts.place.bar == bar]
        found.extend(_of_bar(own, notes, keys))
    return tuple(found)


def _of_bar(steps: Sequence[StepFacts], notes: Sequence[Entry], keys: Iterator[int]) -> Iterator[Passage]:
    noted = {facts.place.number: _noted(facts, notes) for facts in steps}
    read = [facts for facts in steps if noted[facts.place.number]]
    readings = {
        facts.place.number: Reading(next(keys), _sizes(noted[facts.place.number]), _solid(facts)) for facts in read
    }
    for earlier, later in pairwise(read):
        between = [
            _as_done(facts, notes) for facts in steps if earlier.place.number < facts.place.number <= later.place.number
        ]
        passage = Passage(readings[earlier.place.number], readings[later.place.number])
        whole = _through(passage, between)
        if whole is not None:
            yield whole


def _noted(facts: StepFacts, notes: Sequence[Entry]) -> dict[str, float]:
    """Every measure noted after a step, the later note winning."""
    of_step = [note for note in notes if note.place and note.place.number == facts.place.number]
    return {m.name: m.value for note in of_step for m in note.measures if m.value is not None and m.name in SIZES}


def _sizes(noted: Mapping[str, float]) -> dict[str, float]:
    return {name: noted[name] for name in SIZES if name in noted}


def _solid(facts: StepFacts) -> bool:
    return facts.place.do not in ("stack", "join") and facts.pieces == 1


def _as_done(facts: StepFacts, notes: Sequence[Entry]) -> StepFacts:
    """The step with the heats it took, when they were noted."""
    heats = [note.measured("heats") for note in notes if note.place and note.place.number == facts.place.number]
    taken = [count for count in heats if count is not None]
    return replace(facts, heats=int(taken[-1])) if taken and facts.place.do in HOT else facts


def _through(passage: Passage, between: Sequence[StepFacts]) -> Passage | None:
    """The passage with all that was done on the way, or None when there is no formula for it."""
    for facts in between:
        if not facts.plain:
            return None
        if facts.pieces > 1:
            if passage.pieces > 1 or passage.fire or not passage.before.solid:
                return None
            passage = replace(passage, pieces=facts.pieces, kerf=facts.kerf, spacer=facts.spacer)
        else:
            passage = replace(passage, fire=passage.fire + (facts.place.do == "draw",) * facts.heats)
    return passage
