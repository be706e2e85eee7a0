"""The bench's side of the page: the next stage, reminders, notes in, stations in. Every text goes through the record's own door."""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from billet.base.errors import InputError
from billet.base.safety import cautions, in_a_line
from billet.blade import State
from billet.grinding import core_thickness, plan_readings, read_typed, skin_band
from billet.grinding.brief_grind import bending, further, head
from billet.grinding.grinding_text import lines, table, topics
from billet.grinding.least import Least
from billet.ledger.rows import Ledger
from billet.recipe.blade import blade_of
from billet.recipe.recipe import Recipe
from billet.record.card_text import card_lines
from billet.record.desk import desk_of, habits_of
from billet.record.door import say_back, understand
from billet.record.door.which_stage import place_of
from billet.record.entry import Entry, Place, latest
from billet.record.grind_days import SOURCE as STATIONS
from billet.record.grinder_day import keep_day
from billet.record.measures import shown
from billet.record.next_card import card_of, next_stage
from billet.record.photos import photo_state
from billet.record.store import Bench, all_of, bench_near
from billet.record.take import note_of, read_knife
from billet.record.visible import one_line
from billet.record.whose import told_apart
from billet.stages import Stage, stages
from render.grinding_picture import plan_png

_LONGEST = 4000  # letters of a note
_MOST_STATIONS = 60
_SHOWN = 40
_SHOWN_AS = {
    "--to": "whether to finish or for hardening", "make the [blade] of the recipe thinner": "make the knife thinner under Blade",
    "Make the [blade] thinner": "Make the knife thinner under Blade", "; --least takes your own figure": "",
}  # fmt: skip
_SAYS_ITS_OWN = re.compile(r"\s*(?:after|step|stage)\b", re.IGNORECASE)
_READING = re.compile(r'^station ".*?": ')
_UNMEASURED = re.compile(r"^(.+?): bow not measured, (taken .+)$")


def bench_view(path: Path, book: Ledger) -> dict[str, Any]:
    """The next stage as a card, what went wrong before, all stages, and the notes of this knife, newest first."""
    recipe = book.recipe
    units, title = recipe.tables.units, recipe.tables.title
    every = stages(recipe, book)
    bench = bench_near(path.parent)
    written, recipes = all_of(bench)
    entries = told_apart(written, recipes, path, title, bench.parent)
    mine = [one for one in latest(entries) if one.knife == title]
    ahead = next_stage(every, entries, title)
    reached = len(every) if ahead is None else [s.key for s in every].index(ahead.key)
    return {
        "title": title,
        "next": None if ahead is None else _card(book, ahead, entries, recipes, path.parent),
        "stages": [_stage(k, s, recipe, _noted(s, mine), k < reached) for k, s in enumerate(every)],
        "notes": [_note(one, every, recipe, path.parent) for one in reversed(mine)][:_SHOWN],
        "places": _places(book),
        "cautions": in_a_line("figures", "grinder", units=units),
    }


def _card(book: Ledger, stage: Stage, entries: Any, recipes: Any, folder: Path) -> dict[str, Any]:
    units = book.recipe.tables.units
    card = card_of(book, stage, entries, recipes, habits_of(entries, recipes, folder))
    return {
        "name": _name(stage, book.recipe),
        "number": card.place[0],
        "of": card.place[1],
        "lines": [list(one) for one in card_lines(card, units, True)],
        "reminders": [one_line(f"last time: {lesson.say()}") for lesson in card.lessons],
        "cautions": cautions(*card.cautions, units=units),
    }


def _noted(stage: Stage, mine: Sequence[Entry]) -> bool:
    """Whether a note stands at a stage itself; stations measured at the grinder say what is to be done there, not that it was."""
    places = [one.place for one in mine if one.place is not None and one.source != STATIONS]
    return any((p.bar, p.number) == stage.key and p.do in (stage.do, stage.name) for p in places)


def _stage(k: int, stage: Stage, recipe: Recipe, done: bool, passed: bool) -> dict[str, Any]:
    """A stage in the life of the knife; ``key`` is how a note says that it belongs to it."""
    return {
        "number": k + 1,
        "name": _name(stage, recipe),
        "key": list(stage.key),
        "words": stage.what.say(recipe.tables.units),
        "done": done,
        "passed": passed,
    }


def _name(stage: Stage, recipe: Recipe) -> str:
    """What a stage is called, with its bar where there are several."""
    bar = f" of the {stage.bar}" if stage.bar and len(recipe.tables.bar) > 1 else ""
    return stage.name.replace("_", " ") + bar


def _at(place: Place | None, every: Sequence[Stage], recipe: Recipe) -> str:
    """What the stage of a note is called now; where steps were put in or taken out since, the one of its own name."""
    if place is None:
        return ""
    alike = [one for one in every if one.bar == place.bar and place.do in (one.do, one.name)]
    found = next((one for one in alike if one.number == place.number), alike[0] if len(alike) == 1 else None)
    bar = f" of the {place.bar}" if place.bar and len(recipe.tables.bar) > 1 else ""
    return _name(found, recipe) if found else f"{place.do.replace('_', ' ')}{bar}"


