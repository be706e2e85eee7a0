"""billet manual: the manual, read at the terminal."""

from __future__ import annotations

from typing import Annotated

import typer


def manual(
    topic: Annotated[
        list[str] | None, typer.Argument(help="A topic, or a step, table or command.", metavar="[TOPIC]")
    ] = None,
) -> None:
    """Read the manual; without a topic it lists them.

    Example: billet manual tutorial
    """
    from billet.cli.answer import columns
    from billet.manual.pages import find, topics
    from billet.manual.wrapping import wrapped

    wide = columns()
    if topic:
        print(wrapped(find(" ".join(topic)), wide), end="")
        return
    print(wrapped("`billet manual TOPIC` reads one, or a step, table or command:", wide), end="")
    for name, tells in topics():
        print(wrapped(f"- {name}: {tells}", wide), end="")
