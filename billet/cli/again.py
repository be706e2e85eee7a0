"""billet again: a new recipe from an old one, and the old knife's lessons with it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from billet.cli.answer import tell
from billet.cli.common import wrote
from billet.cli.record.options import BenchFile, at

if TYPE_CHECKING:
    from billet.record.entry import Entry

Old = Annotated[Path, typer.Argument(metavar="OLD", help="The recipe to start from.")]
New = Annotated[Path, typer.Argument(metavar="NEW", help="The new recipe; it must not be there yet.")]
Title = Annotated[str, typer.Option("--title", help="The new knife's title; else the old one with a number.")]


def again(old: Old, new: New, title: Title = "", bench: BenchFile = None) -> None:
    """Start a new recipe from an old one; what went wrong on the old knife will be shown at the same stage of the new.

    Example: billet again slicer.toml slicer_2.toml --title "Smokehouse slicer, second"
    """
    from billet.base.safe_files import check_free, write_whole
    from billet.recipe.shop_file import named_as_knife
    from billet.record.again import lesson_lines, note_of_start, restarted, titles_of
    from billet.record.store import Bench, open_to_read
    from billet.record.take import read_knife

    knife, path = read_knife(old), at(bench, new)
    check_free(named_as_knife(new), False)
    entries: tuple[Entry, ...] = ()
    if path.is_file():
        with open_to_read(path) as record:
            entries = record.entries()
    name = title or titles_of(knife.title, {one.knife for one in entries})
    told = lesson_lines(entries, knife.title)
    text = restarted(knife, name, told, new.parent)
    write_whole(new, text)
    wrote(new)
    with Bench(path) as record:
        record.add(note_of_start(name, text, knife.title, new, path.parent), text)
    goes = f"{len(told)} lesson{'s' * (len(told) > 1)} go with it" if told else "nothing is noted as wrong on it"
    tell([f'{name}: started from "{knife.title}"; {goes}'], [f"  {line}" for line in told])
