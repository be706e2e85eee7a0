"""Words that are meant although a letter is wrong."""

from __future__ import annotations

from collections.abc import Iterable

_SHORT = 4  # letters under which a word is taken only as it stands
_LONG = 9  # letters from which two slips are forgiven


def slips(one: str, other: str, most: int = 2) -> int:
    """How many letters are wrong, missing, too many or changed about (Damerau 1964, neighbours only); more than
    ``most`` is told as ``most`` + 1."""
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        before, old, row = row, before, [i, *[0] * len(other)]
        for j, b in enumerate(other, 1):
            row[j] = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                row[j] = min(row[j], old[j - 2] + 1)
    return min(row[-1], most + 1)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The one known word that is meant: itself, or the only one within a slip (two in a long word); else None."""
    found = all_near(word, known)
    return found.pop() if len(found) == 1 else None


def all_near(word: str, known: Iterable[str]) -> set[str]:
    """Every known word that may be meant: the word itself alone, or those within a slip."""
    words = tuple(known)
    if word in words:
        return {word}
    if len(word) < _SHORT:
        return set()
    most = 2 if len(word) >= _LONG else 1
    return {
        other for other in words if len(other) >= _SHORT and word[0] == other[0] and slips(word, other, most) <= most
    }
