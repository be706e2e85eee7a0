"""A count beside the ledger's figure, and as data for other tools."""

from __future__ import annotations

from typing import Any

from billet.count.estimate import Count


def compare_with_ledger(count: Count, distinct: int) -> str:
    """One sentence: whether the photograph and the ledger's distinct layers agree, and if not, where to look first.

    The ledger counts through the whole thickness, so the photograph should be of a bar's end or a full section.
    """
    seen = f"The photograph shows {_range(count)} layers and the ledger has {distinct:,} distinct"
    if count.low <= distinct <= count.high:
        return f"{seen}: they agree."
    if 0.9 * distinct <= 2 * count.layers <= 1.1 * distinct:
        return (
            f"{seen}, about twice as many: one bevel shows only its own side of the bar; compare a bar end, or count"
            " both sides."
        )
    if count.high < distinct:
        return (
            f"{seen}: {distinct - count.high:,} or more are missing; look at scale and grinding losses, or whether"
            " the line crosses the whole thickness."
        )
    return (
        f"{seen}: there are {count.low - distinct:,} or more too many; look for weld lines counted as layers, or a"
        " recipe that was not followed."
    )


def _range(count: Count) -> str:
    return f"{count.layers:,}" if count.low == count.high else f"{count.layers:,} ({count.low:,} to {count.high:,})"


def as_json(count: Count) -> dict[str, Any]:
    """The count with the keys other tools rely on; layers_per_m [1/m] is null without a scale."""
    return {key: getattr(count, key) for key in ("layers", "low", "high", "layers_per_m", "lines_used")}


def in_words(count: Count) -> list[str]:
    """The count in two or three lines for a person at the bench."""
    lines = [f"{_range(count)} layers across the line, dark and bright counted", f"read from {count.reason}"]
    if count.layers_per_m is None:
        return [*lines, "no scale: add --dpi, or --scale with two points of a ruler, for layers per inch"]
    return [
        *lines,
        f"{count.layers_per_m * 0.0254:,.0f} layers per inch, {count.layers_per_m / 1000:,.2f} per mm, square to the"
        " layers on this surface",
    ]
