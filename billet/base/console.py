"""What a console cannot show: letters its code page lacks are written with the nearest it has, and nothing breaks off."""

from __future__ import annotations

import codecs
import sys
import unicodedata
from collections.abc import Callable
from typing import TextIO

# Signs of the trade on a console of plain ASCII; letters with marks lose their marks.
_NEAR = {
    "°": " deg ",
    "µ": "u",
    "μ": "u",
    "×": "x",
    "·": "-",
    "−": "-",
    "–": "-",
    "—": "-",
    "‘": "'",
    "’": "'",
    "′": "'",
    "“": '"',
    "”": '"',
    "″": '"',
    "±": "+/-",
    "≤": "<=",
    "≥": ">=",
    "→": "->",
    "←": "<-",
    "…": "...",
    "ß": "ss",
    "ø": "o",
    "Ø": "O",
    "æ": "ae",
    "Æ": "AE",
    "œ": "oe",
    "Œ": "OE",
    "ł": "l",
    "Ł": "L",
    "đ": "d",
    "Đ": "D",
    "ı": "i",
    "€": "EUR",
    "✓": "v",
}


def nearest(letter: str, has: Callable[[str], bool] = str.isascii) -> str:
    """The nearest of a letter among those that are to be had, "?" where there is none."""
    if letter in _NEAR:
        return _NEAR[letter]
    bare = "".join(c for c in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(c))
    if "\N{FRACTION SLASH}" in bare:  # 3 and a half is not 31 halves
        bare = " " + bare.replace("\N{FRACTION SLASH}", "/")
    return bare if bare and bare != letter and all(map(has, bare)) else "?"


def _nearest(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(nearest, error.object[error.start : error.end])), error.end


def forgiving(*streams: TextIO | None) -> None:
    """Let streams write the nearest of what their encoding lacks, instead of breaking off."""
    codecs.register_error("billet-nearest", _nearest)
    for stream in streams:
        if stream is not None and hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="billet-nearest")


def shows(text: str) -> bool:
    """Whether standard output can show every letter of a text as it is."""
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        return False
    return True
