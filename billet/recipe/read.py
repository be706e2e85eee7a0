"""Read a recipe: one TOML file is one knife. Names the line of what is wrong, and turns the text into values."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from billet.base.errors import InputError
from billet.base.safe_files import same_but_for_capitals
from billet.recipe.models import VERSION, RecipeTables, models, tables_with
from billet.recipe.names import check_names, copied_bars
from billet.recipe.old_spellings import ClashError, respelt
from billet.recipe.recipe import Recipe
from billet.recipe.several import first_of_several, with_several
from billet.recipe.shop_file import SHOP
from billet.recipe.text_errors import sentences

_LARGEST = 2_000_000  # bytes; a recipe is a page or two


def load(path: Path | str) -> Recipe:
    """Read a recipe file. Raises InputError with one sentence per mistake, each naming the line."""
    path = Path(path)
    text = read_text(path)
    return build(plain(text, path), text, path)


def plain(text: str, path: Path) -> dict[str, Any]:
    """The plain data of a recipe's text, with the habits of a shop.toml beside it. Raises InputError."""
    data = _spelt(_parse(text, path.name), Recipe(RecipeTables(), path, text))
    shared = path.parent / SHOP
    own = data.get("shop", {})
    if shared.is_file() and isinstance(own, dict):
        data["shop"] = {**_shared_shop(shared), **own}
    return data


def _shared_shop(path: Path) -> dict[str, Any]:
    """The habits of a shop file, its keys bare or under [shop]; what is wrong in it is told with its own name and line."""
    text = read_text(path)
    data = _parse(text, path.name) if text.strip() else {}
    under = isinstance(data.get("shop"), dict) and len(data) == 1
    whole, table = (data, ()) if under else ({"shop": data}, ("shop",))
    build(whole, text, path, table=table)
    return dict(_spelt(whole, Recipe(RecipeTables(), path, text, table=table))["shop"])


def build(
    data: dict[str, Any], text: str = "", path: Path | None = None, *, door: bool = True, table: tuple[str, ...] = ()
) -> Recipe:
    """A recipe from the plain data of a TOML file; with `door` every quantity must carry its unit. Raises InputError."""
    shell = Recipe(RecipeTables(), path, text, table=table)
    version = data.get("version", VERSION)
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise InputError(
            f"{shell.place(('version',))}version: found {version!r}, wanted a whole number, such as version = {VERSION}"
        )
    if version > VERSION:
        raise InputError(
            f"{shell.place(('version',))}version: this recipe is written for version {version}, and this program reads up to {VERSION}; use a newer one"
        )
    for place, word in _words(data):
        if re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", word):
            raise InputError(
                f"{shell.place(place)}found a control character in {ascii(word)[:60]}, wanted letters, figures and signs; write it again by hand"
            )
    data, several = first_of_several(copied_bars(_spelt(data, shell), shell), shell)
    recipe = Recipe(_tables(data, shell, door), path, text)
    check_names(recipe)
    _ = recipe.own_steels
    return with_several(recipe, several, door)


def _tables(data: dict[str, Any], shell: Recipe, door: bool) -> RecipeTables:
    """Data as a model that knows the steps in it alone; what that refuses, the whole model refuses with its words."""
    context = {"door": True} if door else None
    verbs = _verbs(data)
    if verbs and not models.cache_info().currsize:
        with suppress(ValidationError):
            return tables_with(verbs).model_validate(data, context=context)
    try:
        return models()[1].model_validate(data, context=context)
    except ValidationError as error:
        raise InputError("\n".join(dict.fromkeys(sentences(error, shell)))) from None


def _verbs(data: dict[str, Any]) -> frozenset[str]:
    """The verbs of a recipe's steps; none where any of them has none."""
    bars = [bar for bar in _items(data.get("bar")) if isinstance(bar, dict)]
    steps = [step for bar in bars for step in _items(bar.get("step"))]
    verbs = [step["do"] for step in steps if isinstance(step, dict) and isinstance(step.get("do"), str)]
    return frozenset(verbs) if len(verbs) == len(steps) else frozenset()


