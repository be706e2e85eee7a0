"""The recipe: one TOML file is one knife. Reads it, names the line of what is wrong, and turns it into values."""

from __future__ import annotations

import difflib
import itertools
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, reduce
from operator import or_
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model, model_validator

from billet.base.errors import InputError
from billet.base.fields import Count, Length, Seed, Share, sentence
from billet.base.shop import Shop
from billet.blade.design import BladeDesign
from billet.recipe.tables import Etch, Hardening, Item, JoinItem, Rack, Target
from billet.recipe.toml_lines import index_lines, line_of
from billet.steel.library import Steel, from_certificate
from billet.steps import Step, step_types

VERSION = 1
_LARGEST = 2_000_000  # bytes; a recipe is a page or two


class BarTable(BaseModel):
    """A bar: a stack of plates, or earlier bars joined, and the steps done to it."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
    name: str = Field(min_length=1, max_length=80)
    width: Length | None = None
    length: Length | None = None
    stack: tuple[str, ...] | None = Field(
        None, description='Plates bottom to top, such as ["1084 3.2 mm", "15N20 1.6 mm"].'
    )
    repeat: Count = Field(1, le=100_000)
    base: str | None = Field(
        None,
        description="A first plate, under all others; with a cap it keeps the faces of one steel through the scale.",
    )
    cap: str | None = Field(None, description="A last plate on top.")
    uneven: Share = Field(0.0, description="How unequal the plates are, as a standard deviation over their thickness.")
    seed: Seed = 1
    join: tuple[Item, ...] | None = Field(None, description="Earlier bars joined into this one.")
    as_: Literal["layers", "side by side"] | None = Field(None, alias="as")
    step: tuple[Any, ...] = ()

    @model_validator(mode="after")
    def _stack_or_join(self) -> BarTable:
        if (self.stack is None) == (self.join is None):
            raise ValueError(
                f'bar "{self.name}": give either a stack of plates or a join of earlier bars, and not both'
            )
        if self.join is not None and self.as_ is None:
            raise ValueError(f'bar "{self.name}": a join says how: as = "layers" or as = "side by side"')
        if self.stack is not None and (self.width is None or self.length is None):
            raise ValueError(
                f'bar "{self.name}": a stack needs width and length, such as width = "40 mm", length = "150 mm"'
            )
        if self.join is not None and not self.join:
            raise ValueError(
                f'bar "{self.name}": join is empty; name at least one earlier bar, such as join = ["cladding", "core", "cladding"]'
            )
        if self.stack is not None and not self.stack:
            raise ValueError(f'bar "{self.name}": stack is empty; name at least one plate, such as "1084 3.2 mm"')
        return self

    @property
    def items(self) -> tuple[JoinItem, ...]:
        """The joined bars."""
        return self.join or ()


@cache
def _models() -> tuple[type[BarTable], type[RecipeTables]]:
    """The models with the steps filled in, once every step is known."""
    kinds: Any = reduce(or_, step_types().values())
    union: Any = Annotated[kinds, Field(discriminator="do")]
    bar = create_model("BarTable", __base__=BarTable, __doc__=BarTable.__doc__, step=(tuple[union, ...], ()))
    tables = create_model("Recipe", __base__=RecipeTables, __doc__=RecipeTables.__doc__, bar=(tuple[bar, ...], ()))
    return bar, tables


class RecipeTables(BaseModel):
    """One knife, from the stack to the finished blade."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    version: int = Field(VERSION, strict=True, description="Version of this file's grammar.")
    title: str = Field("untitled", max_length=200)
    units: Literal["metric", "imperial"] = Field("metric", description="How results are printed.")
    shop: Shop = Shop()
    steels: dict[str, dict[str, Any]] = Field(default_factory=dict, description="Bars with a mill certificate.")
    bar: tuple[Any, ...] = ()
    blade: BladeDesign | None = None
    target: Target | None = None
    hardening: Hardening = Hardening()
    etch: Etch = Etch()
    rack: Rack = Rack()


