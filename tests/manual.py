"""The generated parts of the README and of the manual: run this file to write them anew (`python -m tests.manual`)."""

from __future__ import annotations

import itertools
import re
import tomllib
from pathlib import Path

from billet.cli import COMMANDS, command
from billet.manual import reference as pages
from billet.manual.reference import first_sentence
from billet.steps import step_types

README = Path(__file__).parent.parent / "README.md"
DEMOS = README.parent / "demo_billets"
PAGES = README.parent / "billet" / "manual"


def steps() -> str:
    """A table of all steps."""
    rows = ["| step | what is done |", "|---|---|"]
    rows += [f"| `{verb}` | {first_sentence(kind.__doc__)} |" for verb, kind in step_types().items()]
    return "\n".join(rows)


def commands() -> str:
    """A table of all commands."""
    rows = ["| command | what it does |", "|---|---|"]
    rows += [f"| `billet {name}` | {first_sentence(command(name).help)} |" for name in COMMANDS]
    return "\n".join(rows)


def gallery() -> str:
    """The demo knives with their pictures."""
    first, last = ("random", "ladder", "feather"), ("slicer",)
    files = sorted(
        DEMOS.glob("*.toml"),
        key=lambda f: (f.stem in last, first.index(f.stem) if f.stem in first else len(first), f.stem),
    )
    shown = []
    for file in files:
        data = tomllib.loads(file.read_text("utf-8"))
        if "bar" in data:
            shown.append((f"**{data['title']}** (`{file.name}`)", f"![{data['title']}](demo_billets/{file.stem}.png)"))
    large = [f"{picture}\n\n{words}" for words, picture in shown[: len(first)]]
    small = [f"| {picture}<br>{words} |" for words, picture in shown[len(first) :]]
    rows = [a + b.removeprefix("|") for a, b in itertools.zip_longest(small[::2], small[1::2], fillvalue="| |")]
    return "\n\n".join([*large, "\n".join(["| | |", "|---|---|", *rows])])


def filled(text: str) -> str:
    """The README with its generated parts made anew."""
    for name, part in (("steps", steps()), ("commands", commands()), ("gallery", gallery())):
        text = re.sub(
            rf"(<!-- {name} -->\n).*?(<!-- /{name} -->)", lambda m, p=part: f"{m[1]}{p}\n{m[2]}", text, flags=re.S
        )
    return text


def reference() -> dict[Path, str]:
    """The pages of the manual that are made of the models and commands, by the file they are stored in."""
    made = {"steps": pages.steps(), "tables": pages.tables(), "sources": pages.sources()}
    made["commands"] = pages.commands({name: command(name) for name in COMMANDS})
    return {PAGES / f"reference_{name}.md": text for name, text in made.items()}


if __name__ == "__main__":
    README.write_text(filled(README.read_text("utf-8")), "utf-8")
    for path, text in reference().items():
        path.write_text(text, "utf-8")
