"""The generated parts of the README: run this file to write them anew (`python -m tests.manual`)."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import typer.main

from billet.cli import COMMANDS, app
from billet.steps import step_types

README = Path(__file__).parent.parent / "README.md"
DEMOS = README.parent / "demo_billets"


def first_sentence(text: str | None) -> str:
    """The first sentence of a docstring, on one line."""
    return re.split(r"(?<=[.;:])\s", " ".join((text or "").split()), maxsplit=1)[0].rstrip(".;:")


def steps() -> str:
    """A table of all steps with their fields."""
    rows = ["| step | what is done | fields |", "|---|---|---|"]
    for verb, kind in step_types().items():
        fields = [f"`{n}`" if f.is_required() else f"{n}" for n, f in kind.model_fields.items() if n != "do"]
        rows.append(f"| `{verb}` | {first_sentence(kind.__doc__)} | {', '.join(fields) or '-'} |")
    return "\n".join([*rows, "", "Fields in `code` must be given."])


def commands() -> str:
    """A table of all commands."""
    group = typer.main.get_command(app)
    rows = ["| command | what it does |", "|---|---|"]
    for name in COMMANDS:
        command = group.commands[name]  # type: ignore[attr-defined]
        rows.append(f"| `billet {name}` | {first_sentence(command.help)} |")
    return "\n".join(rows)


def gallery() -> str:
    """The demo knives with their pictures."""
    out = []
    for file in sorted(DEMOS.glob("*.toml")):
        data = tomllib.loads(file.read_text("utf-8"))
        if "bar" in data:
            out.append(f"**{data['title']}** (`{file.name}`)\n\n![{data['title']}](demo_billets/{file.stem}.png)")
    return "\n\n".join(out)


def filled(text: str) -> str:
    """The README with its generated parts made anew."""
    for name, part in (("steps", steps()), ("commands", commands()), ("gallery", gallery())):
        text = re.sub(
            rf"(<!-- {name} -->\n).*?(<!-- /{name} -->)", lambda m, p=part: f"{m[1]}{p}\n{m[2]}", text, flags=re.S
        )
    return text


if __name__ == "__main__":
    README.write_text(filled(README.read_text("utf-8")), "utf-8")