def _items(found: Any) -> list[Any]:
    return found if isinstance(found, list) else []


def _spelt(data: dict[str, Any], shell: Recipe) -> dict[str, Any]:
    """Plain data in today's spelling. Raises InputError where a table holds an old and a new spelling of one key."""
    try:
        return respelt(data)[0]
    except ClashError as clash:
        raise InputError(f"{shell.place(clash.place)}{clash}") from None


def _words(data: Any, place: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Every text and every key in plain data, with its place."""
    if isinstance(data, str):
        yield place, data
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        if isinstance(key, str):
            yield (*place, key), key
        yield from _words(value, (*place, key))


def read_text(path: Path) -> str:
    """The text of a recipe file. Raises InputError."""
    if not path.exists():
        near = []
        if alike := same_but_for_capitals(path):
            near = [alike.name]
        elif path.parent.is_dir():
            near = difflib.get_close_matches(path.name, [p.name for p in path.parent.glob("*.toml")], n=1)
        hint = f"; there is {near[0]}" if near else "; `billet new` writes a starter recipe"
        raise InputError(f"{path}: there is no such file{hint}")
    if not path.is_file():
        what = "a folder" if path.is_dir() else "not a file"
        raise InputError(f"{path}: this is {what}, wanted a recipe file ending in .toml")
    if path.stat().st_size > _LARGEST:
        raise InputError(
            f"{path.name}: found {path.stat().st_size} bytes, and a recipe has at most {_LARGEST}; is this the right file?"
        )
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check who may read it") from None
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{path.name}: this text is in UTF-16; save it again as UTF-8")
    if b"\0" in raw:
        raise InputError(f"{path.name}: this is not a text file; a recipe is a text in TOML")
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise InputError(
            f"{path.name} line {line}: found a character that is not UTF-8; save the file again as UTF-8"
        ) from None


def _parse(text: str, name: str) -> dict[str, Any]:
    """The plain data of a TOML text, or one sentence with the line."""
    if not text.strip():
        raise InputError(f"{name}: the file is empty; `billet new` writes a starter recipe")
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        message = str(error)
        if found := re.search(r"\(at line (\d+), column (\d+)\)", message):
            what = message[: found.start()].strip()
            if "overwrite" in what:
                raise InputError(
                    f"{name} line {found.group(1)}: this key is written twice in one table, which is not TOML; keep one of them"
                ) from None
            if _in_backslashes(text, int(found.group(1))):
                raise InputError(
                    f"{name} line {found.group(1)}: a backslash in quotes begins a special sign in TOML; "
                    'write folders with slashes, such as "outlines/slicer.svg"'
                ) from None
            raise InputError(
                f"{name} line {found.group(1)}: this is not TOML at column {found.group(2)} ({_lower(what)}); texts stand in quotes, lists in square brackets"
            ) from None
        line = _failing_line(text)
        raise InputError(
            f"{name} line {line}: this is not TOML ({_lower(message.split('(at')[0].strip())}); look for a key written twice or a quote or bracket left open"
        ) from None


def _in_backslashes(text: str, line: int) -> bool:
    """Whether a line holds a path as some machines write it, in quotes in which TOML gives backslashes a meaning."""
    return re.search(r'"[^"]*\\[^"]*"', text.split("\n")[line - 1]) is not None


def _failing_line(text: str) -> int:
    """The first line at which the text can no longer be mended by reading on: for errors the reader only finds at the end."""
    lines = text.splitlines()
    for end in range(1, len(lines) + 1):
        try:
            tomllib.loads("\n".join(lines[:end]))
        except tomllib.TOMLDecodeError as error:
            if "end of document" not in str(error) or "Cannot overwrite" in str(error):
                return end
        except RecursionError:
            return end
    return len(lines)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
