"""Make a note from what was understood, and a correction from an older note."""

import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

from billet.base.errors import InputError
from billet.record.door import Understood
from billet.record.entry import Entry, Measure, Photo, now, text_sha256
from billet.record.photos import kept_path, photograph


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


def note_of(knife: Knife, said: Understood, folder: Path) -> tuple[Entry, tuple[str, ...]]:
    """A new note about ``knife`` and what has to be said about it; ``folder`` is where the record lies.

    A photograph that cannot be read is told in the note, and the rest is kept. Raises ``InputError`` when nothing at
    all was said.
    """
    at, offset = now()
    blank = Entry(
        knife.title, at, offset, recipe_path=kept_path(knife.path, folder), recipe_sha256=text_sha256(knife.text)
    )
    entry, missing = _with(blank, said, folder)
    if entry.is_empty and said.place is not None:
        entry = replace(entry, note="done")
    if entry.is_empty:
        raise InputError("The note says nothing; add a measurement, a note, what went wrong or a photograph.")
    return entry, missing


def correction_of(old: Entry, said: Understood, folder: Path) -> tuple[Entry, tuple[str, ...]]:
    """A note that replaces ``old``: its fields, with those that were said changed or taken back."""
    at, offset = now()
    held = {measure.name for measure in old.measures}
    stranger = next((name for name in said.dropped if name not in (*held, *_FIELDS, "after")), None)
    if stranger:
        raise InputError(
            f"Note {old.id} holds no {stranger} to take back; it holds {', '.join(sorted(held)) or 'none'}."
        )
    typed = "\n".join(text for text in (old.typed, said.typed) if text)
    entry, missing = _with(replace(old, at=at, offset_min=offset, corrects=old.id, id=0), said, folder)
    if replace(entry, at=old.at, offset_min=old.offset_min, corrects=old.corrects, id=old.id, typed=old.typed) == old:
        raise InputError(f"Nothing in note {old.id} would change; say what is to be read instead.")
    return replace(entry, typed=typed), missing


_FIELDS = {"note": "", "wrong": "", "cure": "", "by": "", "photo": ()}


def _with(entry: Entry, said: Understood, folder: Path) -> tuple[Entry, tuple[str, ...]]:
    """``entry`` with what was said put over it, and a sentence for each photograph that could not be read."""
    photos, missing = _photos(said.photos, folder)
    lost = "; ".join(f"photo {path} was not there" for path in said.photos if path not in photos)
    note = "; ".join(text for text in (said.note, lost) if text)
    taken: dict[str, object] = {
        "photos" if name == "photo" else name: _FIELDS[name] for name in said.dropped if name in _FIELDS
    }
    fields = {"note": note, "wrong": said.wrong, "cure": said.cure, "by": said.by}
    taken |= {name: text for name, text in fields.items() if text}
    if photos:
        taken["photos"] = tuple(photos.values())
    place = None if "after" in said.dropped else said.place or entry.place
    whole = replace(entry, **taken, place=place, measures=_merged(entry.measures, said), typed=said.typed)  # type: ignore[arg-type]
    return whole, missing


def _photos(paths: tuple[str, ...], folder: Path) -> tuple[dict[str, Photo], tuple[str, ...]]:
    found: dict[str, Photo] = {}
    missing = []
    for path in dict.fromkeys(paths):
        try:
            found[path] = photograph(Path(path), folder)
        except InputError as error:
            missing.append(f"{error} The rest was kept.")
    return found, tuple(missing)


def _merged(old: tuple[Measure, ...], said: Understood) -> tuple[Measure, ...]:
    names = [measure.name for measure in said.measures]
    kept = [measure for measure in old if measure.name not in (*names, *said.dropped)]
    return (*kept, *said.measures)
