"""What a request looks at, how its steel is etched, and how large a pixel of it is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from billet.base.errors import InputError
from billet.blade import Blade, read_blade
from billet.blade.lying import lying
from billet.ledger.rows import Ledger
from render.etch import FINISHES, Look
from render.panel import Subject
from render.request import Request, chosen_bar

MARGIN = 0.035
"""Of a picture's width, left free at either side."""

_TALLEST = 0.62  # of the width a view may take


def look_of(ledger: Ledger, two_tone: bool = False) -> Look:
    """Return how the recipe wants its steel etched and lit."""
    etch = ledger.recipe.tables.etch
    how = FINISHES[etch.finish]
    strength = how.strength if etch.strength is None else etch.strength
    depth = how.depth if etch.depth is None else etch.depth
    return Look(strength, etch.seams, depth, etch.light, two_tone, etch.finish)


def subject_of(ledger: Ledger, request: Request, solid: Blade | None = None) -> tuple[Subject, str]:
    """Return what a request looks at, and words for it; `solid` is the blade where it has been read before."""
    bar, words = chosen_bar(ledger, request.after)
    if request.of_bar:
        return Subject(bar), words
    design = ledger.recipe.tables.blade
    if design is None:
        raise InputError(
            f"{ledger.recipe.place(())}there is no [blade] in this recipe; "
            "add one, or look at the bar with --view bar-face"
        )
    folder = ledger.recipe.path.parent if ledger.recipe.path else Path()
    blade = solid or read_blade(design, folder, request.state)
    station = 0.0 if request.view == "choil" else 0.5 * blade.length if request.at is None else request.at
    if not 0 <= station < blade.length:
        raise InputError(
            f"--at: found {station * 1e3:.4g} mm, wanted a station between heel and point, "
            f"from 0 to {blade.length * 1e3:.4g} mm"
        )
    state = "finished" if request.state == "finished" else "before hardening"
    at = replace(lying(blade, bar), offset=design.offset)
    return Subject(bar, blade, at, station), state


def pixel_of(subject: Subject, request: Request) -> float:
    """Size of a pixel with which the widest view fills the width, and the tallest does not tower [m]."""
    room = request.width * (1 - 2 * MARGIN)
    sizes = [subject.bounds(name) for name in request.views]
    return max(max((right - left) / room, (top - bottom) / (_TALLEST * room)) for left, right, bottom, top in sizes)
