"""billet record: the bench record, what was measured and what went wrong."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from billet.cli.common import AsJson, Force, RecipeFile, print_json, print_table, wrote

if TYPE_CHECKING:
    from billet.record.entry import Entry, Place
    from billet.record.store import Bench

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Keep the bench record: what was measured after each step, what went wrong, and what it teaches.",
    epilog='Start with: billet record add knife.toml after 2 thickness 12.1 mm note "edges cold"',
)
FREE_WORDS = {"ignore_unknown_options": True}
BenchFile = Annotated[
    Path | None,
    typer.Option("--bench", metavar="FILE", help="The record; else bench.sqlite beside the recipe or above it."),
]
WORDS = (
    "Free words in any order: after STEP, thickness, width, length, weight, heats, heat, time, hardness, note, wrong, "
    "photo, by, name=value."
)
Words = Annotated[list[str] | None, typer.Argument(metavar="WORDS...", help=WORDS)]
Number = Annotated[int, typer.Argument(metavar="NUMBER", help="The note to correct.")]
Everything = Annotated[bool, typer.Option("--all", help="Corrected notes too.")]
Question = Annotated[list[str], typer.Argument(metavar="WORDS...", help="What to look for.")]
ExportTo = Annotated[
    Literal["csv", "markdown"], typer.Option("--to", help="csv for a spreadsheet, in SI; markdown for paper.")
]
Output = Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="Where to; else it is printed.")]
Copy = Annotated[Path, typer.Argument(metavar="FILE", help="The new copy.")]
AsText = Annotated[bool, typer.Option("--text", help="Plain text, one JSON value a line, that any program can read.")]
Source = Annotated[Path, typer.Argument(metavar="FILE", help="A backup in plain text.")]
NewBench = Annotated[Path, typer.Option("--bench", metavar="FILE", help="The new record.")]
SomeRecipe = Annotated[Path | None, typer.Argument(metavar="[RECIPE]", help="One knife only; else every knife.")]
Units = Annotated[str, typer.Option("--units", help="metric or imperial.")]


def _at(bench: Path | None, near: Path | None) -> Path:
    """The record's file: the one named, the one found near the recipe, or the one to be started beside it."""
    from billet.record.store import NAME, find_bench

    folder = near.parent if near else Path()
    return bench or find_bench(folder) or folder / NAME


def _steps(text: str, path: Path) -> Sequence[Place]:
    from billet.record.recipes import places, recipe_in, steps_of

    return places(steps_of(recipe_in(text, path.parent)))


@app.command(context_settings=FREE_WORDS)
def add(recipe: RecipeFile, words: Words = None, bench: BenchFile = None, json: AsJson = False) -> None:
    """Write a note about a knife.

    Example: billet record add knife.toml after billet 5 thickness 12.1 mm width "41 mm" note "edges cold"
    """
    from billet.record.note_words import read_words
    from billet.record.store import Bench
    from billet.record.take import note_of, read_knife

    knife, path = read_knife(recipe), _at(bench, recipe)
    entry = note_of(knife, read_words(words or []), lambda: _steps(knife.text, recipe), path.parent)
    with Bench(path) as record:
        _said(record, record.add(entry, knife.text), _units("", recipe), json)


@app.command()
def ask(recipe: RecipeFile, bench: BenchFile = None, json: AsJson = False) -> None:
    """Ask a few questions about a knife and write the answers down; Enter skips a question.

    Example: billet record ask knife.toml
    """
    from billet.record.ask import ask_all
    from billet.record.store import Bench
    from billet.record.take import note_of, read_knife

    def question(text: str) -> str:
        return str(typer.prompt(text, default="", show_default=False, err=True))

    knife, path = read_knife(recipe), _at(bench, recipe)
    said = ask_all(question, lambda text: typer.echo(text, err=True), lambda: _steps(knife.text, recipe))
    entry = note_of(knife, said, lambda: _steps(knife.text, recipe), path.parent)
    with Bench(path) as record:
        _said(record, record.add(entry, knife.text), _units("", recipe), json)


@app.command(context_settings=FREE_WORDS)
def correct(number: Number, words: Words = None, bench: BenchFile = None, json: AsJson = False) -> None:
    """Correct a note: a new one takes its place, and the old one stays to be seen. `none` takes a field back.

    Example: billet record correct 12 thickness 11.2 mm wrong none
    """
    from billet.record.note_words import read_words
    from billet.record.store import Bench, open_to_read
    from billet.record.take import correction_of

    path = _at(bench, None)
    with open_to_read(path) as record:
        old = record.entry(number)
        text = record.recipes().get(old.recipe_sha256, "")
    entry = correction_of(old, read_words(words or []), lambda: _steps(text, path), path.parent)
    with Bench(path) as record:
        _said(record, record.add(entry, text), "metric", json)


def _said(record: Bench, entry: Entry, units: str, json: bool) -> None:
    """What was written, for the smith to read back."""
    from billet.record.show import entry_dict, line

    if record.kept:
        wrote(record.kept)
    if json:
        print_json({"bench": str(record.path), "entry": entry_dict(entry)})
    else:
        print(line(entry, units, record.path.parent))
    wrote(record.path)


