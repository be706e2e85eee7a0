"""billet record list, search: notes out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from billet.cli.common import AsJson, print_json
from billet.cli.record.options import (
    BenchFile,
    Everything,
    Question,
    SomeRecipe,
    Units,
    at,
    units_of,
)

if TYPE_CHECKING:
    from billet.record.entry import Entry


def list_notes(
    recipe: SomeRecipe = None,
    everything: Everything = False,
    bench: BenchFile = None,
    units: Units = "",
    json: AsJson = False,
) -> None:
    """List the notes of one knife, or of all; a note that corrects another says so.

    Example: billet record list knife.toml
    """
    from billet.record.entry import latest
    from billet.record.store import open_to_read
    from billet.record.take import read_knife

    path = at(bench, recipe)
    title = read_knife(recipe).title if recipe else None
    with open_to_read(path) as record:
        entries = record.entries(title)
    _print(entries if everything else latest(entries), units_of(units, recipe, path), path, json)


def search(question: Question, bench: BenchFile = None, units: Units = "", json: AsJson = False) -> None:
    """Search the notes of all knives.

    Example: billet record search what did I write about warp
    """
    from billet.record.entry import latest
    from billet.record.search import search as find
    from billet.record.store import open_to_read

    path = at(bench, None)
    with open_to_read(path) as record:
        found = find(latest(record.entries()), " ".join(question))
    _print(found, units_of(units, None, path), path, json)


def _print(entries: Sequence[Entry], units: str, path: Path, json: bool) -> None:
    from billet.record.show import entry_dict, line
    from billet.record.visible import one_line

    if json:
        print_json({"bench": str(path), "entries": [entry_dict(entry) for entry in entries]})
        return
    for knife in dict.fromkeys(entry.knife for entry in entries):
        print(one_line(knife))
        for entry in entries:
            if entry.knife == knife:
                print(f"  {line(entry, units, path.parent)}")
    print("" if entries else "no notes")
