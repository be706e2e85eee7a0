"""What a recipe refuses, as the page says it: beside the field it speaks of, or at the head of the room."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from billet.base.errors import InputError
from billet.recipe.recipe import Recipe
from billet.steel.plate import read_plate

_LINE = re.compile(r"^[^\n:]*\.toml (line \d+: )")
_NUMBERED = re.compile(r"^bar \d+(?:, step (\d+))?: ")
_NAMED = re.compile(r'^bar "(.+?)"(?: step (\d+) \((\w+)\))?: ')
_PLATE = re.compile(r"^(?:plate|stack|base|cap|spacer)(?:, plate '.*?')?: ")
_TABLE = re.compile(r"^(?:blade|rack|bevel|steels): ")
_KEY = re.compile(r'(?<!["\w./])[a-z]+(?:_[a-z]+)+(?![\w."/])')
_LAID = ("stack", "base", "cap", "spacer")
_WORDS = {  # what a command says of the text of a recipe, and where the page has it
    "is told in the recipe: [": "is told under Text: [",
    "in [shop]": "under Forge, The shop", " or [target]": "", "in [target]": "in the plan's target",
    "the [blade]": "the knife", "[blade]": "the knife",
}  # fmt: skip


def beside(message: str, key: str) -> str:
    """Refusals as they stand beside a field: without the place in the file, for the field is the place."""
    bare = (_PLATE.sub("", _bare(line).removeprefix(f"{key}: ")) for line in message.split("\n"))
    return "\n".join(_upper(on_the_page(line)) for line in bare)


def at_the_head(message: str, several: bool) -> str:
    """A refusal as it stands above a room: the step it speaks of by its name, and its bar where there are several."""
    line = _LINE.sub(r"\1", message)
    bare = line if line == message else line.partition(": ")[2]
    named, numbered = _NAMED.match(bare), _NUMBERED.match(bare)
    if named:
        of = f"Bar {named[1]}, " if several else ""
        step = f"{of}{'s' if several else 'S'}tep {named[2]}, {named[3].replace('_', ' ')}: " if named[2] else of
        return on_the_page(f"{step}{bare[named.end() :]}")
    if numbered and numbered[1]:
        return on_the_page(f"Step {numbered[1]}: {bare[numbered.end() :]}")
    return _upper(on_the_page(line))


def in_the_text(message: str) -> str:
    """Refusals as they stand below the recipe's text: with their lines, without the file's name."""
    return "\n".join(_upper(_LINE.sub(r"\1", line)) for line in message.split("\n"))


def on_the_page(words: str) -> str:
    """A sentence that speaks of a recipe's tables, with the places the page has for them."""
    for said, shown in _WORDS.items():
        words = words.replace(said, shown)
    return _KEY.sub(lambda key: key[0].replace("_", " "), words)


def known_plates(recipe: Recipe, edits: Sequence[Mapping[str, Any]]) -> None:
    """Raise InputError for a plate that is put in and is none: the stack would be drawn without it."""
    for text in _put_in(edits):
        read_plate(text, recipe.own_steels, "plate")


def _put_in(edits: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    for edit in edits:
        value = edit.get("value")
        if edit["op"] not in ("set", "insert") or not any(key in _LAID for key in edit["path"]):
            continue
        yield from (one for one in (value if isinstance(value, list) else [value]) if isinstance(one, str))


def _bare(line: str) -> str:
    found = _LINE.match(line)
    rest = line[found.end() :] if found else line
    return _TABLE.sub("", _NUMBERED.sub("", _NAMED.sub("", rest)))


def _upper(line: str) -> str:
    return line[:1].upper() + line[1:]


def refused(error: InputError, path: Sequence[str | int]) -> InputError:
    """A refusal of a change of the field at a path, in the words that stand beside it."""
    names = [key for key in path if isinstance(key, str)]
    return InputError(beside(str(error), names[-1] if names else ""))
