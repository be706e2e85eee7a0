"""billet record list, search: notes out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from billet.cli.answer import MOST_LINES, Full, wrapped
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
    full: Full = False,
    json: AsJson = False,
) -> None:
    """List the newest notes of one knife, or of all; --full lists every one. A note that corrects another says so.

    Example: billet record list knife.toml
    """
    from billet.record.entry import latest
    from billet.record.store import open_to_read
    from billet.record.take import read_knife

    path = at(bench, recipe)
    title = read_knife(recipe).title if recipe else None
    with open_to_read(path) as record:
        entries = record.entries(title)
    shown = entries if everything else latest(entries)
    if json:
        _print_json(shown, path)
        return
    told = _whole if full else _newest
    print("\n".join(told(shown, units_of(units, recipe, path), path)))


def search(
    question: Question, bench: BenchFile = None, units: Units = "", full: Full = False, json: AsJson = False
) -> None:
    """Search the notes of all knives; the best come first.

    Example: billet record search what did I write about warp
    """
    from billet.record.entry import latest
    from billet.record.search import search as find
    from billet.record.store import open_to_read

    path = at(bench, None)
    with open_to_read(path) as record:
        found = find(latest(record.entries()), " ".join(question))
    if json:
        _print_json(found, path)
        return
    lines = _whole(found, units_of(units, None, path), path)
    if not full and len(lines) > MOST_LINES:
        lines = [*lines[: MOST_LINES - 1], "  more with --full"]
    print("\n".join(lines))


def _print_json(entries: Sequence[Entry], path: Path) -> None:
    from billet.record.show import entry_dict

    print_json({"bench": str(path), "entries": [entry_dict(entry) for entry in entries]})


def _whole(entries: Sequence[Entry], units: str, path: Path) -> list[str]:
    """Every note, under the knife it is about."""
    from billet.record.show import line
    from billet.record.visible import one_line

    lines = []
    for knife in dict.fromkeys(entry.knife for entry in entries):
        lines += wrapped(one_line(knife))
        for entry in entries:
            if entry.knife == knife:
                lines += wrapped(f"  {line(entry, units, path.parent)}", 4)
    return lines or ["no notes"]


def _newest(entries: Sequence[Entry], units: str, path: Path) -> list[str]:
    """As many of the newest notes as fit an answer, and how many came before them."""
    for first in range(max(0, len(entries) - MOST_LINES), len(entries)):
        before = [f"{first} earlier with --full"] if first else []
        lines = [*before, *_whole(entries[first:], units, path)]
        if len(lines) <= MOST_LINES:
            return lines
    return _whole(entries[-1:], units, path)[:MOST_LINES]
