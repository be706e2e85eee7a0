"""Which spot is meant: two lengths, or a pixel of a picture that remembers where its views lie."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from billet.base.errors import InputError
from billet.base.pictures import text_in_picture
from billet.base.units import Kind, read
from billet.blade import Side

KEY = "billet"
"""Under which a picture keeps where its views lie."""


def asked(spot: str | None, face: Side, picture: Path | None, pixel: str | None) -> tuple[Side, float, float]:
    """Return face and place [m]. Raises InputError."""
    if pixel is not None or picture is not None:
        if spot is not None or pixel is None or picture is None:
            raise InputError('where: give either a spot, "43 mm, 12 mm", or --picture FILE with --pixel "812, 340".')
        return of_pixel(picture, *_numbers(pixel))
    parts = [] if spot is None else spot.split(",")
    if len(parts) != 2:
        raise InputError(
            f'where: found "{spot or ""}", wanted two lengths, from the heel and from the edge line, such as "43 mm, 12 mm".'
        )
    x, y = (float(read(p.strip(), Kind.LENGTH, "where", signed=True)) for p in parts)
    return face, x, y


def _numbers(text: str) -> tuple[float, float]:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[, x]\s*(\d+(?:\.\d+)?)\s*", text)
    if found is None:
        raise InputError(
            f'--pixel: found "{text}", wanted two numbers, across and down from the upper left, "812, 340".'
        )
    return float(found[1]), float(found[2])


def of_pixel(path: Path, across: float, down: float) -> tuple[Side, float, float]:
    """Return the face and the place [m] that a pixel's middle shows."""
    kept = text_in_picture(path, KEY)
    try:
        views: list[dict[str, Any]] = json.loads(kept or "")["views"]
        for one in views:
            if one["view"] not in ("left", "right"):
                continue
            col, row = across + 0.5 - one["left_px"], down + 0.5 - one["top_px"]
            if 0 <= col <= one["columns"] and 0 <= row <= one["rows"]:
                x, y = one["left_m"] + col * one["pixel_m"], one["top_m"] - row * one["pixel_m"]
                side: Side = "right" if one["view"] == "right" else "left"
                return side, float(x if side == "right" else -x), float(y)
    except (ValueError, KeyError, TypeError) as fault:
        raise InputError(
            f"{path.name}: this picture does not say where its views lie; draw it again with billet preview."
        ) from fault
    raise InputError(f"--pixel: {across:g}, {down:g} lies in neither face of {path.name}; point at the blade.")
