"""How an answer is laid out: the answer first, in at most twelve lines, the rest with --full.

Everything is wrapped at the terminal's width, eighty columns at most. Cautions come last, the one to three that belong to
what was asked, one line each; with --full they stand in full.
"""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Sequence
from typing import Annotated

import typer

MOST_LINES = 12
MOST_COLUMNS = 80
_LEAST_COLUMNS = 40

Full = Annotated[bool, typer.Option("--full", help="Print everything: tables, reasons, cautions in full, sources.")]


def columns() -> int:
    """How wide an answer may be: the terminal's width, eighty at most."""
    return max(_LEAST_COLUMNS, min(MOST_COLUMNS, shutil.get_terminal_size((MOST_COLUMNS, 24)).columns))


def wrapped(text: str, hang: int = 2, less: int = 0) -> list[str]:
    """A sentence as lines of the answer; what follows the first is indented by `hang`, and `less` columns are left free."""
    indent = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(
        text, columns() - less, subsequent_indent=indent + " " * hang, break_on_hyphens=False, replace_whitespace=False
    ) or [""]


def named(rows: Iterable[tuple[str, str]]) -> list[str]:
    """Short lines, each a name and what it says, the second column aligned."""
    rows = list(rows)
    wide = max((len(name) for name, _ in rows), default=0) + 2
    return [line for name, text in rows for line in wrapped(f"{name:<{wide}}{text}", wide)]


def tell(
    head: Sequence[str],
    body: Sequence[str] = (),
    topics: Sequence[str] = (),
    *,
    last: Sequence[str] = (),
    units: str = "metric",
    hang: int = 2,
) -> None:
    """Print an answer of at most twelve lines.

    `head` and `last` always stand; of `body` (sentences, most important first) as many as fit between them, and how many
    more there are. `topics` are the cautions that belong to it, in one line each. Lines after the first of a sentence are
    indented by `hang`.
    """
    from billet.base.safety import in_a_line

    above = [line for text in head for line in wrapped(text, hang)]
    below = [line for text in last for line in wrapped(text, hang)]
    warned = [line for text in in_a_line(*topics, units=units) for line in wrapped(f"! {text}")]
    shown, left = fitted(body, MOST_LINES - len(above) - len(below) - len(warned), hang)
    more = [f"  {left} more with --full"] if left else []
    for line in (*above, *shown, *more, *below, *warned):
        print(line)


def fitted(body: Sequence[str], room: int, hang: int) -> tuple[list[str], int]:
    """The lines of as many sentences as fit into a number of lines, and how many sentences are left out."""
    shown: list[str] = []
    for done, text in enumerate(body):
        lines = wrapped(text, hang)
        rest = done < len(body) - 1
        if len(shown) + len(lines) + rest > room:
            return shown, len(body) - done
        shown += lines
    return shown, 0


def print_wrapped(text: str, hang: int = 2) -> None:
    """Print one sentence, wrapped."""
    print("\n".join(wrapped(text, hang)))
