"""A plan in the smith's words: the answer first, then what the others offer; units are those of the recipe."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from billet.base.units import Kind, show
from billet.blade.need import Fits
from billet.ledger.recipe_warnings import holding
from billet.plan.candidate import Candidate
from billet.plan.cutlist import CutList
from billet.plan.measured import Reach
from billet.plan.planner import Plan
from billet.plan.recipe_text import length
from billet.plan.sequences import TALLEST
from billet.plan.step_say import about, size
from billet.plan.steps_text import layers_said, lines_said, rest_of, steps_of


def _long(v: float, units: str) -> str:
    return show(v, Kind.LENGTH, units)


def _thin(v: float, units: str) -> str:
    return show(v, Kind.LENGTH, units, fine=True)


def answer(c: Candidate, units: str) -> list[str]:
    """The first plan: numbered lines to pin to the wall, the saw list, what the face will show."""
    steps = [f"{k:>2}. {text}" for k, text in enumerate(steps_of(c, units), 1)]
    last = c.book.last
    bar = f"{about(last.length, units)} x {_long(last.width, units)} x {_thin(last.thickness, units)}"
    out = [*steps, f"You end with a bar {bar}: {layers_said(c)}.", f"{lines_said(c, units)}.", *saw_list(c.cuts, units)]
    longest = max(row.bar.length for b in c.book.bars for row in b.rows)
    if longest > c.goal.shop.fire_length:
        out.append(
            f"The bar grows to {about(longest, units)} and the fire heats {size(c.goal.shop.fire_length, units)}: draw one half, "
            "turn it round, draw the other; or crop it as soon as it is longer than the blade needs."
        )
    return out


def why(made: Plan) -> list[str]:
    """Why the first is first, and what would change it."""
    first, *rest = made.candidates
    out = []
    if first.faults:
        out.append(f"Mind: {'; '.join(first.faults)}.")
    out.append(f"First because {first.why}.")
    other = next((c for c in rest if any(w in c.why for w in ("fewer", "less", "lower", "cheaper", "closer"))), None)
    if other is not None:
        out.append(f"Plan {made.candidates.index(other) + 1} instead: {other.why}.")
    out.append(f"Planned with {habits_said(made)}; change them in [shop] or [target].")
    return out


def habits_said(made: Plan) -> str:
    """The habits a plan keeps, each by the name of its key."""
    shop, t, u = made.goal.shop, made.goal.target, made.goal.units
    thinnest = (
        "3/8 in" if u == "imperial" and abs(shop.thinnest_piece - 9.5e-3) < 1e-5 else length(shop.thinnest_piece, u)
    )
    ratio = shop.stack_ratio or TALLEST
    return (
        f"{shop.fewest_pieces} to {shop.most_pieces} pieces at a restack (fewest_pieces, most_pieces), none under {thinnest} "
        f"(thinnest_piece), stacks up to {ratio:g} times their width (stack_ratio), "
        f"{'spacers allowed' if t.spacers else 'no spacers'} (spacers), {t.outside} steel outside an odd stack (outside), no line "
        f"over {t.widest:g} times a usual one (widest)"
    )


def full(c: Candidate, units: str) -> list[str]:
    """The rest about one plan: losses, what is over, the press, the pattern."""
    return [
        *_result(c, units),
        *_press(c, units),
        *([c.found.after.why] if c.found.after.why else []),
        c.score.say(units),
    ]


def tell(c: Candidate, units: str) -> list[str]:
    """All that is known of one plan."""
    return [*answer(c, units), *full(c, units)]


def in_short(c: Candidate, units: str) -> str:
    """One plan in a line."""
    b = c.found.batch
    cuts = ", then ".join(f"in {int(p)}" for p in b.pieces[:, 0])
    return f"{c.plates} plates{f', cut {cuts}' if cuts else ''}, {c.book.last.layers_counted:,} layers"


def _result(c: Candidate, units: str) -> Iterator[str]:
    lost: Counter[str] = Counter()
    for bar in c.book.bars:
        for row in bar.rows:
            lost.update({k: v for k, v in row.lost._asdict().items() if v > 0})
    yield "lost: " + ", ".join(f"{k} {show(v, Kind.MASS, units)}" for k, v in lost.most_common())
    for name, book in (("as expected", c.book), ("at twice the scale", c.worst)):
        yield f"over the need {name}: {three(holding(book), units)}"


def three(f: Fits, units: str) -> str:
    """The three surpluses."""
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


def saw_list(cuts: CutList | None, units: str) -> Iterator[str]:
    """What to saw from which bar, what stays on the rack, what to buy."""
    if cuts is None:
        return
    for c in cuts.cuts:
        many = Counter(round(v, 6) for v in c.lengths)
        bar = c.bar
        sizes = " x ".join(bar.spelled(k) or size(getattr(bar, k), units) for k in ("thickness", "width", "length"))
        pieces = ", ".join(f"{n} of {size(v, units)}" for v, n in many.items())
        yield f"Saw {pieces} from {bar.steel} {sizes}; {about(c.offcut, units)} stays."
    left: dict[str, list[str]] = defaultdict(list)
    for bar, count in cuts.untouched:
        left[bar.steel].append(f"{count} of {bar.spelled('thickness') or size(bar.thickness, units)}")
    if left:
        yield "Whole bars left on the rack: " + "; ".join(f"{s} {', '.join(t)}" for s, t in left.items()) + "."
    if cuts.price:
        yield f"Steel used: {cuts.price:.2f} in the rack's money."
    for p in cuts.short:
        yield (
            f"To buy: {p.count} of {p.steel.name} {size(p.thickness, units)} x {size(p.width, units)} x "
            f"{size(p.length, units)} ({show(p.mass, Kind.MASS, units)})."
        )


def tell_reach(r: Reach, units: str) -> list[str]:
    """What a measured bar still gives, the answer first."""
    names = ("length", "width", "thickness")
    sizes = ", ".join(
        f"{n} {size(m, units)} ({_thin(e, units) if n == 'thickness' else _long(e, units)} expected)"
        for n, m, e in zip(names, r.measured, r.expected, strict=True)
    )
    out = []
    if r.on is not None and not r.on.change:
        out.append("The blade is still in it, as the recipe stands.")
    elif r.on is not None:
        out.append(
            f"The blade is still in it with a change: {r.on.change}; {r.on.layers:,} layers instead of {r.planned_layers:,}."
        )
    else:
        out += _short(r, units)
    out.append(f"{r.bar} after step {r.step}: {sizes}.")
    if r.on is not None:
        bar = next(k for k, b in enumerate(r.on.book.bars) if b.name == r.bar)
        lines = rest_of(r.on.book, bar, r.step, units)
        out += [f"{k:>2}. {text}" for k, text in enumerate(lines, 1)]
    out.append(f"Over the need as expected: {three(r.nominal, units)}.")
    if r.doubt:
        out.append(f"With twice the scale loss it cannot be done as written ({r.doubt}): keep the fire lean of air.")
    else:
        out.append(f"Over the need at twice the scale: {three(r.pessimistic, units)}.")
    return out


def _short(r: Reach, units: str) -> Iterator[str]:
    """No way gives the blade: what still reaches."""
    yield (
        f"What still reaches: a blade {_long(r.blade, units)} long at this height, or a heel {_long(r.heel, units)} high at "
        "this length, whichever is less than wanted."
    )
    if r.redraw is not None:
        yield (
            f"That is with the last bar drawn only to {_thin(r.redraw.thickness, units)} x {_long(r.redraw.width, units)}: "
            f"{three(r.redraw.answer, units)}."
        )
    yield (
        f"More steel can still go in at step {r.help}, as plates between the pieces."
        if r.help
        else "No restack is to come, so no steel can be added: make the smaller knife from it, and a new billet for this one."
    )
