"""Where the formulas come from: a formula carries its references, so that a result can print exactly those it used.

A module names its references as constants and marks its formulas with them:

    AGREN_1986 = Source("agren1986", "J. Agren, Scripta Metall. 20 (1986) 1507-1510", "second-hand")

    @cites(AGREN_1986)
    def carbon_in_austenite(...): ...

`sources_of(carbon_in_austenite, ...)` then lists what stands behind a set of numbers, each reference once.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

Status = Literal["verified", "second-hand", "computed", "from memory", "judgement", "common practice"]
Formula = TypeVar("Formula", bound=Callable[..., Any])


@dataclass(frozen=True)
class Source:
    """A reference: a short `key`, the `text` to print, and how far it was checked (`status`).

    Verified: read in a published text or data file. Second-hand: read in somebody's work that attributes it. Computed:
    from an open thermodynamic database. From memory: recalled, no document found. Judgement and common practice: no
    source.
    """

    key: str
    text: str
    status: Status


def cites(*sources: Source) -> Callable[[Formula], Formula]:
    """Mark a formula with the references it rests on; they are found again as its attribute `sources`.

    Raises TypeError for anything but a Source, a bare key included: the text behind it would be missing.
    """
    if not all(isinstance(source, Source) for source in sources):
        raise TypeError(f"a formula cites Source constants, not {sources!r}: write X = Source(key, text, status)")

    def mark(formula: Formula) -> Formula:
        formula.sources = sources  # type: ignore[attr-defined]
        return formula

    return mark


def sources_of(*formulas: Callable[..., Any]) -> tuple[Source, ...]:
    """The references behind these formulas, in order of first use, each once; a formula without any adds none."""
    return tuple(dict.fromkeys(source for formula in formulas for source in getattr(formula, "sources", ())))
