"""The command line: one file a command, and no physics in it.

A command's file imports its workers inside the command, so that `billet --help` starts with the standard library and
typer alone.
"""

from __future__ import annotations

import importlib
import os
import sys
from typing import Annotated

import typer

# In the order of the work at the bench.
COMMANDS = (
    "new",
    "open",
    "again",
    "check",
    "next",
    "ledger",
    "stages",
    "quote",
    "preview",
    "where",
    "plan",
    "carbon",
    "harden",
    "grind",
    "sheet",
    "record",
    "count",
    "steels",
    "schema",
    "manual",
)

app = typer.Typer(
    name="billet",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Design a pattern-welded billet backwards from the finished kitchen knife, and keep its ledger forwards.",
    epilog="Start with: billet new knife.toml, then billet check knife.toml, then billet preview knife.toml",
)


def _version(asked: bool) -> None:
    if asked:
        from billet import __version__

        print(f"billet {__version__}")
        raise typer.Exit


@app.callback()
def options(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Options that stand before the command."""
    from billet.base import read_files

    read_files.watch()
    context.call_on_close(read_files.rest)


for _name in COMMANDS:
    _module = importlib.import_module(f"billet.cli.{_name}")
    if hasattr(_module, "app"):
        app.add_typer(_module.app, name=_name)
    else:
        app.command(_name)(getattr(_module, _name))


def main() -> None:
    """Run the command line: 0 fine, 1 the input is at fault (one sentence on standard error), 2 usage, 130 interrupted."""
    from billet.base.errors import InputError

    try:
        app()
    except InputError as error:
        from billet.record.visible import visible

        print(f"billet: {visible(str(error))}", file=sys.stderr)
        sys.exit(1)
    except KeyboardInterrupt:
        print("billet: interrupted, nothing was left half done", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except OSError as error:
        if error.errno is None:
            raise
        place = f"{error.filename}: " if error.filename else ""
        print(f"billet: {place}cannot be read or written ({error.strerror})", file=sys.stderr)
        sys.exit(1)
