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
    import shutil

    from billet.manual.pages import find, topics
    from billet.manual.wrapping import wrapped

    columns = min(80, shutil.get_terminal_size((80, 24)).columns)
    if topic:
        print(wrapped(find(" ".join(topic)), columns), end="")
        return
    print(wrapped("`billet manual TOPIC` reads one, or a step, table or command:", columns), end="")
    for name, tells in topics():
        print(wrapped(f"- {name}: {tells}", columns), end="")
