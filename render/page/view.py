"""A knife as the page shows it: plates, steps with the bar after each, warnings where they arise; all figures in the recipe's units."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from billet.base.errors import InputError
from billet.base.safety import in_a_line
from billet.base.units import Kind, show
from billet.ledger.recipe_warnings import holding, of_recipe, ready_bar
from billet.ledger.rows import BarRun, Ledger, Row
from billet.recipe.models import BarTable
from billet.recipe.recipe import Recipe
from billet.stages.step_words import work
from billet.steel.plate import read_plate
from render.etch import Look, steel_tone
from render.light import encode
from render.page.books import Books, Told, shop_of
from render.page.history import History, version_of
from render.page.refusals import at_the_head, beside
from render.page.unread import unread

_STEP = re.compile(r'bar "(.+?)" step (\d+)')
_MOST_PLATES = 400  # drawn one by one
_UNKNOWN = 2e-3  # thickness that a plate which cannot be read is drawn with [m]


def knife_view(books: Books, history: History, path: Path) -> dict[str, Any]:
    """Everything about one recipe. Raises InputError where the file cannot be read at all."""
    text = history.text(path)
    undo, redo = history.ways(path)
    head = {
        "file": path.name, "version": version_of(text), "shop": version_of(shop_of(path)), "text": text,
        "can_undo": undo, "can_redo": redo,
    }  # fmt: skip
    try:
        recipe = books.recipe(path, text)
    except InputError as error:
        return head | unread(path, text, str(error))
    told = books.told(path, text)
    tables, data = recipe.tables, tomllib.loads(text)
    return head | {
        "title": tables.title,
        "units": tables.units,
        "problems": [_problem(_where(recipe, told.trouble), told.trouble, len(tables.bar))] if told.trouble else [],
        "answer": _answer(told),
        "cautions": in_a_line("figures", "fire", "press", units=tables.units),
        "blades": [_blade(d, tables.units) for d in recipe.blades or ([tables.blade] if tables.blade else [])],
        "bars": [_bar(recipe, told, k, bar) for k, bar in enumerate(data.get("bar", []))],
        "tables": {key: table for key, table in data.items() if key != "bar"},
    }


def _problem(path: list[str | int] | None, trouble: str, bars: int) -> dict[str, Any]:
    return {"path": path, "message": at_the_head(trouble, bars > 1), "short": beside(trouble, "")}


def _where(recipe: Recipe, trouble: str) -> list[str | int] | None:
    """The step a refusal speaks of."""
    found = _STEP.search(trouble)
    names = [bar.name for bar in recipe.tables.bar]
    if not found or found[1] not in names:
        return None
    k = names.index(found[1])
    places = [place for place, _ in recipe.steps(k)]
    number = int(found[2])
    return ["bar", k, "step", places[number - 1]] if 0 < number <= len(places) else ["bar", k]


def _blade(design: Any, units: str) -> dict[str, Any]:
    return {
        "name": design.name,
        "length_m": design.length,
        "words": f"{design.shape}, {show(design.length, Kind.LENGTH, units)} by {show(design.heel_height, Kind.LENGTH, units)}",
    }


def _answer(told: Told) -> list[str]:
    """Whether the bar holds the blade, by how much, and what the recipe as a whole is warned of."""
    book = told.ledger
    if told.trouble or book is None:
        return []
    return [*bar_holds(book), *(n.say(book.recipe.tables.units) for n in of_recipe(book))]


def bar_holds(book: Ledger) -> list[str]:
    """Whether the bar holds the blade, and by how much; nothing for a recipe without a blade."""
    if book.recipe.tables.blade is None:
        return []
    units = book.recipe.tables.units
    try:
        ready_bar(book)
        three = holding(book)
    except InputError as error:
        return [beside(str(error), "")]
    lines = ["The bar holds the blade." if three.enough else "The bar is too small for the blade."]
    for name, fit in three.named.items():
        over = show(abs(fit.surplus), Kind.LENGTH, units, fine=fit is three.thickness)
        lines.append(f"{name.replace('_', ' ')}: {over} {'to spare' if fit.enough else 'short'}")
    return lines


def news(book: Ledger, before: Ledger | None, deeper: float) -> Iterator[str]:
    """Warnings of a knife as it is wished that the recipe as it stands has not; ``deeper`` is how far it is ground past it [m]."""
    units, design = book.recipe.tables.units, book.recipe.tables.blade
    if design is not None and deeper > 0.5 * design.edge.finished:
        yield "So deep nothing is left at the edge: it shows the layers that lie there, no knife."
    old = {note.say(units) for bar in (before.bars if before else ()) for row in bar.rows for note in row.notes}
    for bar in book.bars:
        for row in bar.rows:
            yield from (f"Step {row.number}: {said}" for note in row.notes if (said := note.say(units)) not in old)


def _bar(recipe: Recipe, told: Told, k: int, data: dict[str, Any]) -> dict[str, Any]:
    table = recipe.tables.bar[k]
    run = told.ledger.bars[k] if told.ledger is not None and k < len(told.ledger.bars) else None
    return {
        "name": table.name,
        "path": ["bar", k],
        "fields": {key: value for key, value in data.items() if key != "step"},
        "joined": [item.bar for item in table.items] or None,
        "plates": _plates(recipe, k),
        "width_m": table.width,
        "length_m": table.length,
        "like": None if "step" in data else data.get("like"),
        "laid": "" if run is None else work(run.rows[0], table, recipe.tables.units),
        "steps": _steps(recipe, run, k, data.get("step") or [{"do": step.verb} for step in table.step]),
        "stack": None if run is None else _row(run.rows[0], recipe.tables.units),
    }


def _plates(recipe: Recipe, k: int) -> list[dict[str, Any]]:
    """The plates of the stack, bottom to top."""
    table = recipe.tables.bar[k]
    if table.stack is None:
        return []
    stack: list[tuple[list[str | int], str]] = [
        (["bar", k, "stack", at], text) for at, text in enumerate(table.stack)
    ] * min(table.repeat, _MOST_PLATES)
    if table.base is not None:
        stack.insert(0, (["bar", k, "base"], table.base))
    if table.cap is not None:
        stack.append((["bar", k, "cap"], table.cap))
    once = {text: _plate(recipe, text) for _, text in stack}
    return [{"path": place, **once[text]} for place, text in stack[:_MOST_PLATES]]


def _plate(recipe: Recipe, text: str) -> dict[str, Any]:
    """A plate's steel, thickness and the tone it etches to; of one that cannot be read, what is wrong with it."""
    try:
        steel, thick = read_plate(text, recipe.own_steels, "plate")
    except InputError as error:
        return {
            "text": text,
            "steel": None,
            "thickness_m": _UNKNOWN,
            "tone": None,
            "wrong": beside(str(error), "plate"),
        }
    tone = int(encode(np.array([steel_tone(steel, Look())], np.float32))[0])
    return {"text": text, "steel": steel.name, "thickness_m": thick, "tone": tone}


