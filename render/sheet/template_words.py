"""What stands beside the drawing on every page of the template."""

from __future__ import annotations

OVERLAP = 20.0  # of two neighbouring pages [mm]
PRINT = (
    "Print at 100 %, not fitted to the page. Measure both bars before you cut; if one is out, the print is not true."
)
HOW = {
    "metric": "At each station, in mm: spine above, edge below; for hardening / finished.",
    "imperial": "At each station, in thou: spine above, edge below; for hardening / finished.",
}
MATCH = "Cut on the dotted line and lay it on the same letter of the next page."


def seam(column: int, row: int, columns: int, down: bool) -> str:
    """The letters of the seam right of (or under) a page: A, B, and so on, then AA."""
    number = row * (columns - 1) + column if not down else 0
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
