"""Edits of a recipe: small commands on a path of keys, done to the text (comments kept) or to its plain data.

An edit is {"op": "set" | "fill" | "delete" | "insert" | "move" | "copy", "path": [...], "value": ..., "to": number}; fill
sets what is not there yet. The same code walks both, for a TOML document is dicts and lists to whoever edits it.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import AoT, Item, Table

from billet.base.errors import InputError
from billet.base.plain_data import depth

Edit = Mapping[str, Any]
_MOST, _DEEPEST = 200, 12
_OPS = ("set", "fill", "delete", "insert", "move", "copy")
_NESTED = 20  # lists and tables in one another in what is sent; a value of a recipe has a few


def edited_text(text: str, edits: Sequence[Edit]) -> str:
    """The text with edits done to it; comments and order of everything else stay. Raises InputError."""
    try:
        document = tomlkit.parse(text)
    except tomlkit.exceptions.TOMLKitError as error:
        raise InputError(f"The recipe is not sound as it stands ({error}); mend it under Text first.") from None
    for edit in checked(edits):
        _do(document, edit, _as_toml)
    return tomlkit.dumps(document)


def edited_data(plain: Mapping[str, Any], edits: Sequence[Edit]) -> dict[str, Any]:
    """Plain data with edits done to a copy of it. Raises InputError."""
    data = copy.deepcopy(dict(plain))
    for edit in checked(edits):
        _do(data, edit, lambda value, _: copy.deepcopy(value))
    return data


def checked(edits: object) -> list[Edit]:
    """Edits that are edits. Raises InputError."""
    if not isinstance(edits, list | tuple) or len(edits) > _MOST:
        raise InputError(f"edits: wanted a list of at most {_MOST}")
    if depth(edits) > _NESTED:
        raise InputError("edits: a value is nested too deep; a recipe holds lists in lists a few times at most")
    for edit in edits:
        path = edit.get("path") if isinstance(edit, dict) else None
        keys = isinstance(path, list) and 0 < len(path) <= _DEEPEST
        if not keys or not all(isinstance(k, str | int) and not isinstance(k, bool) for k in path or ()):
            raise InputError("edits: each needs an op and a path of keys and numbers")
        if edit.get("op") not in _OPS:
            raise InputError(f"edits: op is one of {', '.join(_OPS)}")
    return list(edits)


def _do(root: Any, edit: Edit, made: Any) -> None:
    path, op = list(edit["path"]), edit["op"]
    holder = _holder(root, path, create=op in ("set", "fill", "insert"))
    key = path[-1]
    try:
        if op == "set" or (op == "fill" and key not in holder):
            holder[key] = made(edit.get("value"), holder)
        elif op == "fill":
            return
        elif op == "delete":
            del holder[key]
            _sweep(root, path[:-1])
        elif op == "insert":
            _insert(holder, int(key), made(edit.get("value"), holder))
        elif op == "copy":
            _insert(holder, _place(edit, int(key) + 1), _copied(holder[key]))
        else:
            piece, to = _copied(holder[key]), _place(edit)
            del holder[key]
            _insert(holder, to, piece)
    except (KeyError, IndexError, TypeError, ValueError, tomlkit.exceptions.TOMLKitError):
        raise InputError(f"{_said(path)}: there is nothing here to {op}") from None


def _holder(root: Any, path: Sequence[str | int], create: bool) -> Any:
    """What holds the last key of a path; missing tables on the way are made where something is to be put in."""
    here = root
    for at, key in enumerate(path[:-1]):
        try:
            here = here[key]
        except (KeyError, IndexError, TypeError):
            if not create or not isinstance(key, str) or not isinstance(here, dict):
                raise InputError(f"{_said(path)}: this recipe has no {_said(path[: at + 1])}") from None
            here[key] = _empty(here, path[at + 1])
            here = here[key]
    if not isinstance(here, dict | list):
        raise InputError(f"{_said(path)}: {_said(path[:-1])} is a plain value and holds nothing")
    return here


def _empty(holder: Any, following: str | int) -> Any:
    """What is put where something is missing: a list of tables before a number, a table before a key."""
    if not isinstance(holder, Item | tomlkit.TOMLDocument):
        return [] if isinstance(following, int) else {}
    if isinstance(following, int):
        return tomlkit.aot()
    return tomlkit.table() if isinstance(holder, tomlkit.TOMLDocument) else tomlkit.inline_table()


def _place(edit: Edit, usual: int | None = None) -> int:
    """Where a piece is to be put."""
    to = edit.get("to", usual)
    if not isinstance(to, int) or isinstance(to, bool):
        raise InputError(f"edits: to: found {str(to)[:30]}, wanted a whole number, the place it is put in")
    return to


def _insert(holder: Any, at: int, piece: Any) -> None:
    if not isinstance(holder, list):
        raise TypeError
    holder.insert(max(0, min(at, len(holder))), piece)


def _copied(value: Any) -> Any:
    return copy.deepcopy(value)


def _sweep(root: Any, path: Sequence[str | int]) -> None:
    """An inline table left empty is taken away with its key."""
    if not path or isinstance(path[-1], int):
        return
    holder = root
    for key in path[:-1]:
        holder = holder[key]
    if isinstance(holder[path[-1]], dict) and not holder[path[-1]] and len(path) > 1:
        del holder[path[-1]]


def _as_toml(value: Any, holder: Any) -> Any:
    """A value as it is written: tables of a list of tables stand under their own head, all others in one line."""
    if isinstance(value, dict):
        table: Any = tomlkit.table() if isinstance(holder, AoT | tomlkit.TOMLDocument) else tomlkit.inline_table()
        for key, inner in value.items():
            if inner is not None:
                table[key] = _as_toml(inner, tomlkit.inline_table())
        if isinstance(table, Table):
            table.add(tomlkit.nl())
        return table
    if isinstance(value, list):
        items = tomlkit.array()
        for inner in value:
            items.append(_as_toml(inner, items))
        return items
    return tomlkit.item(value)


def _said(path: Sequence[str | int]) -> str:
    """A path in words: bar 1, step 3, pitch."""
    out: list[str] = []
    for key in path:
        if isinstance(key, int) and out:
            out[-1] = f"{out[-1]} {key + 1}"
        else:
            out.append(str(key))
    return ", ".join(out)
