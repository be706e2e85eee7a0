"""A contact sheet: the same knife with one field of the recipe changed, picture by picture."""

from __future__ import annotations

import copy
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw

from billet.base.errors import InputError
from billet.ledger.run import run
from billet.recipe.old_spellings import key_at
from billet.recipe.read import build, plain
from billet.recipe.recipe import Recipe
from render.drawing import INK, fitted, tinted, write
from render.layout import footer, ground, text_size
from render.picture import Picture, composed, draw
from render.request import Request, check_size
from render.session import Session, session
from render.subject import MARGIN

_MOST = 24


def read_vary(text: str) -> tuple[str, tuple[str, ...]]:
    """Read "blade.offset=0 mm,0.1 mm": the field's path and its values."""
    path, sign, values = text.partition("=")
    found = tuple(v.strip() for v in values.split(",") if v.strip())
    if not sign or not path.strip() or not found:
        raise InputError(
            f'--vary: found "{text}", wanted a field and its values, such as --vary "blade.offset=0 mm,0.1 mm,0.2 mm"'
        )
    if len(found) > _MOST:
        raise InputError(f"--vary: found {len(found)} values, and a sheet holds up to {_MOST}; ask for fewer")
    return path.strip(), found


def changed(data: dict[str, Any], path: str, value: str) -> dict[str, Any]:
    """Return a recipe's data with one field set; lists are counted from 0, as in bar.0.step.2.depth; bars
    also go by their names, bar.billet.step.2.depth.

    Raises InputError naming the part of the path that is not there. A new key is allowed at the end of a table.
    """
    data = copy.deepcopy(data)
    *way, last = path.split(".")
    place: Any = data
    at: tuple[str | int, ...] = ()
    for k, part in enumerate(way):
        at = (*at, _key(place, part, at, ".".join(way[: k + 1])))
        place = place[at[-1]]
    if isinstance(place, list):
        place[_key(place, last, at, path)] = _plain(value)
    elif isinstance(place, dict):
        place[key_at((*at, last))] = _plain(value)
    else:
        raise InputError(f"--vary: {path} leads nowhere, {'.'.join(way)} is a single value; name a field of the recipe")
    return data


def _key(place: Any, part: str, at: tuple[str | int, ...], so_far: str) -> Any:
    """The key or index that a part of a path names inside `place`, which lies `at` a place of the recipe."""
    if isinstance(place, dict) and (key := key_at((*at, part))) in place:
        return key
    if isinstance(place, list) and re.fullmatch("[0-9]{1,6}", part) and int(part) < len(place):
        return int(part)
    if isinstance(place, list):
        for k, item in enumerate(place):
            if isinstance(item, dict) and item.get("name") == part:
                return k
    known = (
        sorted(place) if isinstance(place, dict) else f"0 to {len(place) - 1}" if isinstance(place, list) else "nothing"
    )
    raise InputError(
        f"--vary: the recipe has no {so_far}; there is {', '.join(known) if isinstance(known, list) else known}"
    )


def _plain(value: str) -> Any:
    """Bare numbers and true or false as such; all else is text, a quantity with its unit."""
    if value in ("true", "false"):
        return value == "true"
    if re.fullmatch(r"[-+]?\d+", value):
        return int(value)
    return float(value) if re.fullmatch(r"[-+]?\d*\.\d+", value) else value


def sheet(recipe: Recipe, vary: str, request: Request) -> Picture:
    """Draw one picture per value of a field and lay them out as a sheet."""
    path, values = read_vary(vary)
    data = plain(recipe.text, recipe.path or Path("recipe.toml"))
    columns = 1 if len(values) <= 2 else 2 if len(values) <= 8 else 3
    small = replace(request, width=max(200, request.width // columns), bare=True)
    drawings: list[Session] = []
    pictures = []
    for value in values:
        try:
            varied = build(changed(data, path, value), path=recipe.path)
            drawings.append(_drawing(varied, path, small, drawings[0] if drawings else None))
            pictures.append(composed(drawings[-1]))
        except InputError as error:
            raise InputError(f"{path} = {value}: {error}") from None
    image = laid_out([p.image for p in pictures], [f"{path} = {value}" for value in values], columns, small.width)
    image = framed(image, drawings[0], request.width)
    facts = {
        **pictures[0].facts,
        "view": small.view or "faces",
        "width_px": image.width,
        "height_px": image.height,
        "varied": path,
        "values": [
            {"value": v, **{k: p.facts[k] for k in ("lines_per_face", "median_line_m", "faces", "warnings")}}
            for v, p in zip(values, pictures, strict=True)
        ],
    }
    return Picture(image, pictures[0].pixel, facts, units=recipe.tables.units)


def _drawing(recipe: Recipe, path: str, request: Request, first: Session | None) -> Session:
    """A session for one value; bars that the value does not touch are not run again."""
    table = path.partition(".")[0]
    if first is None or table not in ("blade", "etch"):
        return session(run(recipe), request)
    tables = recipe.tables
    return first.with_(blade=tables.blade) if table == "blade" else first.with_(etch=tables.etch)


def laid_out(images: Sequence[Image.Image], labels: Sequence[str], columns: int, width: int) -> Image.Image:
    """Pictures in rows, each with its label."""
    size = text_size(width) * 1.4
    strip = int(2.2 * size)
    high = max(i.height for i in images) + strip
    rows = -(-len(images) // columns)
    check_size(columns * width, rows * high)
    out = tinted(ground(columns * width, rows * high))
    pen = ImageDraw.Draw(out)
    for k, (image, label) in enumerate(zip(images, labels, strict=True)):
        x, y = k % columns * width, k // columns * high
        out.paste(image, (x, y + strip))
        write(pen, (x + 0.035 * width, y + 0.5 * size), fitted(pen, label, size, 0.93 * width), size, (INK, INK, INK))
    return out


def framed(image: Image.Image, drawing: Session, width: int) -> Image.Image:
    """Title above and footer below, once for the whole sheet."""
    size, margin, ledger = text_size(width), MARGIN * width, drawing.ledger
    head, foot = ground(image.width, int(margin + 3.4 * size)), ground(image.width, int(4.6 * size + 0.4 * margin))
    pen = ImageDraw.Draw(head)
    write(pen, (margin, margin), fitted(pen, ledger.recipe.tables.title, 1.7 * size, 0.9 * width), 1.7 * size, INK)
    pixel = drawing.windows[0].pixel
    footer(ImageDraw.Draw(foot), ledger, drawing.subject, pixel, drawing.look, 0.0, image.width)
    out = tinted(ground(image.width, head.height + image.height + foot.height))
    for part, y in ((tinted(head), 0), (image, head.height), (tinted(foot), head.height + image.height)):
        out.paste(part, (0, y))
    return out


def pictured(recipe: Recipe, request: Request, vary: str | None = None) -> Picture:
    """Run a recipe and draw it; with `vary`, as a sheet over the values of one field."""
    if vary is None:
        return draw(run(recipe), request)
    return sheet(recipe, vary, request)
