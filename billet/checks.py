"""What will go wrong: warnings from comparing a bar before and after a step, and from the recipe as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

from billet.bar import Bar
from billet.laminate import Laminate
from billet.notes import Note, long, note, thin
from billet.operations.step import Bench, Outcome, Step

if TYPE_CHECKING:
    from billet.ledger import Ledger


def after_step(before: Bar | None, outcome: Outcome, bench: Bench, step: Step | None = None) -> tuple[Note, ...]:
    """Everything worth saying after one step: the step's own notes, sizes past the shop's limits, layers that are gone."""
    bar = outcome.bar
    found = [*outcome.notes, *_sizes(bar, bench, stacked=before is None or not bar.welded)]
    if before is not None and before.laminate is not None and bar.laminate is not None and step is not None and step.verb not in ("restack", "fold", "turn"):
        found += _faces(before.laminate, bar.laminate)
    return tuple(found)


def _sizes(bar: Bar, bench: Bench, *, stacked: bool) -> list[Note]:
    out = []
    if stacked and bar.thickness > bench.shop.press_opening:
        out.append(note("the stack is {high} high and the press opens {opening}; fewer plates or pieces", high=long(bar.thickness), opening=long(bench.shop.press_opening)))
    if stacked and bar.thickness > bar.width:
        out.append(note("the stack is {high} high on a width of {wide} and will tip; it should be lower than it is wide", high=long(bar.thickness), wide=long(bar.width)))
    if not stacked and bar.length > bench.shop.fire_length:
        out.append(note("the bar is {long} long and the fire heats {fire}; cut it in two or work it end by end", long=long(bar.length), fire=long(bench.shop.fire_length)))
    return out


def _faces(before: Laminate, after: Laminate) -> list[Note]:
    """An outer layer ground or scaled away entirely."""
    out = []
    for side, cell in (("lowest", 0), ("uppermost", -1)):
        was, now = before.steels[before.steel[cell]].name, after.steels[after.steel[cell]].name
        if was != now:
            out.append(note("the {side} layer of {was} is gone: scale and grinding ate it, and {now} is now the face", side=side, was=was, now=now))
        elif before.distinct > after.distinct:
            layer = float(before.layer_thickness[cell])
            out.append(note("{gone} layers are gone from the faces ({side} was {thick})", gone=before.distinct - after.distinct, side=side, thick=thin(layer)))
            break
    return out


def of_recipe(ledger: Ledger) -> tuple[Note, ...]:
    """Warnings that concern the whole recipe."""
    return ()
