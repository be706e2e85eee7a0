"""A contact sheet of several recipes: the same view of each, with a line of words over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from billet.ledger.rows import Ledger
from render.picture import Picture, composed
from render.request import Request
from render.session import session
from render.vary import framed, laid_out


def contact(ledgers: Sequence[Ledger], labels: Sequence[str], request: Request) -> Picture:
    """Draw every ledger's knife small and lay them out in rows, each with its label."""
    columns = 1 if len(ledgers) <= 3 else 2
    small = replace(request, width=request.width // columns, view=request.view or "right", bare=True)
    drawings = [session(ledger, small) for ledger in ledgers]
    pictures = [composed(d) for d in drawings]
    image = laid_out([p.image for p in pictures], labels, columns, small.width)
    image = framed(image, drawings[0], request.width)
    facts = {
        "width_px": image.width,
        "height_px": image.height,
        "pictures": [{"label": label, "faces": p.facts["faces"]} for label, p in zip(labels, pictures, strict=True)],
    }
    return Picture(image, pictures[0].pixel, facts, units=ledgers[0].recipe.tables.units)
