"""Say back what was understood, in words that would be understood the same again."""

from __future__ import annotations

import re

from billet.record.door.understanding import Understood
from billet.record.entry import Entry, Measure
from billet.record.measures import BY_NAME
from billet.record.visible import one_line


def say_back(what: Entry | Understood) -> str:
    """One line: the stage, what was measured as it was typed, what went wrong, the cure, the note."""
    parts = [", ".join(map(_measure, what.measures))] if what.measures else []
    parts += [
        f'{name} "{text}"' for name, text in (("wrong", what.wrong), ("cure", what.cure), ("note", what.note)) if text
    ]
    photos = [photo if isinstance(photo, str) else photo.path for photo in what.photos]
    parts += [f'photo "{path}"' for path in photos]
    parts += [f'by "{what.by}"'] if what.by else []
    place = what.place
    head = "" if place is None else f"after {f'{place.bar} {place.number}' if place.bar else place.do}"
    return one_line(f"{head}: {'; '.join(parts)}" if head and parts else head or "; ".join(parts))


def _measure(measure: Measure) -> str:
    base, _, where = measure.name.partition(".")
    if base not in BY_NAME and not where:
        return (
            f"{measure.name}={measure.written}" if " " not in measure.written else f'{measure.name}="{measure.written}"'
        )
    word = "weight" if base == "mass" else base
    return f"{word} {measure.written}{_at(where)}"


def _at(where: str) -> str:
    if not where:
        return ""
    far = re.fullmatch(r"(\d+(?:\.\d+)?)mm(?: from (\w+))?", where)
    if far is None:
        return f" at the {where}"
    return f" at {far[1]} mm" + (f" from the {far[2]}" if far[2] else "")