@dataclass(frozen=True)
class Recipe:
    """A recipe that has been read: its tables, the file it came from, and where its keys stand."""

    tables: RecipeTables
    path: Path | None = None
    text: str = ""
    table: tuple[str, ...] = ()  # the table that all of the text is, where it is not a whole recipe

    @cached_property
    def lines(self) -> dict[tuple[str | int, ...], int]:
        """Line of every key."""
        return index_lines(self.text)

    @cached_property
    def own_steels(self) -> dict[str, Steel]:
        """The steels this recipe defines itself."""
        own = {}
        for name, table in self.tables.steels.items():
            try:
                own[name] = from_certificate(name, table)
            except InputError as error:
                raise InputError(f"{self.place(('steels', name))}{error}") from None
        return own

    def place(self, path: tuple[str | int, ...]) -> str:
        """ "knife.toml line 12: " for a key, as far as it can be told."""
        line = line_of(self.lines, path[len(self.table) :])
        name = self.path.name if self.path else "recipe"
        return f"{name} line {line}: " if line else f"{name}: "

    def steps(self, bar: int) -> Iterator[tuple[int, Step]]:
        """The steps of a bar as single rows, each with the place of its table in the file."""
        for place, step in enumerate(self.tables.bar[bar].step):
            for one in step.unfolded():
                yield place, one


def load(path: Path | str) -> Recipe:
    """Read a recipe file. Raises InputError with one sentence per mistake, each naming the line."""
    path = Path(path)
    text = _read_text(path)
    return build(plain(text, path), text, path)


def plain(text: str, path: Path) -> dict[str, Any]:
    """The plain data of a recipe's text, with the habits of a shop.toml beside it. Raises InputError."""
    data = _parse(text, path.name)
    shared = path.parent / "shop.toml"
    own = data.get("shop", {})
    if shared.is_file() and isinstance(own, dict):
        data["shop"] = {**_shared_shop(shared), **own}
    return data


def _shared_shop(path: Path) -> dict[str, Any]:
    """The habits of a shop file, its keys bare or under [shop]; what is wrong in it is told with its own name and line."""
    text = _read_text(path)
    data = _parse(text, path.name) if text.strip() else {}
    under = isinstance(data.get("shop"), dict) and len(data) == 1
    build(data if under else {"shop": data}, text, path, table=() if under else ("shop",))
    return dict(data["shop"]) if under else data


def build(
    data: dict[str, Any], text: str = "", path: Path | None = None, *, door: bool = True, table: tuple[str, ...] = ()
) -> Recipe:
    """A recipe from the plain data of a TOML file; with `door` every quantity must carry its unit. Raises InputError."""
    shell = Recipe(RecipeTables(), path, text, table)
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
    data = _copied_bars(data, shell)
    try:
        tables = _models()[1].model_validate(data, context={"door": True} if door else None)
    except ValidationError as error:
        raise InputError("\n".join(dict.fromkeys(_sentences(error, shell)))) from None
    recipe = Recipe(tables, path, text)
    _check_names(recipe)
    _ = recipe.own_steels
    return recipe


