"""A plan in the smith's words, line by line; units are those of the recipe."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from billet.base.units import Kind, show
from billet.blade.need import Fits
from billet.ledger.recipe_warnings import holding
from billet.plan.candidate import Candidate
from billet.plan.cutlist import CutList
from billet.plan.measured import Reach
from billet.steps.restack import Restack


def _long(v: float, units: str) -> str:
    return show(v, Kind.LENGTH, units)


def _thin(v: float, units: str) -> str:
    return show(v, Kind.LENGTH, units, fine=True)


def tell(c: Candidate, units: str) -> list[str]:
    """One plan in the order of the work."""
    return [*_stack(c, units), *_work(c, units), *_result(c, units), *_press(c, units), *_cuts(c.cuts, units)]


def _stack(c: Candidate, units: str) -> Iterator[str]:
    first, many = c.book.bars[0].rows[0].bar, len(c.found.after.twins) + 1
    alike = f"{many} stacks alike, each " if many > 1 else "stack "
    yield (
        f"{alike}{c.plates} plates {_long(first.length, units)} x {_long(first.width, units)}, {_plates(c, units)}: "
        f"{_long(first.thickness, units)} high, {show(first.mass, Kind.MASS, units)}"
    )


def _plates(c: Candidate, units: str) -> str:
    """The plates of a stack, lowest first."""
    if c.found.after.stack:
        return "lowest first " + ", ".join(f"{s.name} {_thin(t, units)}" for s, t in c.found.after.stack)
    b = c.found.batch
    low, high = (b.pair.dark, b.pair.bright) if b.dark_first[0] else (b.pair.bright, b.pair.dark)
    cap = f", {low.name} on top as well" if b.cap[0] else ""
    return (
        f"{low.name} {_thin(float(b.first[0]), units)} lowest, "
        f"then {high.name} {_thin(float(b.second[0]), units)}, in turn{cap}"
    )


def _work(c: Candidate, units: str) -> Iterator[str]:
    rows = c.book.bars[0].rows[: 3 + 3 * len(c.found.batch.pieces)]
    for k, row in enumerate(rows):
        before = c.book.bars[0].rows[k - 1].bar
        if isinstance(row.step, Restack):
            spacer = f" with {row.step.spacer} between them" if row.step.spacer else ""
            yield (
                f"draw to {_thin(before.thickness, units)} ({_long(before.length, units)} long), cut in "
                f"{row.step.pieces}, lay all the same way up{spacer}: {_long(row.bar.thickness, units)} "
                f"high, {row.bar.layers_counted} layers"
            )
    last = "last, " if c.found.after.heats else ""
    yield f"{last}weld and draw to {_thin(rows[-1].bar.thickness, units)} x {_long(rows[-1].bar.width, units)}"
    if c.found.after.why:
        yield c.found.after.why


def _result(c: Candidate, units: str) -> Iterator[str]:
    lost: Counter[str] = Counter()
    for bar in c.book.bars:
        for row in bar.rows:
            lost.update({k: v for k, v in row.lost._asdict().items() if v > 0})
    yield "lost: " + ", ".join(f"{k} {show(v, Kind.MASS, units)}" for k, v in lost.most_common())
    for name, book in (("as expected", c.book), ("at twice the scale", c.worst)):
        yield f"over the need {name}: {_three(holding(book), units)}"


def _three(f: Fits, units: str) -> str:
    return (
        f"length {_long(f.length.surplus, units)}, height {_long(f.heel_height.surplus, units)}, "
        f"thickness {_thin(f.thickness.surplus, units)}"
    )


def _press(c: Candidate, units: str) -> Iterator[str]:
    p = c.press
    force = lambda v: show(v, Kind.FORCE, units)  # noqa: E731
    if p.weld_bite is None or p.draw_bite is None:
        yield (
            f"press: about {force(p.weld_force)} sets the first weld under a wide flat die, "
            f"{force(p.draw_force)} draws the last bar under a narrow one"
        )
        return
    thin = (
        "it cannot draw this width with a narrow die at all"
        if p.thinnest is None
        else f"a narrow die draws it down to {_thin(p.thinnest, units)}"
    )
    yield (
        f"this press moves bites of {_long(p.weld_bite, units)} on the first stack and "
        f"{_long(p.draw_bite, units)} on the last bar; {thin}"
    )


def _cuts(cuts: CutList | None, units: str) -> Iterator[str]:
    if cuts is None:
        return
    for c in cuts.cuts:
        many = Counter(round(v, 6) for v in c.lengths)
        yield (
            (
                f"saw from {c.bar.steel} {_thin(c.bar.thickness, units)} x {_long(c.bar.width, units)} x "
                f"{_long(c.bar.length, units)}: "
            )
            + ", ".join(f"{n} of {_long(v, units)}" for v, n in many.items())
            + f", offcut {_long(c.offcut, units)}"
        )
    if cuts.price:
        yield f"steel used: {cuts.price:.2f} in the rack's money"
    for p in cuts.short:
        yield (
            f"to buy: {p.count} of {p.steel.name} {_thin(p.thickness, units)} x {_long(p.width, units)} "
            f"x {_long(p.length, units)} ({show(p.mass, Kind.MASS, units)})"
        )


def tell_reach(r: Reach, units: str) -> list[str]:
    """What a measured bar still gives."""
    names = ("length", "width", "thickness")
    sizes = ", ".join(
        f"{n} {_thin(m, units)} ({_thin(e, units)} expected)"
        for n, m, e in zip(names, r.measured, r.expected, strict=True)
    )
    out = [
        f"after step {r.step}: {sizes}",
        f"over the need as expected: {_three(r.nominal, units)}",
        f"over the need at twice the scale: {_three(r.pessimistic, units)}",
    ]
    if r.pessimistic.enough:
        return [*out, "the blade is still in it, as the recipe stands"]
    if r.redraw is not None:
        says = "then the blade is in it" if r.redraw.answer.enough else "and even then it is short"
        out.append(
            f"draw the last bar only to {_thin(r.redraw.thickness, units)} x "
            f"{_long(r.redraw.width, units)}, {says}: {_three(r.redraw.answer, units)}"
        )
    if not r.enough:
        out.append(
            f"what still reaches: a blade {_long(r.blade, units)} long at this height, or a heel "
            f"{_long(r.heel, units)} high at this length, whichever is less than wanted"
        )
        out.append(
            f"plates can still be added at step {r.help} (a spacer between the pieces)"
            if r.help
            else "no restack is to come, so no plates can be added; weld on a tang, or make the smaller knife"
        )
    return out
