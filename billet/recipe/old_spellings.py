"""Old spellings of a recipe and the words that took their place: files of version 1 load for ever.

One table. Both spellings are read in every file; `billet check` names the new word once for each old one it met.
"""

from __future__ import annotations

from typing import Any, NamedTuple

Place = tuple[str | int, ...]

STEPS = {
    "turn": "roll",
    "stand": "upend",
    "surface": "surface_grind",
    "tile": "grid_restack",
    "shape": "forge_bevels",
}
# Keys by the table they stand in; "step" is any step, and a weld or draw inside one.
KEYS = {
    "step": {
        "heat": "temperature",
        "time": "soak",
        "made": "method",
        "by": "method",
        "flat": "thickness_after",
        "thick": "thickness",
        "wide": "width",
        "long": "length",
        "on": "section",
        "web": "leg",
        "turn": "flip",
    },
    "join": {"turn": "flip"},
    "shop": {"by": "forge_tool"},
    "hardening": {"heat": "temperature", "time": "soak"},
    "temper": {"heat": "temperature", "time": "soak"},
}


class Respelt(NamedTuple):
    """One old word met in a recipe: what it was, what it is now."""

    old: str
    new: str


class ClashError(ValueError):
    """Both spellings of one key stand in one table: `place` of the table, the `old` word and the `new` one."""

    def __init__(self, place: Place, old: str, new: str) -> None:
        super().__init__(f"{old} and {new} say the same thing here; keep {new}")
        self.place = (*place, old)


def key_at(place: Place) -> str:
    """Today's name of the key at a place of a recipe, such as ("bar", 0, "step", 2, "heat")."""
    last = place[-1]
    return str(last) if isinstance(last, int) else KEYS.get(_table(place[:-1]), {}).get(last, last)


def place_now(place: Place) -> Place:
    """A place with every key in today's spelling; indices stay."""
    now: Place = ()
    for part in place:
        now = (*now, part if isinstance(part, int) else key_at((*now, part)))
    return now


def respelt(data: dict[str, Any]) -> tuple[dict[str, Any], tuple[Respelt, ...]]:
    """The plain data of a recipe in today's spelling, and the old words that were met, each once.

    Raises ClashError where a table holds both spellings of one key.
    """
    met: dict[Respelt, None] = {}
    return _respelt(data, (), met), tuple(met)


def _respelt(data: Any, place: Place, met: dict[Respelt, None]) -> Any:
    if isinstance(data, list):
        return [_respelt(item, (*place, k), met) for k, item in enumerate(data)]
    if not isinstance(data, dict):
        return data
    out: dict[str, Any] = {}
    for key, value in data.items():
        new = key_at((*place, key)) if isinstance(key, str) else key
        if new != key:
            if new in data:
                raise ClashError(place, key, new)
            met[Respelt(key, new)] = None
        if key == "do" and _table(place) == "step" and isinstance(value, str) and value in STEPS:
            met[Respelt(value, STEPS[value])] = None
            value = STEPS[value]
        out[new] = _respelt(value, (*place, new), met)
    return out


def _table(place: Place) -> str:
    """Which table of `KEYS` a place is."""
    names = [part for part in place if isinstance(part, str)]
    if names[:2] == ["bar", "step"]:
        return "step"
    if names == ["bar", "join"]:
        return "join"
    if names == ["hardening", "temper"]:
        return "temper"
    return names[0] if len(names) == 1 else ""
