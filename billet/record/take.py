"""Make a note from what was said, and a correction from an older note."""

import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from billet.base.errors import InputError
from billet.record.entry import Entry, Measure, Photo, Place, now, text_sha256
from billet.record.note_words import Said
from billet.record.photos import kept_path, photograph
from billet.record.places import find_place

Steps = Callable[[], Sequence[Place]]
"""Gives the steps of the knife's recipe; called only when the note names one."""


@dataclass(frozen=True)
class Knife:
    """The knife a note is about: its title, its recipe file and the recipe's text as it stands now."""

    title: str
    path: Path
    text: str


def read_knife(path: Path) -> Knife:
    """Read the recipe file of a knife; without a title the file's name stands for it. Raises ``InputError``."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
        title = tomllib.loads(text).get("title") or path.stem
    except OSError as error:
        raise InputError(f"The recipe {path} cannot be read ({error.strerror}); check the name.") from error
    except ValueError as error:
        raise InputError(f"The recipe {path} is not sound ({error}); see `billet check`.") from error
    if not isinstance(title, str):
        raise InputError(f'The title in {path} is not a text; write title = "...".')
    return Knife(title, path, text)


def note_of(knife: Knife, said: Said, steps: Steps, folder: Path) -> Entry:
    """A new note about ``knife``; ``folder`` is where the record lies. Raises ``InputError`` when it says nothing."""
    at, offset = now()
    blank = Entry(
        knife.title, at, offset, recipe_path=kept_path(knife.path, folder), recipe_sha256=text_sha256(knife.text)
    )
    entry = _with(blank, said, steps, folder)
    if entry.is_empty:
        raise InputError("The note says nothing; add a measurement, a note, what went wrong or a photograph.")
    return entry


def correction_of(old: Entry, said: Said, steps: Steps, folder: Path) -> Entry:
    """A note that replaces ``old``: its fields, with those that were said changed or taken back."""
    at, offset = now()
    held = {measure.name for measure in old.measures}
    stranger = next((name for name in said.dropped if name not in held), None)
    if stranger:
        raise InputError(
            f"Note {old.id} holds no {stranger} to take back; it holds {', '.join(sorted(held)) or 'none'}."
        )
    entry = _with(replace(old, at=at, offset_min=offset, corrects=old.id, id=0), said, steps, folder)
    if replace(entry, at=old.at, offset_min=old.offset_min, corrects=old.corrects, id=old.id) == old:
        raise InputError(f"Nothing in note {old.id} would change; say what is to be read instead.")
    return entry


def _with(entry: Entry, said: Said, steps: Steps, folder: Path) -> Entry:
    """``entry`` with what was said put over it."""
    return replace(
        entry,
        place=entry.place if said.after is None else _place(said.after, steps),
        measures=_merged(entry.measures, said),
        note=entry.note if said.note is None else said.note,
        wrong=entry.wrong if said.wrong is None else said.wrong,
        photos=entry.photos if said.photos is None else _photos(said.photos, folder),
        by=entry.by if said.by is None else said.by,
    )


def _place(after: str, steps: Steps) -> Place | None:
    return find_place(after, steps()) if after else None


def _photos(paths: Sequence[str], folder: Path) -> tuple[Photo, ...]:
    return tuple(photograph(Path(path), folder) for path in paths)


def _merged(old: tuple[Measure, ...], said: Said) -> tuple[Measure, ...]:
    names = [measure.name for measure in said.measures]
    kept = [measure for measure in old if measure.name not in (*names, *said.dropped)]
    return (*kept, *said.measures)