def _note(entry: Entry, every: Sequence[Stage], recipe: Recipe, folder: Path) -> dict[str, Any]:
    """A note as it is read at the bench: when, at what, what was measured and said, what went wrong and how it was cured."""
    when = datetime.strptime(entry.local_time, "%Y-%m-%d %H:%M")
    units = recipe.tables.units
    told = [_sentence(", ".join(shown(one, units) for one in entry.measures)), _sentence(entry.note)]
    photos = [
        f"{one.path}{'' if (state := photo_state(one, folder)) == 'there' else f' ({state})'}" for one in entry.photos
    ]
    told.append(_sentence(f"photo {', '.join(photos)}" if photos else ""))
    return {
        "id": entry.id,
        "when": f"{when.day} {when:%b} {when:%Y, %H:%M}",
        "at": _at(entry.place, every, recipe),
        "said": one_line(" ".join(part for part in told if part)),
        "wrong": one_line(entry.wrong),
        "cure": one_line(entry.cure),
        "by": one_line(entry.by),
    }


def _sentence(words: str) -> str:
    words = words.strip()
    return f"{words[:1].upper()}{words[1:]}{'' if words[-1:] in '.!?' else '.'}" if words else ""


def _places(book: Ledger) -> list[str]:
    """The places along the knife that stations are usually taken at."""
    design = book.recipe.tables.blade
    if design is None:
        return []
    imperial = book.recipe.tables.units == "imperial"
    size, unit = (0.0254, "in") if imperial else (1e-3, "mm")
    step = 2.0 if imperial else 50.0
    last = int(design.length / size / step)
    return [f"{k * step:g} {unit} spine" for k in range(last + 1)]


def add_note(path: Path, words: object, stage: object = None) -> dict[str, Any]:
    """Write a note down; what was understood is said back. ``stage``, a bar's name and a number, is the one it was written
    under: it stands, unless the words begin with another. Raises InputError.
    """
    if not isinstance(words, str) or not words.strip():
        raise InputError("note: say something, such as: after quench bow 1.5 mm left")
    if len(words) > _LONGEST:
        raise InputError(f"note: at most {_LONGEST} letters; write the rest as another note")
    knife, bench = read_knife(path), bench_near(path.parent)
    desk, place = desk_of(knife, bench), None
    if isinstance(stage, list) and not _SAYS_ITS_OWN.match(words):
        place = next((place_of(one) for one in desk.stages() if list(one.key) == stage), None)
    said = understand([words], desk if place is None else replace(desk, stages=tuple))
    said = said if place is None else replace(said, place=place)
    entry, missing = note_of(knife, said, bench.parent)
    with Bench(bench) as record:
        kept = record.add(entry, knife.text)
    return {
        "id": kept.id,
        "said": say_back(kept).replace("after ", "", 1),
        "doubts": [one_line(d) for d in (*said.doubts, *missing)],
    }


def grind_view(path: Path, book: Ledger, readings: object, state: object, keep: bool) -> dict[str, Any]:
    """What to take off left and right at measured stations. Raises InputError naming the reading that is not understood."""
    if not isinstance(readings, list) or not 0 < len(readings) <= _MOST_STATIONS:
        raise InputError(
            f"stations: wanted 1 to {_MOST_STATIONS} readings, such as: 50 mm spine 3.1 mm bow 0.2 mm left"
        )
    try:
        return _ground(
            path, book, [str(one)[:200] for one in readings], "hardening" if state == "hardening" else "finished", keep
        )
    except InputError as error:
        raise InputError(_on_the_page(str(error))) from None


def _on_the_page(words: str) -> str:
    """What a command says of its options, of a reading's place in its words and of the recipe's tables, as the page shows them."""
    words = _READING.sub("", words)
    words = words[:1].upper() + words[1:]
    for said, instead in _SHOWN_AS.items():
        words = words.replace(said, instead)
    return words


def _together(said: list[str]) -> list[str]:
    """What is told of several places in the same words, told once."""
    places: dict[str, list[str]] = {}
    for one in said:
        if found := _UNMEASURED.match(one):
            places.setdefault(found[2].replace("its neighbours", "the places beside"), []).append(found[1])
    rest = [_sentence(_on_the_page(one)) for one in said if not _UNMEASURED.match(one)]
    return [*(f"Bow not measured at {', '.join(each)}: {taken}." for taken, each in places.items()), *rest]


def _ground(path: Path, book: Ledger, readings: list[str], to: State, keep: bool) -> dict[str, Any]:
    recipe = book.recipe
    units = recipe.tables.units
    typed = [read_typed(text, "station") for text in readings]
    plan = plan_readings(typed, blade_of(recipe, to), Least(None, None, None), "heel", skin_band(recipe))
    said, written = keep_day(path, plan, bench_near(path.parent), keep)
    try:
        core = core_thickness(book)
    except InputError:
        core = None
    heads, rows = table(plan, units)
    picture = base64.b64encode(plan_png(plan, units, recipe.tables.title, maps_alone=True)).decode()
    return {
        "heads": heads,
        "rows": rows,
        "answer": _on_the_page(head(plan, units)),
        "straighten": [*bending(plan, units)],
        "mind": _together([*further(plan, units, core), *(one.say(units) for one in said)]),
        "lines": [_on_the_page(one) for one in lines(plan, units, core)],
        "written": written,
        "picture": f"data:image/png;base64,{picture}",
        "cautions": cautions(*topics(plan), units=units),
    }
