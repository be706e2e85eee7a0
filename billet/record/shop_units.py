"""The units a shop thinks in, told from its record."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping

from billet.record.entry import Entry


def shop_units(entries: Iterable[Entry], recipes: Mapping[str, str]) -> str:
    """``imperial`` where most notes belong to recipes in inches, else ``metric``."""
    kept = {sha256: _imperial(text) for sha256, text in recipes.items()}
    votes = [kept[entry.recipe_sha256] for entry in entries if entry.recipe_sha256 in kept]
    return "imperial" if 2 * sum(votes) > len(votes) else "metric"


def _imperial(text: str) -> bool:
    try:
        return tomllib.loads(text).get("units") == "imperial"
    except ValueError:
        return False
