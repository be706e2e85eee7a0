"""The folder of recipes the page works in: nothing outside it is ever named, read or written."""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from billet.base.errors import InputError
from billet.base.safe_files import circles, small_text, write_whole
from billet.recipe.shop_file import SHOP, named_as_knife
from billet.record.again import retitled
from billet.record.visible import one_line, visible

_END = ".toml"
_UNSAFE = re.compile(r"[/\\\t\n\ud800-\udfff]")  # lead elsewhere, break a line, or stand for bytes that are no text
_ELSEWHERE = re.compile(r'[<>:"|?*]')
_DEVICE = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³]) *(\..*)?", re.IGNORECASE)
STARTERS = ("starter_metric", "starter_imperial")
STARTS = (
    Path(__file__).parent / "static" / "starts"
)  # the smokehouse set and a picture of each, written by tests.starts
_LONGEST = 255  # bytes of a file's name that disks take
_MOST = 400  # recipes listed
_GLANCE = 160  # letters of a starting point's words


@dataclass(frozen=True)
class Folder:
    """A folder of recipes."""

    root: Path

    def path(self, name: object) -> Path:
        """The recipe of a name. Raises InputError for a name that is none, or that leads out of the folder."""
        if not isinstance(name, str) or not nameable(name):
            raise InputError(f'file: found "{one_line(str(name)[:60])}", wanted a name such as knife.toml')
        if len(name.encode()) > _LONGEST:
            raise InputError(f'file: the name "{name[:30]}..." is too long for a disk; give it a shorter one')
        path = named_as_knife(self.root / name)
        if circles(path):
            raise InputError(f"file: {name} is a link that leads back to itself; delete it")
        if Path(os.path.realpath(path)).parent != self.root.resolve():
            raise InputError(f"file: {name} leads out of this folder; copy the recipe into it")
        return path

    def knives(self) -> list[dict[str, Any]]:
        """Every recipe of the folder that holds a bar or a blade, by file name."""
        return [{"file": path.name, **_heads(path)} for path in self._recipes()[:_MOST]]

    def beyond(self) -> int:
        """How many recipes more there are than are listed."""
        return max(0, len(self._recipes()) - _MOST)

    def _recipes(self) -> list[Path]:
        found = sorted(self.root.iterdir())
        return [path for path in found if path.name.lower() != SHOP and nameable(path.name)]

    def starts(self) -> list[dict[str, str]]:
        """The recipes a new knife may start from, each with its first comment."""
        return [{"id": name, **_start_words(text)} for name, text in _starts().items()]

    def new(self, start: object, name: object, title: object = None) -> Path:
        """Write a new recipe from a starting point, or from a knife of this folder. Raises InputError."""
        path, texts = _portable(self.path(name)), _starts()
        if path.exists():
            raise InputError(f"file: {path.name} is in this folder already; call the new file otherwise")
        text = texts[start] if isinstance(start, str) and start in texts else _beginning(self.path(start))
        if isinstance(title, str) and title.strip():
            text = retitled(text, title.strip()[:200])
        return write_whole(path, text)


def nameable(name: str) -> bool:
    """Whether a recipe may be asked for by this name: one of a file in the folder, not hidden, that reads as it is."""
    shown = not _UNSAFE.search(name) and visible(name) == name
    return shown and name.endswith(_END) and not name.startswith(".")


def _portable(path: Path) -> Path:
    """The path of a new recipe, which every machine can hold. Raises InputError.

    Windows keeps some signs, and the names of its devices with any ending, for itself.
    """
    if found := _ELSEWHERE.search(path.name):
        raise InputError(f'file: found {found[0]} in "{path.name[:60]}", which Windows takes in no name; leave it out')
    if _DEVICE.fullmatch(path.name):
        raise InputError(f'file: "{path.name[:60]}" is a device to Windows; call the knife otherwise, knife.toml')
    return path


def _beginning(path: Path) -> str:
    """The text of a knife that another starts from. Raises InputError."""
    try:
        return small_text(path)
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "this is no text"
        raise InputError(f"{path.name}: cannot be read ({why}); start from another knife") from None


def _heads(path: Path) -> dict[str, Any]:
    """Title, units and blades of a recipe; of one that is not sound its name alone."""
    try:
        data = tomllib.loads(small_text(path))
    except (OSError, ValueError, RecursionError):
        return {"title": path.stem, "units": "metric", "blades": [], "sound": False}
    blades = data.get("blade")
    names = [str(b.get("name", "")) for b in blades if isinstance(b, dict)] if isinstance(blades, list) else []
    title = data.get("title")
    return {
        "title": title if isinstance(title, str) else path.stem,
        "units": "imperial" if data.get("units") == "imperial" else "metric",
        "blades": names,
        "sound": True,
    }


def _starts() -> dict[str, str]:
    """Texts by name: the two starters, and the smokehouse set."""
    out = {name: files("billet").joinpath(f"{name}.toml").read_text("utf-8") for name in STARTERS}
    return out | {path.stem: path.read_text("utf-8") for path in sorted(STARTS.glob("*.toml"))}


def _start_words(text: str) -> dict[str, str]:
    data = tomllib.loads(text)
    lines = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        lines.append(line.lstrip("# "))
    words = _in_short(" ".join(lines))
    return {"title": str(data.get("title", "")), "units": str(data.get("units", "metric")), "words": words}


def _in_short(words: str) -> str:
    """The first sentences of a comment, as many as are read at a glance."""
    if len(words) <= _GLANCE:
        return words
    return words[: max(words.rfind(". ", 0, _GLANCE) + 1, 0)] or words[:_GLANCE]
