"""The reference, made of the models and commands themselves so that it cannot fall behind them."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator, Mapping
from typing import Any

import billet.metal
from billet.manual.described import Described, fields_of, recipe_tables
from billet.metal.sources import Source
from billet.steps import step_types


def first_sentence(text: str | None) -> str:
    """The first sentence of a docstring, on one line and without its full stop."""
    return re.split(r"(?<=\.)\s", _joined(text).split("\n")[0], maxsplit=1)[0].rstrip(".")


def _joined(text: str | None) -> str:
    """A docstring as paragraphs of one line each."""
    parts = re.split(r"\n\s*\n", inspect.cleandoc(text or ""))
    return "\n\n".join(" ".join(part.split()) for part in parts)


def steps() -> str:
    """Every step: what is done, and each of its fields."""
    parts = ["# Steps", 'A step is a `[[bar.step]]` with its name in `do`, such as `do = "weld"`. ' + _MARKED]
    for verb, kind in step_types().items():
        parts += [f"## `{verb}`", _joined(kind.__doc__), _list(fields_of(kind))]
    return "\n\n".join(part for part in parts if part) + "\n"


def tables() -> str:
    """Every table of a recipe, and each of its fields."""
    parts = [
        "# Tables of a recipe",
        "One TOML file is one knife. Every quantity is a text with its unit, metric or inches; they may be mixed. "
        + _MARKED,
        "A bar may say `like` and the name of an earlier bar: it is that bar again, but for its own keys. "
        "A table `[steels.NAME]` says `like`, the steel it was bought as, and the elements of its certificate in weight percent.",
    ]
    for path, model in recipe_tables():
        head = {"": "## recipe", "bar": "## `[[bar]]`", "rack.bar": "## `[[rack.bar]]`"}.get(path, f"## `[{path}]`")
        parts += [head, _joined(model.__doc__), _list(fields_of(model))]
    return "\n\n".join(part for part in parts if part) + "\n"


_MARKED = "Fields in code type, marked as required, must be given."


def _list(fields: tuple[Described, ...]) -> str:
    return "\n".join(_line(field) for field in fields)


def _line(field: Described) -> str:
    """One field: its key, the words it may be, its sentence."""
    key = f"`{field.key}` (required)" if field.info.is_required() else field.key
    words = f" One of {', '.join(field.choices)}." if len(field.choices) > 2 else ""
    return f"- {key}: {field.sentence}{words}"


def commands(group: Mapping[str, Any]) -> str:
    """Every command with its help; `group` are those of the command line by name."""
    parts = ["# Commands", "Every command takes `--help`, and `--json` where it reports (SI, the unit in every key)."]
    for name, command in _all(group, "billet"):
        options = [p for p in command.params if p.name != "help" and not getattr(p, "hidden", False)]
        parts += [f"## {name}", _joined(command.help), "\n".join(_option(p) for p in options)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _all(group: Mapping[str, Any], before: str) -> Iterator[tuple[str, Any]]:
    for name, command in group.items():
        yield f"{before} {name}", command
        yield from _all(getattr(command, "commands", {}), f"{before} {name}")


def _option(one: Any) -> str:
    kind = ", ".join(one.opts) if one.param_type_name == "option" else (one.metavar or one.name).upper()
    return f"- {kind}: {' '.join((one.help or '').split())}".rstrip(": ")


def sources() -> str:
    """Every reference the formulas carry, and how far it was checked."""
    found: dict[str, Source] = {}
    for module in sorted(m.name for m in pkgutil.iter_modules(billet.metal.__path__)):
        held = vars(importlib.import_module(f"billet.metal.{module}")).values()
        found |= {one.key: one for one in held if isinstance(one, Source)}
    lines = [f"- {one.text} ({one.status})" for one in sorted(found.values(), key=lambda s: s.key)]
    return "\n\n".join(["# Sources", _joined(Source.__doc__).split("\n\n")[1], "\n".join(lines)]) + "\n"
