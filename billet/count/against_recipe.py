"""A count beside the ledger's figure, and as data for other tools."""

from __future__ import annotations

from typing import Any

from billet.count.estimate import Count

_SPANS = {
    True: "the line goes from side to side of the bar",
    False: "the line goes {percent} of the way across the bar",
    None: "the picture does not show both sides of the bar; the line may not span it",
}


def spans(count: Count) -> bool | None:
    """Whether the line goes from side to side of the bar but for less than a layer; None where the picture does not
    show both sides.
    """
    if count.spanned is None:
        return None
    return (1 - count.spanned) * count.layers < count.spanned


def compare_with_ledger(count: Count, distinct: int) -> str:
    """One sentence: whether the line spans the bar, whether the photograph and the ledger's distinct layers then agree,
    and if not, where to look first.

    The ledger counts through the whole thickness, so a line that spans only part of the bar is not compared.
    """
    spanning = spans(count)
    if spanning is False:
        return (
            f"The line goes {_percent(count)} of the way across the bar and crosses {_range(count)} layers; the ledger's"
            f" {distinct:,} distinct go from side to side, so nothing is compared: draw the line from side to side, or"
            " leave out --along."
        )
    seen = f"the photograph shows {_range(count)} layers and the ledger has {distinct:,} distinct"
    told = "The line spans the bar" if spanning else "If the line spans the bar, which the picture does not show"
    return f"{told}: {seen}{_verdict(count, distinct)}"


def _verdict(count: Count, distinct: int) -> str:
    """The end of the sentence: what the two figures say about one another."""
    if count.low <= distinct <= count.high:
        return ": they agree."
    if 0.9 * distinct <= 2 * count.layers <= 1.1 * distinct:
        return (
            ", about twice as many: one bevel shows only its own side of the bar; compare a bar end, or count both"
            " sides."
        )
    if count.high < distinct:
        return (
            f": {distinct - count.high:,} or more are missing; look at scale and grinding losses, or whether the line"
            " crosses the whole thickness."
        )
    return (
        f": there are {count.low - distinct:,} or more too many; look for weld lines counted as layers, or a recipe"
        " that was not followed."
    )


def _percent(count: Count) -> str:
    return f"{100 * (count.spanned or 0):.0f} %"


def _range(count: Count) -> str:
    return f"{count.layers:,}" if count.low == count.high else f"{count.layers:,} ({count.low:,} to {count.high:,})"


def as_json(count: Count) -> dict[str, Any]:
    """The count with the keys other tools rely on; layers_per_m [1/m] is null without a scale,
    spans_bar where the picture does not show both sides of the bar.
    """
    keys = ("layers", "low", "high", "layers_per_m", "lines_used")
    return {key: getattr(count, key) for key in keys} | {"spans_bar": spans(count)}


def in_words(count: Count) -> list[str]:
    """The count in a few lines for a person at the bench."""
    lines = [
        f"{_range(count)} layers across the line, dark and bright counted",
        _SPANS[spans(count)].format(percent=_percent(count)),
        f"read from {count.reason}",
    ]
    if count.layers_per_m is None:
        return [*lines, "no scale: add --dpi, or --scale with two points of a ruler, for layers per inch"]
    return [
        *lines,
        f"{count.layers_per_m * 0.0254:,.0f} layers per inch, {count.layers_per_m / 1000:,.2f} per mm, square to the"
        " layers on this surface",
    ]
