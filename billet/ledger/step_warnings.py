"""What one step did to a bar that the smith should know: sizes past the shop's limits, layers that are gone, too much heat."""

from __future__ import annotations

from billet.bar.bar import Bar
from billet.bar.laminate import Laminate
from billet.bar.outcome import Bench, Outcome
from billet.base.messages import Note, long, note, thin
from billet.ledger.overheating import not_through, too_cool, too_hot
from billet.steps.step import Step

FACE_COUNTS = 0.05  # an outer layer under a twentieth of the bar is one of many, and ground off later; judgement


def after_step(before: Bar | None, outcome: Outcome, bench: Bench, step: Step | None = None) -> tuple[Note, ...]:
    """Everything worth saying after one step: the step's own notes, sizes past the shop's limits, layers that are gone."""
    bar = outcome.bar
    found = [
        *outcome.notes,
        *_sizes(bar, bench, opened=before is None or not bar.welded, piled=step is None or step.stacks_loose),
    ]
    if (
        before is not None
        and before.laminate is not None
        and bar.laminate is not None
        and step is not None
        and step.eats_faces
    ):
        found += _faces(before.laminate, bar.laminate)
    heat = getattr(step, "temperature", None)
    if heat is not None and before is not None and step is not None:
        found += [*too_hot(before, heat), *too_cool(step, heat), *not_through(before, step)]
    return tuple(found)


def _sizes(bar: Bar, bench: Bench, *, opened: bool, piled: bool) -> list[Note]:
    """Past the shop's limits: `opened` joints are about to be pressed, and only a `piled` bar lies loose on its joints and can tip."""
    out = []
    if opened and bar.thickness > bench.shop.press_opening:
        out.append(
            note(
                "the stack is {high} high and the press opens {opening}; fewer plates or pieces",
                high=long(bar.thickness),
                opening=long(bench.shop.press_opening),
            )
        )
    ratio = bench.shop.stack_ratio or 1.0
    if piled and bar.thickness > 1.001 * ratio * bar.width and bar.layers_counted > 1:
        out.append(
            note(
                "the stack is {high} high on a width of {wide} and will tip; keep it under {most} (stack_ratio)",
                high=long(bar.thickness),
                wide=long(bar.width),
                most=long(ratio * bar.width),
            )
        )
    if not opened and bar.length > bench.shop.longest:
        out.append(
            note(
                "the bar is {long} long and the fire heats {fire}; cut it in two or work it end by end",
                long=long(bar.length),
                fire=long(bench.shop.fire_length),
            )
        )
    return out


def _faces(before: Laminate, after: Laminate) -> list[Note]:
    """An outer layer ground or scaled away entirely, where it was more than one of very many."""
    if float(before.layer_thickness[[0, -1]].max()) < FACE_COUNTS * before.total:
        return []
    out = []
    for side, cell in (("lowest", 0), ("uppermost", -1)):
        was, now = before.steels[before.steel[cell]].name, after.steels[after.steel[cell]].name
        if was != now:
            out.append(
                note(
                    "the {side} layer of {was} is gone: scale and grinding ate it, and {now} is now the face",
                    side=side,
                    was=was,
                    now=now,
                )
            )
    if before.distinct - after.distinct > len(out):
        layer = float(before.layer_thickness[[0, -1]].min())
        out.append(
            note(
                "layers gone from the faces: {gone} (the outer ones were {thick} or more)",
                gone=before.distinct - after.distinct,
                thick=thin(layer),
            )
        )
    return out
