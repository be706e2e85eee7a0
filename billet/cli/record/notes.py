"""billet record add, ask, correct: notes in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from billet.cli.common import AsJson, RecipeFile, print_json, wrote
from billet.cli.record.options import BenchFile, Number, Words, at, units_of

if TYPE_CHECKING:
    from billet.record.door import Understood
    from billet.record.entry import Entry
    from billet.record.store import Bench


def add(recipe: RecipeFile, words: Words = None, bench: BenchFile = None, json: AsJson = False) -> None:
    """Write a note about a knife; without words it asks, one question a line, and Enter skips.

    Example: billet record add knife.toml after quench bow 1.5 mm left middle, wrong edges cold
    """
    if not any(word.strip() for word in words or []):
        ask(recipe, bench, json)
        return
    from billet.record.desk import desk_of
    from billet.record.door import understand
    from billet.record.take import read_knife

    knife, path = read_knife(recipe), at(bench, recipe)
    _write(recipe, path, understand(words or [], desk_of(knife, path)), json)


def ask(recipe: RecipeFile, bench: BenchFile = None, json: AsJson = False) -> None:
    """Ask a few questions about a knife and write the answers down; Enter skips a question.

    Example: billet record ask knife.toml
    """
    from billet.base.errors import InputError
    from billet.record.ask import ask_all
    from billet.record.desk import desk_of
    from billet.record.take import read_knife

    def question(text: str) -> str:
        try:
            return str(typer.prompt(text, default="", show_default=False, err=True))
        except typer.Abort:
            typer.echo("", err=True)
            raise InputError(
                "the questions were broken off and nothing was written; answer them to the end, or write the note behind "
                'the recipe, such as "after 2 thickness 12.1 mm"'
            ) from None

    knife, path = read_knife(recipe), at(bench, recipe)
    said = ask_all(question, lambda text: typer.echo(text, err=True), desk_of(knife, path))
    _write(recipe, path, said, json)


def _write(recipe: Path, path: Path, said: Understood, json: bool) -> None:
    from billet.record.store import Bench
    from billet.record.take import note_of, read_knife

    knife = read_knife(recipe)
    entry, missing = note_of(knife, said, path.parent)
    with Bench(path) as record:
        _said(record, record.add(entry, knife.text), (*said.doubts, *missing), units_of("", recipe), json)


def correct(number: Number, words: Words = None, bench: BenchFile = None, json: AsJson = False) -> None:
    """Correct a note: a new one takes its place, and the old one stays to be seen. `none` takes a field back.

    Example: billet record correct 12 thickness 11.2 mm wrong none
    """
    from billet.record.desk import desk_of_text
    from billet.record.door import understand
    from billet.record.shop_units import shop_units
    from billet.record.store import Bench, open_to_read
    from billet.record.take import correction_of

    path = at(bench, None)
    with open_to_read(path) as record:
        old = record.entry(number)
        text = record.recipes().get(old.recipe_sha256, "")
        units = shop_units([old], record.recipes())
    said = understand(words or [], desk_of_text(text, path, units))
    entry, missing = correction_of(old, said, path.parent)
    with Bench(path) as record:
        _said(record, record.add(entry, text), (*said.doubts, *missing), units, json)


def _said(record: Bench, entry: Entry, doubts: Sequence[str], units: str, json: bool) -> None:
    """What was understood, for the smith to read back, and what was guessed."""
    from billet.record.door import say_back
    from billet.record.show import entry_dict
    from billet.record.visible import one_line

    if record.kept:
        wrote(record.kept)
    if json:
        print_json({"bench": str(record.path), "entry": entry_dict(entry), "doubts": list(doubts)})
    else:
        number = f"note {entry.id}" + (f" (corrects {entry.corrects})" if entry.corrects else "")
        print(f"{number}: {say_back(entry)}")
        for doubt in doubts:
            print(one_line(f"  ? {doubt}"))
    wrote(record.path)
