"""The bench's side of the page: the next stage, reminders, notes in, stations in. Every text goes through the record's own door."""

from __future__ import annotations

import base64
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
from billet.record.card_text import card_lines
from billet.record.desk import desk_of, habits_of
from billet.record.door import say_back, understand
from billet.record.entry import latest
from billet.record.grinder_day import keep_day
from billet.record.next_card import card_of, next_stage
from billet.record.show import line
from billet.record.store import Bench, all_of, bench_near
from billet.record.take import note_of, read_knife
from billet.record.visible import one_line
from billet.stages import Stage, stages
from render.grinding_picture import plan_png

_LONGEST = 4000  # letters of a note
_MOST_STATIONS = 60
_SHOWN = 40
_SHOWN_AS = {
    "--to": "whether to finish or for hardening", "make the [blade] of the recipe thinner": "make the knife thinner under Blade",
    "Make the [blade] thinner": "Make the knife thinner under Blade", "--least takes your own figure": "billet grind --least takes your own figure",
}  # fmt: skip


def bench_view(path: Path, book: Ledger) -> dict[str, Any]:
    """The next stage as a card, what went wrong before, all stages, and the notes of this knife, newest first."""
    recipe = book.recipe
    units, title = recipe.tables.units, recipe.tables.title
    every = stages(recipe, book)
    entries, recipes = all_of(bench_near(path.parent))
    mine = [one for one in latest(entries) if one.knife == title]
    ahead = next_stage(every, entries, title)
    reached = len(every) if ahead is None else [s.key for s in every].index(ahead.key)
    return {
        "title": title,
        "next": None if ahead is None else _card(book, ahead, entries, recipes, path.parent),
        "stages": [_stage(k, s, units, k < reached) for k, s in enumerate(every)],
        "notes": [{"id": one.id, "said": line(one, units, path.parent)} for one in reversed(mine)][:_SHOWN],
        "places": _places(book),
        "cautions": in_a_line("figures", "grinder", units=units),
    }


def _card(book: Ledger, stage: Stage, entries: Any, recipes: Any, folder: Path) -> dict[str, Any]:
    units = book.recipe.tables.units
    card = card_of(book, stage, entries, recipes, habits_of(entries, recipes, folder))
    return {
        "name": stage.name,
        "number": card.place[0],
        "of": card.place[1],
        "lines": [list(one) for one in card_lines(card, units, True)],
        "reminders": [one_line(f"last time: {lesson.say()}") for lesson in card.lessons],
        "cautions": cautions(*card.cautions),
    }


def _stage(k: int, stage: Stage, units: str, done: bool) -> dict[str, Any]:
    return {"number": k + 1, "name": stage.name, "bar": stage.bar, "words": stage.what.say(units), "done": done}


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


def add_note(path: Path, words: object) -> dict[str, Any]:
    """Write a note down; what was understood is said back. Raises InputError."""
    if not isinstance(words, str) or not words.strip():
        raise InputError("note: say something, such as: after quench bow 1.5 mm left")
    if len(words) > _LONGEST:
        raise InputError(f"note: at most {_LONGEST} letters; write the rest as another note")
    knife, bench = read_knife(path), bench_near(path.parent)
    said = understand([words], desk_of(knife, bench))
    entry, missing = note_of(knife, said, bench.parent)
    with Bench(bench) as record:
        kept = record.add(entry, knife.text)
    return {"id": kept.id, "said": say_back(kept), "doubts": [one_line(d) for d in (*said.doubts, *missing)]}


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
    """What a command says of its options and of the recipe's tables, as the page shows them."""
    for said, shown in _SHOWN_AS.items():
        words = words.replace(said, shown)
    return words


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
    picture = base64.b64encode(plan_png(plan, units, recipe.tables.title)).decode()
    return {
        "heads": heads,
        "rows": rows,
        "answer": _on_the_page(head(plan, units)),
        "straighten": [*bending(plan, units)],
        "mind": [_on_the_page(one) for one in (*further(plan, units, core), *(one.say(units) for one in said))],
        "lines": [_on_the_page(one) for one in lines(plan, units, core)],
        "written": written,
        "picture": f"data:image/png;base64,{picture}",
        "cautions": cautions(*topics(plan)),
    }
