"""Read the words of one note: which stage, what was measured, what went wrong and what cured it; the rest is the note."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from billet.base.errors import InputError
from billet.base.units import read
from billet.record.door.naming import named, unit_for
from billet.record.door.note_fields import Fields, take_fields
from billet.record.door.note_parts import Section, sections, texts_of
from billet.record.door.quantity import Quantity, quantities
from billet.record.door.tokens import Token, tokens
from billet.record.door.vocabulary import FILLERS, PROSE, measure_word, place_word
from billet.record.door.which_stage import choose, matching, place_of
from billet.record.entry import Measure, Place
from billet.record.measures import BY_NAME, read_measure
from billet.stages import Stage
from billet.stages.stage_names import ORDINALS


@dataclass(frozen=True)
class Desk:
    """What the reader of a note knows: the stages of the knife (asked for only when the note names one), the recipe's
    units, and the stage the last note stood at.
    """

    stages: Callable[[], Sequence[Stage]] = tuple
    units: str = "metric"
    reached: tuple[str, int] | None = None


@dataclass(frozen=True)
class Understood:
    """What the words say. ``dropped`` are the fields and measures taken back (``thickness none``); ``doubts`` are the
    sentences to say back beside what was understood.
    """

    place: Place | None = None
    measures: tuple[Measure, ...] = ()
    dropped: tuple[str, ...] = ()
    note: str = ""
    wrong: str = ""
    cure: str = ""
    photos: tuple[str, ...] = ()
    by: str = ""
    typed: str = ""
    doubts: tuple[str, ...] = ()


def understand(words: str | Sequence[str], desk: Desk) -> Understood:
    """Understand one note, as one line or as the words of a command line. Never refuses; an empty note says nothing."""
    fields = take_fields(words)
    every = tokens(fields.line)
    parts = sections(every)
    stage, taken, doubts = _stage(every, parts, desk)
    told = [part for part in parts if part.name == "cure"]
    free = taken | {at for part in told for at in range(part.start, part.end)} | {part.at for part in parts}
    found = named(every, quantities(every, free), free, stage)
    measures, used, more = _measures(every, found, desk, fields)
    note, wrong, cure, said = texts_of(fields, every, parts, taken | used)
    return Understood(
        place_of(stage) if stage else None, measures, fields.dropped, note, wrong, cure, fields.photos, fields.by,
        fields.typed, (*doubts, *more, *said),
    )  # fmt: skip


_AFTER = ("after", "step", "stage", "post")
_DURING = ("during", "in", "at", "on", "before")
_MOST_WORDS = 5
_PART_OF_WELD = ("line", "lines", "seam", "seams", "plane")  # "weld line open" speaks of no step
_UNIT_LETTERS = 5  # shorter words are rather words than rare units


def _stage(
    every: Sequence[Token], parts: Sequence[Section], desk: Desk
) -> tuple[Stage | None, set[int], tuple[str, ...]]:
    """The stage that is named: after such a word, or by the words the line begins with."""
    starts = [(at, token.text) for at, token in enumerate(every) if token.text in (*_AFTER, *_DURING)]
    first = next((at for at, token in enumerate(every) if token.sort != "mark"), None)
    lost: tuple[str, ...] = ()
    for at in [at for at, word in starts if word in _AFTER]:
        stage, end, doubt = _phrase(every, at + 1, desk, loose=True)
        if stage is not None:
            return stage, set(range(at, end)), doubt
        if not lost and at + 1 < len(every) and every[at + 1].sort == "number" and at == first:
            lost = (f'no stage "{every[at + 1].text}" in this recipe; kept in the note',)
    begins = [] if first is None or any(part.at == first for part in parts) else [(first, first)]
    for at, start in [*begins, *((at, at + 1) for at, word in starts if word in _DURING)]:
        stage, end, doubt = _phrase(every, start, desk, loose=False)
        if stage is not None:
            return stage, set(range(at, end)), doubt
    for at in [at for at, token in enumerate(every) if token.text in ORDINALS]:
        stage, end, doubt = _phrase(every, at, desk, loose=False)
        if stage is not None and end > at + 1:
            return stage, set(range(at, end)), doubt
    return None, set(), lost


def _phrase(
    every: Sequence[Token], start: int, desk: Desk, *, loose: bool
) -> tuple[Stage | None, int, tuple[str, ...]]:
    """The longest beginning of the words that names a stage; a bare number does only where the phrase is ``loose``."""
    if start >= len(every) or every[start].sort not in ("word", "number"):
        return None, start, ()
    if not loose and (every[start].sort == "number" or _measured(every, start)):
        return None, start, ()
    known = list(desk.stages())
    end = min(start + _MOST_WORDS, len(every))
    for stop in range(end, start, -1):
        if not loose and stop < len(every) and every[stop].text in _PART_OF_WELD:
            continue
        if _splits(every, start, stop) or (every[start].text == "heat" and _bare_number(every, stop)):
            continue
        phrase = " ".join(token.text for token in every[start:stop])
        found = matching(phrase, known)
        if found:
            stage = choose(found, known, desk.reached)
            return stage, stop, _which(phrase, found, stage)
    return None, start, ()


def _bare_number(every: Sequence[Token], at: int) -> bool:
    """Whether a number without unit or noun follows: ``heat 3`` at the start of a line is the third heat, no stage."""
    if at >= len(every) or every[at].sort != "number":
        return False
    behind = every[at + 1] if at + 1 < len(every) else None
    return behind is None or (behind.sort == "word" and measure_word(behind.text) is None and behind.text != "x")


def _measured(every: Sequence[Token], at: int) -> bool:
    """Whether the word names a measure whose figure follows: ``twist 2 mm`` is no stage."""
    if measure_word(every[at].text) is None:
        return False
    return at + 2 < len(every) and every[at + 1].sort == "number" and every[at + 2].sort == "unit"


def _splits(every: Sequence[Token], start: int, stop: int) -> bool:
    """Whether a phrase would tear a number from its unit or its noun, or run across a mark."""
    inside = every[start:stop]
    if any(
        token.sort == "unit" or (token.sort == "mark" and token.text not in ("#", ":", "/", "-")) for token in inside
    ):
        return True
    last, behind = every[stop - 1], every[stop] if stop < len(every) else None
    if last.sort == "mark":
        return True
    if last.sort != "number" or behind is None:
        return False
    name = measure_word(behind.text) if behind.sort == "word" else None
    counted = name in BY_NAME and BY_NAME[name or ""].most > 0 and stop - start > 1
    return behind.sort == "unit" or counted or (behind.text == "x")


def _which(phrase: str, found: Sequence[Stage], stage: Stage) -> tuple[str, ...]:
    if len(found) == 1:
        return ()
    others = " or ".join(str(place_of(one)) if one.bar else one.name for one in found[:4])
    return (f'"{phrase}" may be {others}; taken as {place_of(stage)}, say the number for another',)


def _measures(
    every: Sequence[Token], found: Sequence[Quantity], desk: Desk, fields: Fields
) -> tuple[tuple[Measure, ...], set[int], tuple[str, ...]]:
    """The measures of a line, the tokens that are spent on them, and what has to be said."""
    measures = list(fields.measures)
    used: set[int] = set()
    doubts: list[str] = list(fields.doubts)
    for one in found:
        if one.base is None:
            continue
        measure, doubt = _measure(every, one, desk)
        if doubt:
            doubts.append(doubt)
        if measure is None:
            continue
        if any(other.name == measure.name for other in measures):
            doubts.append(f"{measure.name} is given twice; the first stands, the other is in the note")
            continue
        measures.append(measure)
        used |= {at for at in one.used if every[at].text not in PROSE}
    return tuple(measures), used, tuple(doubts)


def _strange_unit(every: Sequence[Token], one: Quantity) -> str | None:
    """The word right behind a bare number, where it is a unit nobody has at the bench (3 parsec)."""
    at = one.last + 1
    word = every[at].text if at < len(every) and every[at].sort == "word" else ""
    if len(word) < _UNIT_LETTERS or word in FILLERS or measure_word(word) or place_word(word):
        return None
    for kind, _ in BY_NAME[one.base].kinds if one.base in BY_NAME else ():
        try:
            read(f"1 {word}", kind, word)
        except InputError:
            continue
        return word
    return None


def _measure(every: Sequence[Token], one: Quantity, desk: Desk) -> tuple[Measure | None, str]:
    """The measure of one quantity, or why its words were kept in the note instead."""
    assert one.base is not None
    known, guessed = BY_NAME.get(one.base), False
    unit = None if known is not None and known.most else one.unit
    if one.base == "hardness":
        unit = "HRC"
    elif unit is None and not (known is not None and known.most):
        if known is None and every[one.first].spelled:
            return None, ""  # "delam at one corner" measures nothing
        unit, guessed = unit_for(every, one, desk.units)
        strange = _strange_unit(every, one) if guessed else None
        unit, guessed = (strange, False) if strange else (unit, guessed)
        if unit is None:
            return None, f"{one.base} {one.text}: of what? There is no unit, so it was kept in the note"
    if unit in ("deg", "degree", "degrees", "°") and one.base in ("temperature", "oven", "oil", "dial"):
        unit, guessed = ("F" if desk.units == "imperial" else "C"), True
    several = any(letter.isalpha() for letter in one.text)
    text = one.text if unit is None or several else f"{one.text} {unit}"
    side = f" {one.side}" if one.side and known is not None and known.signed else ""
    name = f"{one.base}.{one.where}" if one.where else one.base
    try:
        measure = read_measure(name, text + side)
    except InputError as error:
        return None, f"{error} It was kept in the note."
    if measure.value is None:
        return None, ""
    doubt = f"{name} {text}: no unit was given, taken as {unit}" if guessed else ""
    return replace(measure, written=text + side), doubt
