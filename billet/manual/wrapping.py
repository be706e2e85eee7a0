"""A page of Markdown as plain text that fits the terminal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator


def wrapped(text: str, columns: int) -> str:
    """The page with its paragraphs and lists wrapped; what stands in fences is indented and left as it is."""
    return "\n".join(_lines(text, columns)).rstrip() + "\n"


def _lines(text: str, columns: int) -> Iterator[str]:
    """Line by line; consecutive lines of a paragraph are joined first."""
    fenced, held = False, ""
    for line in [*text.splitlines(), ""]:
        starts = line.startswith(("#", "- ", "```")) or not line.strip()
        if (starts or fenced) and held:
            yield from _paragraph(held, columns)
            held = ""
        if line.startswith("```"):
            fenced = not fenced
        elif fenced:
            yield f"    {line}".rstrip()
        elif line.startswith("#"):
            yield from _heading(line)
        elif not line.strip():
            yield ""
        else:
            held = f"{held} {line.strip()}".strip()


def _heading(line: str) -> tuple[str, ...]:
    words = line.lstrip("#").strip().replace("`", "")
    return (words, ("=" if line.startswith("# ") else "-") * len(words))


def _paragraph(text: str, columns: int) -> list[str]:
    plain = re.sub(r"\*\*(.+?)\*\*", r"\1", text).replace("`", "")
    hang = "  " if plain.startswith("- ") else ""
    return textwrap.wrap(plain, columns, subsequent_indent=hang, break_on_hyphens=False, break_long_words=False)
