"""billet record: the bench record, what was measured and what went wrong."""

from __future__ import annotations

import typer

from billet.cli.record.files import backup, export, restore
from billet.cli.record.look import list_notes, search
from billet.cli.record.notes import add, ask, correct
from billet.cli.record.options import FREE_WORDS
from billet.cli.record.teach import compare, learn

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Keep the bench record: what was measured after each stage, what went wrong, and what it teaches.",
    epilog='Start with: billet record add knife.toml after 2 thickness 12.1 mm note "edges cold"',
)
app.command(context_settings=FREE_WORDS)(add)
app.command()(ask)
app.command(context_settings=FREE_WORDS)(correct)
app.command("list")(list_notes)
for _command in (search, compare, learn, export, backup, restore):
    app.command()(_command)
