"""What a recipe refuses, as the page says it: beside the field it speaks of, or at the head of the room."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from billet.base.errors import InputError
from billet.recipe.recipe import Recipe
from billet.steel.plate import read_plate

_LINE = re.compile(r"^[^\n:]*\.toml (line \d+: )")
_NUMBERED = re.compile(r"^bar (\d+)(?:, step (\d+))?: ")
_NAMED = re.compile(r'^bar "(.+?)"(?: step (\d+) \((\w+)\))?: ')
_PLATE = re.compile(r"^(?:plate|stack|base|cap|spacer)(?:, plate '.*?')?: ")
_TABLE = re.compile(r"^(?:blade|rack|bevel|steels): ")
_FILE = re.compile(r"^\S+\.toml\b")
_KEY = re.compile(r'(?<!["\w./])[a-z]+(?:_[a-z]+)+(?![\w."/])')
_LAID = ("stack", "base", "cap")
_WORDS = {  # what a command says of the text of a recipe, and where the page has it
    "is told in the recipe: [": "is told under Text: [",
    "in [shop]": "under Forge, The shop", " or [target]": "", "in [target]": "in the plan's target",
    "the [blade]": "the knife", "[blade]": "the knife",
}  # fmt: skip


def beside(message: str, key: str, at: tuple[int, int | None] | None = None) -> str:
    """Refusals as they stand beside a field, or on the card of a step: without the place in the file.

    ``at`` is the bar and the step the field is of, counted from one; a refusal that speaks of another keeps its place.
    """
    return "\n".join(_beside(line, key, at) for line in message.split("\n"))


def _beside(line: str, key: str, at: tuple[int, int | None] | None) -> str:
    bare = _LINE.sub("", line)
    found = _NUMBERED.match(bare)
    if found and at is not None and (int(found[1]), found[2] and int(found[2])) != at:
        return at_the_head(line, True)
    bare = _TABLE.sub("", _NUMBERED.sub("", _NAMED.sub("", bare))).removeprefix(f"{key}: ")
    return _upper(on_the_page(_PLATE.sub("", bare)))


def at_the_head(message: str, several: bool) -> str:
    """A refusal as it stands above a room: the step it speaks of by its name, and its bar where there are several."""
    line = _LINE.sub(r"\1", message)
    bare = _LINE.sub("", message)
    named, numbered = _NAMED.match(bare), _NUMBERED.match(bare)
    bar = named[1] if named else numbered[1] if numbered else ""
    of = f"bar {bar}, " if bar and several else ""
    if named and named[2]:
        return on_the_page(_upper(f"{of}step {named[2]}, {named[3].replace('_', ' ')}: {bare[named.end() :]}"))
    if numbered and numbered[2]:
        return on_the_page(_upper(f"{of}step {numbered[2]}: {bare[numbered.end() :]}"))
    if bar:
        found = named or numbered
        return on_the_page(_upper(f"{of.removesuffix(', ')}: {bare[found.end() :]}" if of and found else bare))
    return _upper(on_the_page(line))


def in_the_text(message: str) -> str:
    """Refusals as they stand below the recipe's text: with their lines, without the file's name."""
    return "\n".join(_upper(_LINE.sub(r"\1", line)) for line in message.split("\n"))


def on_the_page(words: str) -> str:
    """A sentence that speaks of a recipe's tables, with the places the page has for them."""
    for said, shown in _WORDS.items():
        words = words.replace(said, shown)
    cut = words.find("known are ")  # what may be written under Text stands there as it is written
    head, tail = (words, "") if cut < 0 else (words[:cut], words[cut:])
    return _KEY.sub(lambda key: key[0].replace("_", " "), head) + tail


def known_plates(recipe: Recipe, edits: Sequence[Mapping[str, Any]]) -> None:
    """Raise InputError for a plate that is put in and is none: the stack would be drawn without it."""
    for text in _put_in(edits):
        read_plate(text, recipe.own_steels, "plate")


def _put_in(edits: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    for edit in edits:
        value = edit.get("value")
        path = edit["path"]
        laid = path[0] == "bar" and (path[-1] == "spacer" or (len(path) > 2 and path[2] in _LAID))
        if edit["op"] not in ("set", "insert") or not laid:
            continue
        yield from (one for one in (value if isinstance(value, list) else [value]) if isinstance(one, str))


def _upper(line: str) -> str:
    return line if _FILE.match(line) else line[:1].upper() + line[1:]


def refused(error: InputError, path: Sequence[str | int]) -> InputError:
    """A refusal of a change of the field at a path, in the words that stand beside it."""
    names = [key for key in path if isinstance(key, str)]
    return InputError(beside(str(error), names[-1] if names else "", _place(path)))


def _place(path: Sequence[str | int]) -> tuple[int, int | None] | None:
    """The bar and the step a path leads into, counted from one; no bar 0 where it leads into none."""
    bar = path[1] + 1 if len(path) > 1 and path[0] == "bar" and isinstance(path[1], int) else 0
    step = path[3] + 1 if bar and len(path) > 3 and path[2] == "step" and isinstance(path[3], int) else None
    return bar, step
