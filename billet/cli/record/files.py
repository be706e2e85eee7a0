"""billet record export, backup, restore: the record as a whole."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from billet.cli.common import Force, wrote
from billet.cli.record.options import (
    AsText,
    BenchFile,
    Copy,
    ExportTo,
    NewBench,
    Output,
    Source,
    Units,
    at,
    units_of,
)

if TYPE_CHECKING:
    pass


def export(
    to: ExportTo = "csv", output: Output = None, bench: BenchFile = None, units: Units = "", force: Force = False
) -> None:
    """Export all notes for other programs or for paper.

    Example: billet record export --to markdown -o record.md
    """
    from billet.base.safe_files import write_whole
    from billet.record.export import as_csv, as_markdown
    from billet.record.store import open_to_read

    path = at(bench, None)
    with open_to_read(path) as record:
        entries = record.entries()
    text = as_csv(entries) if to == "csv" else as_markdown(entries, units_of(units, None, path))
    if output is None:
        print(text, end="")
        return
    wrote(write_whole(output, text, force))


def backup(target: Copy, text: AsText = False, bench: BenchFile = None, force: Force = False) -> None:
    """Copy the record, safely even while another program writes to it; keep two copies.

    Example: billet record backup --text bench-2024.jsonl
    """
    from billet.base.safe_files import check_free, write_whole
    from billet.record.backup import to_text
    from billet.record.store import open_to_read

    check_free(target, force)
    with open_to_read(at(bench, None)) as record:
        if text:
            write_whole(target, to_text(record.entries(), record.recipes()), force)
        else:
            record.copy_to(target, force=force)
    wrote(target)


def restore(source: Source, bench: NewBench = Path("bench.sqlite")) -> None:
    """Make a new record from a plain-text backup.

    Example: billet record restore bench-2024.jsonl --bench bench.sqlite
    """
    from billet.record import backup as plain_text

    count = plain_text.restore(plain_text.read_backup(source), bench)
    typer.echo(f"wrote {bench} with {count} notes", err=True)
