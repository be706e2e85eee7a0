"""The pages of the manual, and finding the one that was asked for."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from importlib.resources import files

from billet.base.errors import InputError

# In the order a newcomer reads them: topic, its file, and what it tells.
PAGES = {
    "tutorial": ("tutorial", "a smokehouse slicer, from nothing to the oven"),
    "rack": ("howto_rack", "a plan from my rack"),
    "lines": ("howto_lines", "which way the weld lines run"),
    "integral": ("howto_integral", "a knife with an integral bolster"),
    "clad": ("howto_clad", "a core between jackets"),
    "twist": ("howto_twist", "a twisted bar"),
    "warp": ("howto_warp", "grind out a warp"),
    "work": ("howto_work", "every stage, and what the knife costs"),
    "order": ("howto_order", "several knives from one bar"),
    "paper": ("howto_paper", "templates and cards to print"),
    "bench": ("howto_bench", "keep the bench book"),
    "page": ("howto_page", "all of it on the screen, and on the telephone"),
    "losses": ("howto_losses", "teach it my losses"),
    "exact": ("exact", "what is exact and what is an approximation"),
    "truth": ("truth", "how far off each figure was found to be"),
    "steps": ("reference_steps", "every step and its fields"),
    "tables": ("reference_tables", "every table of a recipe and its fields"),
    "commands": ("reference_commands", "every command"),
    "sources": ("reference_sources", "where the formulas come from"),
}
REFERENCE = ("steps", "tables", "commands", "sources")
# Told in one line each, so that the list stays short.
TOGETHER = {
    ("integral", "clad", "twist"): "three kinds of knife",
    ("work", "order", "paper"): "stages and price, several knives, print",
    ("exact", "truth", *REFERENCE): "the rest",
}


def page(topic: str) -> str:
    """The text of a page, as Markdown."""
    return (files(__package__) / f"{PAGES[topic][0]}.md").read_text("utf-8")


def topics() -> list[tuple[str, str]]:
    """The topics with what they tell, those that belong together in one line."""
    line = {name: names for names in TOGETHER for name in names}
    groups = dict.fromkeys(line.get(name, (name,)) for name in PAGES)
    return [(", ".join(names), TOGETHER.get(names, PAGES[names[0]][1])) for names in groups]


def sections() -> Iterator[tuple[str, str]]:
    """The sections of the reference by name, such as `ladder`, `shop` or `plan`."""
    for topic in REFERENCE[:-1]:
        for part in re.split(r"(?m)^(?=## )", page(topic))[1:]:
            yield part.splitlines()[0].removeprefix("## ").strip("`[] "), part


def find(asked: str) -> str:
    """The page of a topic, or the part of the reference about a step, a table or a command; else the nearest is offered."""
    name = " ".join(asked.lower().split()).strip("[]")
    if name in PAGES:
        return page(name)
    parts: dict[str, str] = {}
    for key, text in sections():
        for known in {key, key.removeprefix("billet ")}:
            parts[known] = f"{parts[known]}\n{text}" if known in parts else text
    if name in parts:
        return parts[name]
    near = difflib.get_close_matches(name, [*PAGES, *parts], n=1, cutoff=0.5)
    offer = f'the nearest is "{near[0]}"' if near else "billet manual lists the topics"
    raise InputError(f'the manual has no topic "{asked}"; {offer}.')
