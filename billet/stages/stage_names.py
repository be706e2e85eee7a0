"""What the stages of a knife are called, and what else smiths call them."""

from __future__ import annotations

import re
from collections.abc import Sequence

BLADE_VERBS = (
    "profile", "rough grind", "normalise", "anneal", "harden", "straighten", "temper", "thin", "finish", "etch",
    "handle", "sharpen",
)  # fmt: skip
"""The blade's stages in the order of the work: common practice, no source."""

# Other words of the trade for a stage: common practice, no source.
SYNONYMS: dict[str, tuple[str, ...]] = {
    "stack": ("stacking", "stacked", "laid up", "lay up", "layup", "pack", "pile", "tacked"),
    "weld": ("welding", "welded", "forge weld", "fire weld", "set the weld", "setting the weld"),
    "draw": ("drawing", "drawn", "draw out", "drawing out", "drawn out", "forged out"),
    "restack": ("restacking", "restacked", "cut and restack"),
    "fold": ("folding",),
    "twist": ("twisting",),
    "profile": ("profiling", "profiled", "cut out", "cutting out", "cut to shape"),
    "rough grind": ("rough grinding", "rough ground", "roughing", "bevelling", "rough bevels"),
    "normalise": ("normalising", "normalised", "normalize", "normalizing", "normalized", "norm", "cycling",
                  "thermal cycling"),
    "anneal": ("annealing", "annealed"),
    "harden": ("hardening", "hardened", "quench", "quenching", "quenched", "ht", "heat treat", "heat treatment"),
    "straighten": ("straightening", "straightened"),
    "temper": ("tempering", "tempered"),
    "thin": ("thinning", "thinned", "grind after hardening", "finish grind", "finish grinding", "final grind"),
    "finish": ("finishing", "finished", "hand sanding", "handsanding", "sanding", "sanded", "polishing", "satin"),
    "etch": ("etching", "etched", "acid", "ferric"),
    "handle": ("hilt", "glue up", "glue-up", "gluing", "handling"),
    "sharpen": ("sharpening", "sharpened", "stoning", "final edge"),
}  # fmt: skip
EITHER = {word: ("rough grind", "thin") for word in ("grind", "grinding", "ground", "grinder")}
"""Words that may mean more than one stage."""

ORDINALS = {
    "first": 1, "1st": 1, "one": 1, "second": 2, "2nd": 2, "two": 2, "third": 3, "3rd": 3, "three": 3, "fourth": 4,
    "4th": 4, "fifth": 5, "5th": 5, "sixth": 6, "6th": 6, "last": -1, "final": -1,
}  # fmt: skip
_WORDS = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth"}
_VERB_OF = {word: verb for verb, words in SYNONYMS.items() for word in (verb, *words)}


def verb_of(word: str) -> str | None:
    """What is done, from any of its names: ``quench`` and ``hardening`` are ``harden``; None for an unknown word."""
    return _VERB_OF.get(re.sub(r"[\s_-]+", " ", word.strip().lower()))


def ordinal(verb: str, turn: int, of: int) -> str:
    """The name of the ``turn``-th of several alike: ``first temper``; one alone needs no number."""
    return verb if of == 1 else f"{_WORDS.get(turn, f'{turn}th')} {verb}"


def numbered(verbs: Sequence[str]) -> tuple[str, ...]:
    """Names for a sequence of verbs, those that come more than once told apart."""
    return tuple(ordinal(verb, verbs[: at + 1].count(verb), verbs.count(verb)) for at, verb in enumerate(verbs))
