"""The story of a note: what is the note, what went wrong, what cured it; told in the words that were typed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from billet.record.door.near import nearest
from billet.record.door.note_fields import Fields
from billet.record.door.tokens import Token
from billet.record.door.vocabulary import FILLERS, tells_trouble


@dataclass(frozen=True)
class Section:
    """Tokens ``start`` to ``end`` (less one) belong to the field ``name``; its word stands at ``at`` (-1: none)."""

    name: str
    start: int
    end: int
    at: int = -1


_NAMES = {"note": "note", "wrong": "wrong", "cure": "cure", "cured": "cure", "fix": "cure", "lesson": "cure",
          "next": "cure"}  # fmt: skip
_NOT_AFTER = frozenset((
    "the", "a", "an", "is", "was", "not", "nothing", "what", "what's", "anything", "something", "looks", "feels", "on",
    "in", "be", "from", "this", "that", "my",
))  # fmt: skip
_WELL = frozenset(["well", "fine", "good", "ok", "okay", "smoothly"])  # "went well" is said whole
_NOT_BEFORE = frozenset(["way", "end", "side", "size", "steel", "place", "direction", "one"])


def sections(every: Sequence[Token]) -> list[Section]:
    """The parts of a line, told apart by the words note, wrong and cure where they stand for a field."""
    heads = [(at, name) for at in range(len(every)) if (name := _heads(every, at))]
    starts = [(0, "note", -1), *((at + 1 + (every[at].text == "next"), name, at) for at, name in heads)]
    ends = [*(at for at, _ in heads), len(every)]
    return [Section(name, start, end, at) for (start, name, at), end in zip(starts, ends, strict=True)]


def _heads(every: Sequence[Token], at: int) -> str | None:
    word = every[at].text
    name = _NAMES.get(word) or ("wrong" if nearest(word, ("wrong",)) else None)
    if name is None or every[at].sort != "word":
        return None
    before = every[at - 1].text if at else ""
    after = every[at + 1].text if at + 1 < len(every) else ""
    if after == ":":
        return name
    if word in ("fix", "lesson"):
        return None
    if word == "next":
        return name if after == "time" else None
    if word in ("cure", "cured") and at and every[at - 1].sort == "word":
        return name if after == "by" or any(token.text == "wrong" for token in every[:at]) else None
    return None if before in _NOT_AFTER or after in _NOT_BEFORE else name


def texts_of(
    fields: Fields, every: Sequence[Token], parts: Sequence[Section], spent: set[int]
) -> tuple[str, str, str, tuple[str, ...]]:
    """Note, wrong and cure as they are kept, and what is said about them."""
    found: dict[str, list[str]] = {"note": [], "wrong": [], "cure": []}
    guessed: list[str] = []
    explicit = any(name == "wrong" for name, _ in fields.texts) or any(part.name == "wrong" for part in parts)
    for part in parts:
        for clause in _clauses(every, part):
            text = _kept(fields.line, every, clause, spent, whole=part.name == "cure")
            if not text:
                continue
            words = [every[at].text for at in clause if every[at].sort == "word"]
            trouble = part.name == "note" and part.at < 0 and not explicit and tells_trouble(words)
            found["wrong" if trouble else part.name].append(text)
            guessed += [text] if trouble else []
    for name, text in fields.texts:
        found[name].append(text)
    said = (f'taken as what went wrong: "{", ".join(guessed)}"',) if guessed else ()
    note, wrong, cure = ("; ".join(dict.fromkeys(found[name])) for name in ("note", "wrong", "cure"))
    return note, wrong, cure, said


def _clauses(every: Sequence[Token], part: Section) -> Iterator[list[int]]:
    clause: list[int] = []
    for at in range(part.start, part.end):
        if every[at].sort == "mark" and every[at].text in (",", ";", ".", "!", "?"):
            yield clause
            clause = []
        else:
            clause.append(at)
    yield clause


def _kept(line: str, every: Sequence[Token], clause: Sequence[int], spent: set[int], *, whole: bool) -> str:
    """The words of a clause from the first that was not understood to the last, as they were typed."""
    free = [at for at in clause if at not in spent and every[at].sort != "mark"]
    if not whole:
        free = [at for at in free if every[at].sort != "unit" or (at and every[at - 1].sort == "number")]
        free = [at for at in free if every[at].text not in FILLERS or len(free) == len(clause)]
        while free and every[free[0]].text == "went" and not (free[1:] and every[free[1]].text in _WELL):
            free = free[1:]
    if not free:
        return ""
    last = free[-1]
    behind = [at for at in clause if at > last]
    if all(every[at].text in FILLERS and at not in spent for at in behind):
        last = behind[-1] if behind else last
    start, end = every[free[0]].start, every[last].end
    while start and not line[start - 1].isspace() and line[start - 1] not in ",;.!?:":
        start -= 1
    while end < len(line) and line[end] in ")%":
        end += 1
    return " ".join(line[start:end].split())
