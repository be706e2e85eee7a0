"""Reading a rack file: [[bar]] tables, every quantity with its unit."""

from __future__ import annotations

import tomllib
from pathlib import Path

from pydantic import ValidationError

from billet.base.errors import InputError
from billet.base.fields import sentence
from billet.recipe.rack_line import bar_of_line
from billet.recipe.tables import Rack, RackBar


def read_rack(path: Path) -> tuple[RackBar, ...]:
    """The bars of a rack file. Raises InputError naming the file, the bar and what is wanted."""
    if not path.is_file():
        raise InputError(
            f"{path}: there is no such rack file; it holds [[bar]] tables with steel, thickness, width, "
            "length, count and price"
        )
    try:
        data = tomllib.loads(path.read_text("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        raise InputError(f"{path.name}: this is not TOML ({error}); a rack file holds [[bar]] tables") from None
    try:
        return Rack.model_validate(data.get("rack", data), context={"door": True}).bar
    except ValidationError as error:
        one = min(error.errors(), key=lambda e: e["type"] != "extra_forbidden")
        bar = next((f"bar {k + 1}: " for k in one["loc"] if isinstance(k, int)), "")
        raise InputError(f"{path.name}: {bar}{sentence(dict(one), sorted(RackBar.model_fields))}") from None


def read_bar(text: str, field: str) -> RackBar:
    """A bar told in a line. Raises InputError."""
    return RackBar.model_validate(bar_of_line(text, field), context={"door": True})
