"""A recipe that cannot be read as one: as much of it as the page can show, so that what is wrong can be mended in its own field."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from billet.base.safety import cautions
from render.page.refusals import at_the_head, beside

_LINE = re.compile(r"\bline (\d+)")
_HEAD = re.compile(r"\s*\[\[\s*bar\s*(\.\s*step\s*)?\]\]")


def unread(path: Path, text: str, trouble: str) -> dict[str, Any]:
    """What stands in the text, nothing reckoned, and the refusals, each with the step it speaks of."""
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError):
        data = {}
    title = data.get("title")
    return {
        "title": title if isinstance(title, str) and title else path.stem,
        "units": "imperial" if data.get("units") == "imperial" else "metric",
        "problems": [
            {
                "path": _step_at(text, line),
                "message": at_the_head(line, len(_tables(data.get("bar"))) > 1),
                "short": beside(line, ""),
            }
            for line in trouble.split("\n")
        ],
        "answer": [],
        "cautions": cautions("fire")[:1],
        "blades": [],
        "bars": [_bar(k, bar) for k, bar in enumerate(_tables(data.get("bar")))],
        "tables": {key: table for key, table in data.items() if key != "bar"},
    }


def _tables(value: object) -> list[dict[str, Any]]:
    """A list of tables as it is; nothing where it is something else."""
    return value if isinstance(value, list) and all(isinstance(one, dict) for one in value) else []


def _bar(k: int, bar: dict[str, Any]) -> dict[str, Any]:
    join = bar.get("join")
    return {
        "name": str(bar.get("name", f"bar {k + 1}")),
        "path": ["bar", k],
        "fields": {key: value for key, value in bar.items() if key != "step"},
        "joined": [str(one) for one in join] if isinstance(join, list) else None,
        "plates": [],
        "width_m": None,
        "length_m": None,
        "like": None if "step" in bar else bar.get("like"),
        "steps": [_step(["bar", k, "step", at], step) for at, step in enumerate(_tables(bar.get("step")))],
        "stack": None,
        "laid": "",
    }


def _step(path: list[str | int], step: dict[str, Any]) -> dict[str, Any]:
    bare: dict[str, Any] = {"number": None, "first": None, "told": [], "row": None, "warnings": []}
    return bare | {"path": path, "do": str(step.get("do", "?")), "fields": step}


def _step_at(text: str, trouble: str) -> list[str | int] | None:
    """The step whose lines a refusal names; None where it names none, or lines of no step."""
    found = _LINE.search(trouble)
    if not found:
        return None
    bar = step = -1
    inside = False
    for line in text.split("\n")[: int(found[1])]:
        head = _HEAD.match(line)
        if head and head[1]:
            step, inside = step + 1, True
        elif head:
            bar, step, inside = bar + 1, -1, False
        elif line.lstrip().startswith("["):
            inside = False
    return ["bar", bar, "step", step] if inside and bar >= 0 else None