def _steps(recipe: Recipe, run: BarRun | None, k: int, fields: list[Any]) -> list[dict[str, Any]]:
    units, table = recipe.tables.units, recipe.tables.bar[k]
    rows: dict[int, list[int]] = {}
    for number, (place, _) in enumerate(recipe.steps(k), 1):
        rows.setdefault(place, []).append(number)
    out = []
    for place, data in enumerate(fields):
        numbers = rows.get(place, [])
        known = [run.rows[n] for n in numbers if run is not None and n < len(run.rows)]
        done = len(known) == len(numbers)
        out.append(
            {
                "number": numbers[-1] if numbers else None,
                "first": numbers[0] if numbers else None,
                "path": ["bar", k, "step", place],
                "do": data.get("do"),
                "fields": data,
                "told": _told(known, table, getattr(table.step[place], "times", 1), units) if done else [],
                "row": _row(known[-1], units) if known and done else None,
                "warnings": [n.say(units) for row in known for n in row.notes],
            }
        )
    return out


def _told(rows: list[Row], table: BarTable, times: int, units: str) -> list[str]:
    """What is done in a step and in the weld and draw of its own; what is done over and over is told once."""
    once = rows[: max(1, len(rows) // times)]
    said = [work(row, table, units) for row in once]
    return [f"{times} times over; the first time:", *said] if times > 1 else said


def _row(row: Row, units: str) -> dict[str, Any]:
    """The bar after a step, for people and to scale."""
    bar, m = row.bar, row.measures
    gone = sum(row.lost)
    return {
        "length": show(bar.length, Kind.LENGTH, units),
        "width": show(bar.width, Kind.LENGTH, units),
        "thickness": show(bar.thickness, Kind.LENGTH, units, fine=True),
        "weight": show(bar.mass, Kind.MASS, units),
        "lost": show(gone, Kind.MASS, units) if gone > 0 else "",
        "layers": f"{bar.layers_counted:,}",
        "apart": None if m.distinct is None else f"{m.distinct:,}",
        "carbon": f"{m.carbon:.2f} %",
        "size_m": [bar.length, bar.width, bar.thickness],
        "round": bool(bar.is_round),
    }
