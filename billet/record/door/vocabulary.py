"""The words of the bench: places on the piece, sides, what goes wrong, and what else can be measured."""

from __future__ import annotations

from billet.record.door.near import nearest
from billet.record.measures import ALIASES, BY_NAME

PLACES = {
    "heel": ("heels", "ricasso", "plunge"), "middle": ("mid", "centre", "center", "halfway", "midway"),
    "tip": ("point", "tips"), "bolster": ("bolsters",), "tang": ("tangs",),
}  # fmt: skip
_PLACE_OF = {word: place for place, words in PLACES.items() for word in (place, *words)}
SIDES = ("left", "right")

# Flaws have a size but no name among the measures: common practice, no source.
FLAWS = (
    "crack",
    "void",
    "gap",
    "chip",
    "pit",
    "dent",
    "flaw",
    "blister",
    "scratch",
    "hole",
    "delam",
    "off",
    "short",
    "proud",
)
_MEASURE_OF = {word: word for word in BY_NAME} | ALIASES | {word: word for word in FLAWS} | {
    "bevel": "edge", "weigh": "mass", "cracks": "crack", "thermo": "oven", "bend": "bow", "cracked": "crack",
    "hardnes": "hardness", "hard": "hardness", "rc": "hardness", "thck": "thickness", "thk": "thickness", "wdth": "width",
    "runout": "twist", "pyro": "temperature", "minutes": "took",
}  # fmt: skip
PROSE = ("bowed", "warped", "bent", "twisted", "warp", "bend", "cracked", "soaked", "held", "worked", *FLAWS)
"""Measures that are also told as a story: the word stays in the note although its figure was understood."""

FILLERS = frozenset((
    "a", "an", "and", "at", "about", "approx", "around", "by", "came", "down", "for", "from", "got", "in", "is", "it",
    "its", "just", "last", "left", "measured", "measures", "measuring", "now", "of", "on", "only", "out", "over",
    "reads", "reading", "right", "same", "so", "the", "then", "this", "to", "towards", "toward", "up", "was",
    "were", "with", "each", "per", "showed", "shows", "says", "said", "show", "total", "side", "roughly",
    "nearly", "almost", "ca",
))  # fmt: skip

_COLD = ("cold",)
_LONG_ENOUGH = 5
TROUBLE = frozenset((
    "burned", "burnt", "chipped", "cracked", "cracks", "crack", "broke", "broken", "snapped", "slipped",
    "sheared", "tore", "torn", "split", "delaminated", "delam", "delams", "delamination", "opened", "open",
    "blister", "blistered", "blisters", "void", "voids", "inclusion", "inclusions", "pits", "pitted", "warped",
    "warp", "warping", "bowed", "bent", "twisted", "overheated", "blued", "soft", "dull", "uneven", "crooked",
    "wavy", "gone", "smeared", "flaking", "flaked", "tipped", "collapsed", "folded", "shut", "shuts", "ruined",
    "washed", "grainy",
))  # fmt: skip
NOT = frozenset((
    "no", "not", "none", "never", "nothing", "without", "isn't", "didn't", "wasn't", "neither", "nor", "free",
    "zero", "fine", "good", "straight",
))  # fmt: skip
TOO = ("too", "still", "went", "edges", "edge", "middle", "core", "corner", "corners", "ends", "end", "centre", "was")


def place_word(word: str) -> str | None:
    """The place a word means, a slip of one letter forgiven."""
    near = nearest(word, _PLACE_OF)
    return _PLACE_OF[near] if near else None


def measure_word(word: str) -> str | None:
    """The measure a word means, a slip of one letter forgiven; also a beginning of three letters or more."""
    if word in _MEASURE_OF:
        return _MEASURE_OF[word]
    near = nearest(word, _MEASURE_OF)
    if near:
        return _MEASURE_OF[near]
    begun = {_MEASURE_OF[known] for known in BY_NAME if len(word) >= 3 and known.startswith(word)}
    return begun.pop() if len(begun) == 1 else None


def _is_trouble(word: str) -> bool:
    """A word of trouble, a slip forgiven in a long one that means nothing else."""
    if word in TROUBLE:
        return True
    known = len(word) < _LONG_ENOUGH or word in FILLERS or word in _MEASURE_OF or word in _PLACE_OF
    return not known and nearest(word, TROUBLE) is not None


def tells_trouble(words: list[str]) -> bool:
    """Whether a few words say that something went wrong, and do not say that nothing did."""
    if any(word in NOT for word in words):
        return False
    if any(_is_trouble(word) for word in words):
        return True
    for before, word in zip(["", *words], words, strict=False):
        if before == "too" or (word in _COLD and before in TOO):
            return True
    return False
