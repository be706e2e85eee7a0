"""What the page calls the fields of a recipe, and their sentences without what the field shows itself.

A field's own name is a word of the recipe's text; where that alone would not tell a smith what is meant, the page has
words of its own for it. The sentence stays the model's, but for its default and its example: they stand in the field.
"""

from __future__ import annotations

import re

LABELS: dict[str, str] = {
    "stack": "plates", "repeat": "laid how often", "base": "one more plate below", "cap": "one more plate on top",
    "uneven": "unevenness of the plates", "seed": "variation", "join": "bars joined", "as": "how they lie",
    "flip": "turned over", "thickness_after": "thickness when flat again",
    "mark": "width of a mark", "across": "width of a dimple", "spacing": "dimple to dimple", "groove": "width of a groove",
    "pitch": "groove to groove", "faces": "on which faces", "method": "how it is made", "image": "picture file",
    "each_end": "off each end", "top": "off the top face", "bottom": "off the bottom face", "edges": "off each edge",
    "grid": "pieces each way", "order": "how they are turned", "times": "done how often", "pieces": "cut in",
    "spacer": "plate between", "keep": "block that stays", "transition": "run from block to end", "level": "stays in line",
    "end": "which end", "segment": "length of a piece", "leg": "left standing", "drag": "drag of the wedge",
    "reach": "reach of the drag", "along": "wedge stands across", "amount": "how much", "section": "how the bar lies",
    "share": "how far it is forged", "lengthen": "share that goes into length", "kerf": "saw cut", "hot": "measured hot",
    "quarters": "quarter turns", "hand": "wound", "corners": "corners broken",
    "shop.hand": "drawn with", "shop.hand_strength": "how unevenly drawn", "shop.atmosphere": "how the fire burns",
    "shop.scale_per_heat": "scale a face and heat", "shop.face_cleanup": "ground off before a restack",
    "shop.end_trim": "cropped off the ends", "shop.spread": "how much a bar widens", "shop.forge_tool": "welded with",
    "shop.stack_ratio": "tallest stack over its width", "shop.two_halves": "long bars half by half",
    "shop.prices.kwh": "a kilowatt hour", "shop.prices.kiln_kw": "power of the kiln, kW", "shop.prices.steel_kg": "a kilogram of steel",
    "shop.prices.gas_hour": "an hour of gas", "shop.prices.hour": "an hour of work", "shop.prices.belt": "a belt", "shop.prices.acid": "acid for a knife",
    "shop.prices.handle": "a handle", "shop.prices.grams_a_belt": "grams of steel a belt",
    "blade.points": "outline from a file", "blade.tip_at": "tip measured behind the point", "blade.heel_at": "heel, from the bar's end",
    "blade.edge_at": "edge, from the bar's side", "blade.offset": "off the middle of the bar", "blade.allow": "left to grind",
    "blade.reserve": "metal in hand", "blade.allow.face": "on each face", "blade.plunge.at": "ricasso ends ahead of the heel",
    "blade.heel.drop": "handle above the edge", "blade.bevel": "grind",
    "blade.bevel.left": "left face", "blade.bevel.right": "right face", "blade.bevel.left.amount": "belly of the face",
    "blade.bevel.right.amount": "belly of the face", "shop.end_trim.free": "off the free end",
    "shop.end_trim.handle": "off the handle's end",
    "target.line": "width of a line", "target.dark": "share of dark steel", "target.widest": "widest line",
    "target.distinct": "separate layers", "etch.seams": "how plainly welds show", "etch.depth": "depth of the etch",
    "hardening.quench.volume": "how much quenchant",
}  # fmt: skip

CHOICES: dict[str, str] = {
    "metric": "mm and Celsius", "imperial": "inches and Fahrenheit", "staggered": "both, staggered",
    "opposed": "both, over one another",
}  # fmt: skip
"""Choices of a recipe that are told in other words."""

_SAID = {  # what the text of a recipe needs to be told, and the page shows
    "; needed for a stack. Left out for a join, the bars' own": "", "with a cap it keeps": "with one on top it keeps",
    "Left out with line and distinct,": "Left out with the width of a line,",
}  # fmt: skip
_OF_THE_FILE = re.compile(
    r", as a (?:wheel or a )?table(?: of its own)?|, or a table with its numbers| Left out for [a-z ]+, nothing\."
)
_PLACEHOLDER = 28  # letters that a field has room for


def label(owner: str, name: str) -> str:
    """What a field of a step or a table is called on the page."""
    return LABELS.get(f"{owner}.{name}") or LABELS.get(name) or name.replace("_", " ")


def page_sentence(sentence: str, shown: bool) -> str:
    """A field's sentence without its example and, where the field ``shown`` them, its default and quotes."""
    words = _OF_THE_FILE.sub("", sentence)
    for said, instead in _SAID.items():
        words = words.replace(said, instead)
    head, found, default = words.partition(" Default ")
    usual = "" if shown else f" Usually {_without_example(default)}"
    words = (f"{head}{usual}" if found else _without_example(words)).replace('"', "").strip()
    return words if words.endswith(".") else f"{words}."


def _without_example(words: str) -> str:
    return re.sub(r"[;,]? example .*$", "", words)


def hint(default: str | None, example: str | None) -> str:
    """What stands in an empty field: what holds when it stays empty, or what may be written."""
    if default is not None:
        said = default.strip('"').removesuffix(".0")
        return said if len(said) <= _PLACEHOLDER and said != '""' else ""
    said = "" if example is None else example.strip('"')
    return f"such as {said}" if said and len(said) <= _PLACEHOLDER and said[0] not in "{[" else ""