def _words(data: Any, place: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Every text and every key in plain data, with its place."""
    if isinstance(data, str):
        yield place, data
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        if isinstance(key, str):
            yield (*place, key), key
        yield from _words(value, (*place, key))


def _read_text(path: Path) -> str:
    """The text of a file, or one sentence on why not."""
    if not path.exists():
        near = (
            difflib.get_close_matches(path.name, [p.name for p in path.parent.glob("*.toml")], n=1)
            if path.parent.is_dir()
            else []
        )
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
            raise InputError(
                f"{name} line {found.group(1)}: this is not TOML at column {found.group(2)} ({_lower(what)}); texts stand in quotes, lists in square brackets"
            ) from None
        line = _failing_line(text)
        raise InputError(
            f"{name} line {line}: this is not TOML ({_lower(message.split('(at')[0].strip())}); look for a key written twice or a quote or bracket left open"
        ) from None


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


def _copied_bars(data: dict[str, Any], shell: Recipe) -> dict[str, Any]:
    """`like = "a"` in a bar copies that earlier bar; its own keys win."""
    bars = data.get("bar")
    if not isinstance(bars, list):
        return data
    out: list[Any] = []
    for k, bar in enumerate(bars):
        if isinstance(bar, dict) and "like" in bar:
            model = next((b for b in out if isinstance(b, dict) and b.get("name") == bar["like"]), None)
            if model is None:
                raise InputError(
                    f'{shell.place(("bar", k, "like"))}like: found "{bar["like"]}", wanted the name of an earlier bar'
                )
            bar = {**model, **{key: v for key, v in bar.items() if key != "like"}}
        out.append(bar)
    return {**data, "bar": out}


def _check_names(recipe: Recipe) -> None:
    """Bars have names of their own, and joins name earlier bars, each once."""
    seen: list[str] = []
    used: set[str] = set()
    for k, bar in enumerate(recipe.tables.bar):
        place = recipe.place(("bar", k, "name"))
        if bar.name in seen:
            raise InputError(f'{place}name: there already is a bar "{bar.name}"; give this one a name of its own')
        for item in {i.bar for i in bar.items}:
            where = recipe.place(("bar", k, "join"))
            if item == bar.name:
                raise InputError(f'{where}join: bar "{bar.name}" names itself; it can only join earlier bars')
            if item not in seen:
                later = any(b.name == item for b in recipe.tables.bar)
                why = (
                    f'bar "{item}" comes later in the file; move it up'
                    if later
                    else f'there is no bar "{item}"; earlier bars are {", ".join(seen) or "none"}'
                )
                raise InputError(f"{where}join: {why}")
            if item in used:
                raise InputError(
                    f'{where}join: bar "{item}" has already been joined into another bar; a bar is there only once'
                )
            used.add(item)
        seen.append(bar.name)


def _sentences(error: ValidationError, shell: Recipe) -> Iterator[str]:
    """Our own sentences for pydantic's errors, each with its place."""
    for one in error.errors():
        path, model = _follow(one["loc"])
        known = sorted(f.alias or n for n, f in model.model_fields.items()) if model else []
        words = sentence(dict(one), known)
        if one["type"] in ("union_tag_invalid", "union_tag_not_found"):
            found = one["input"].get("do") if isinstance(one["input"], dict) else one["input"]
            verbs = ", ".join(step_types())
            near = difflib.get_close_matches(str(found), list(step_types()), n=1)
            hint = f'; did you mean "{near[0]}"?' if near else f"; the steps are {verbs}"
            words = f"do: found {found!r}, wanted the name of a step{hint}"
            path = (*path, "do")
        elif one["type"] == "value_error" and isinstance(path[-1] if path else 0, int):
            words = str(one["msg"]).removeprefix("Value error, ")
        yield f"{shell.place(path)}{_within(path)}{words}"


def _within(path: tuple[str | int, ...]) -> str:
    """Words for a place inside the file: "bar 1, step 3: "."""
    words = [
        f"{a} {b + 1}"
        for a, b in itertools.pairwise(path)
        if isinstance(a, str) and isinstance(b, int) and a in ("bar", "step")
    ]
    return ", ".join(words) + ": " if words else ""


def _follow(location: tuple[str | int, ...]) -> tuple[tuple[str | int, ...], type[BaseModel] | None]:
    """The path in the file of a pydantic location (which also holds the verbs of steps), and the model around its last key."""
    model: type[BaseModel] | None = _models()[1]
    path: list[str | int] = []
    verbs = step_types()
    for place, part in enumerate(location):
        tagged = place >= 2 and location[place - 2] == "step" and isinstance(location[place - 1], int)
        if tagged and part in verbs:
            model = verbs[str(part)]
            continue
        last = place == len(location) - 1
        if isinstance(part, str) and not last and model is not None:
            field = next((f for n, f in model.model_fields.items() if part in (n, f.alias)), None)
            model = _model_in(field.annotation) if field else None
        path.append(part)
    return tuple(path), model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The first model inside a type."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        if found := _model_in(inner):
            return found
    return None


def schema() -> Mapping[str, Any]:
    """The JSON Schema of a recipe, for editors."""
    made = _models()[1].model_json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "billet recipe",
        **{k: v for k, v in made.items() if k != "title"},
    }
