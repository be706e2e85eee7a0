"""The command line: one file a command, and no physics in it.

A command's file is imported when it is asked for, and imports its workers inside the command, so that `billet --help`
starts with the standard library and typer alone and a command pays for no other.
"""

from __future__ import annotations

import gc
import importlib
import os
import sys
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

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
    "solid",
    "record",
    "count",
    "steels",
    "schema",
    "manual",
)


class Late(TyperGroup):
    """A group whose commands are made when they are asked for."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return every command, in the order of the work at the bench."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return a command by its name, or None; what is not known is looked for among all, to offer the nearest."""
        for name in (cmd_name,) if cmd_name in COMMANDS else COMMANDS:
            if name not in self.commands:
                self.commands[name] = command(name)
        return self.commands.get(cmd_name)


def command(name: str) -> Any:
    """Return a command made of its file."""
    module = importlib.import_module(f"billet.cli.{name}")
    own = getattr(module, "app", None)
    if own is None:
        own = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
        own.command(name)(getattr(module, name))
    made = typer.main.get_command(own)
    made.name = name
    return made


app = typer.Typer(
    name="billet",
    cls=Late,
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


_LITTER = 50_000  # objects made before the collector looks for cycles: a start makes many and drops few


def behind_the_heel(words: list[str]) -> list[str]:
    """The words of a command line with a spot such as "-5 mm, 12 mm" told apart from an option, by a space before it."""
    if words[:1] != ["where"]:
        return words
    return [f" {word}" if word[:1] == "-" and word[1:2].isnumeric() else word for word in words]


def main() -> None:
    """Run the command line: 0 fine, 1 the input is at fault (one sentence on standard error), 2 usage, 130 interrupted."""
    from billet.base.console import forgiving
    from billet.base.errors import InputError

    forgiving(sys.stdout, sys.stderr)
    gc.set_threshold(_LITTER)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # its threads wait by spinning, which costs more than they bring
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")  # looked for among all installed packages; we have none
    sys.argv[1:] = behind_the_heel(sys.argv[1:])
    try:
        app()
    except InputError as error:
        from billet.record.visible import complaint

        print(f"billet: {complaint(str(error))}", file=sys.stderr)
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