@app.command("list")
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

    path = _at(bench, recipe)
    title = read_knife(recipe).title if recipe else None
    with open_to_read(path) as record:
        entries = record.entries(title)
    _print(entries if everything else latest(entries), _units(units, recipe), path, json)


@app.command()
def search(question: Question, bench: BenchFile = None, units: Units = "", json: AsJson = False) -> None:
    """Search the notes of all knives.

    Example: billet record search what did I write about warp
    """
    from billet.record.entry import latest
    from billet.record.search import search as find
    from billet.record.store import open_to_read

    path = _at(bench, None)
    with open_to_read(path) as record:
        _print(find(latest(record.entries()), " ".join(question)), _units(units, None), path, json)


def _units(units: str, recipe: Path | None) -> str:
    """The units asked for, else the recipe's, else metric."""
    import tomllib

    from billet.base.errors import InputError

    if units not in ("", "metric", "imperial"):
        raise InputError(f'--units: found "{units}", wanted metric or imperial')
    if units or recipe is None:
        return units or "metric"
    return "imperial" if tomllib.loads(recipe.read_text(encoding="utf-8-sig")).get("units") == "imperial" else "metric"


def _print(entries: Sequence[Entry], units: str, path: Path, json: bool) -> None:
    from billet.record.show import entry_dict, line

    if json:
        print_json({"bench": str(path), "entries": [entry_dict(entry) for entry in entries]})
        return
    for knife in dict.fromkeys(entry.knife for entry in entries):
        print(f"{knife}")
        for entry in entries:
            if entry.knife == knife:
                print(f"  {line(entry, units, path.parent)}")
    print("" if entries else "no notes")


@app.command()
def compare(recipe: RecipeFile, bench: BenchFile = None, json: AsJson = False) -> None:
    """Set what was measured beside what the recipe foresees, step by step.

    Example: billet record compare knife.toml
    """
    from billet.record.desk import beside_plan
    from billet.record.show import difference_dict, difference_row
    from billet.record.store import open_to_read

    with open_to_read(_at(bench, recipe)) as record:
        found, left_out = beside_plan(recipe, record)
    if json:
        print_json({"differences": [difference_dict(one) for one in found], "notes_left_out": left_out})
        return
    heads = ("note", "after", "what", "foreseen", "measured", "difference", "")
    print_table(heads, [difference_row(one, _units("", recipe)) for one in found], left=(1, 2))
    if left_out:
        typer.echo(f"{left_out} notes were left out: the recipe had other steps when they were written", err=True)


@app.command()
def learn(bench: BenchFile = None, json: AsJson = False) -> None:
    """Learn this shop's losses from all that was measured, and offer them as a [shop] table.

    Example: billet record learn
    """
    from billet.record.desk import all_passages
    from billet.record.fit import as_dict, fit_shop, offer
    from billet.record.store import open_to_read

    with open_to_read(_at(bench, None)) as record:
        every, troubles = all_passages(record)
        entries = record.entries()
    for trouble in troubles:
        typer.echo(trouble, err=True)
    found = fit_shop(every)
    if json:
        print_json(as_dict(found))
    else:
        print(offer(found, len(entries), entries[-1].at[:10]), end="")


@app.command()
def export(
    to: ExportTo = "csv", output: Output = None, bench: BenchFile = None, units: Units = "", force: Force = False
) -> None:
    """Export all notes for other programs or for paper.

    Example: billet record export --to markdown -o record.md
    """
    from billet.base.safe_files import write_whole
    from billet.record.export import as_csv, as_markdown
    from billet.record.store import open_to_read

    with open_to_read(_at(bench, None)) as record:
        entries = record.entries()
    text = as_csv(entries) if to == "csv" else as_markdown(entries, _units(units, None))
    if output is None:
        print(text, end="")
        return
    wrote(write_whole(output, text, force))


@app.command()
def backup(target: Copy, text: AsText = False, bench: BenchFile = None, force: Force = False) -> None:
    """Copy the record, safely even while another program writes to it; keep two copies.

    Example: billet record backup --text bench-2024.jsonl
    """
    from billet.base.safe_files import check_free, write_whole
    from billet.record.backup import to_text
    from billet.record.store import open_to_read

    check_free(target, force)
    with open_to_read(_at(bench, None)) as record:
        if text:
            write_whole(target, to_text(record.entries(), record.recipes()), force)
        else:
            record.copy_to(target, force=force)
    wrote(target)


@app.command()
def restore(source: Source, bench: NewBench = Path("bench.sqlite")) -> None:
    """Make a new record from a plain-text backup.

    Example: billet record restore bench-2024.jsonl --bench bench.sqlite
    """
    from billet.record import backup as plain_text

    count = plain_text.restore(plain_text.read_backup(source), bench)
    typer.echo(f"wrote {bench} with {count} notes", err=True)
