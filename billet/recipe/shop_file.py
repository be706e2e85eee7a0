"""The file of a shop's habits beside its recipes: its name, which no recipe may take."""

from __future__ import annotations

from pathlib import Path

from billet.base.errors import InputError

SHOP = "shop.toml"


def named_as_knife(path: Path) -> Path:
    """The path of a recipe that is to be written. Raises InputError for the name of the shop's file."""
    if path.name.lower() == SHOP:
        raise InputError(
            f"{path.name}: this name is kept for the shop's own habits; call the recipe otherwise, knife.toml"
        )
    return path
