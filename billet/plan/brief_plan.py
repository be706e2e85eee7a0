"""A plan in a few lines to start from: what to lay up, each draw and cut, what comes out; heats and the rest with --full."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from billet.base.units import Kind, show
from billet.plan.candidate import Candidate
from billet.plan.planner import Plan
from billet.plan.step_say import about
from billet.plan.steps_text import steps_of


def steps(c: Candidate, units: str) -> Iterator[str]:
    """Yield the work as numbered lines; a restack is told with the weld and draw that follow it."""
    for k, text in enumerate(_together(steps_of(c, units, brief=True)), 1):
        yield f"{k:>2}. {text}"


def _together(lines: Sequence[str]) -> Iterator[str]:
    """A cut and restack joined with the weld after it."""
    k = 0
    while k < len(lines):
        if lines[k].startswith("Cut in ") and k + 1 < len(lines) and lines[k + 1].startswith("Weld"):
            yield f"{lines[k]}, {lines[k + 1][0].lower()}{lines[k + 1][1:]}"
            k += 2
        else:
            yield lines[k]
            k += 1


def outcome(c: Candidate, units: str) -> str:
    """Return the bar it ends in and what its face shows."""
    last, face = c.book.last, c.face.at("middle")
    thick = show(last.thickness, Kind.LENGTH, units, fine=True)
    bar = f"{about(last.length, units)} x {show(last.width, Kind.LENGTH, units)} x {thick}"
    wide = "" if face.median is None else f", lines {show(face.median, Kind.LENGTH, units, fine=True)}"
    return f"{bar}, {last.layers_counted:,} layers{wide}"


def besides(c: Candidate, units: str) -> Iterator[str]:
    """Yield what to mind and what to buy first."""
    if c.faults:
        yield f"Mind: {'; '.join(dict.fromkeys(c.faults))}."
    if c.cuts is not None and c.cuts.short:
        yield f"To buy: {show(sum(p.mass for p in c.cuts.short), Kind.MASS, units)} of steel the rack does not hold."


def others(made: Plan) -> str:
    """Return how many other plans there are and where all of it stands."""
    more = len(made.candidates) - 1
    plans = f"{more} other plan{'s' * (more > 1)}, " if more else ""
    said = f"{plans}heats, saw list, reasons: --full"
    return f"Stopped early; {said}" if made.stopped else said[0].upper() + said[1:]
