"""One plan written out as a recipe, run through the ledger, and what it promises read off the ledger's last row."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from functools import cached_property

from billet.bar.measure import Measures
from billet.base.errors import InputError
from billet.forming.planar_flow import NotSpreadError
from billet.ledger.recipe_warnings import WASHED_OUT, every_warning, holding
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.plan.after import PESSIMISTIC
from billet.plan.cutlist import CutList, cut_list
from billet.plan.face import Face, judge
from billet.plan.goal import Goal
from billet.plan.press import DRAWING_DIE, FLAT_DIE, bite, push, resistance, thinnest
from billet.plan.recipe_text import step_of, up
from billet.plan.score import Score
from billet.plan.sequence_search import OFF_BALANCE, Found
from billet.plan.writing import write_out
from billet.recipe.read import build

_BUMPS = 6


@dataclass(frozen=True)
class PressNote:
    """What the press has to do: force [N] to set the first weld under a flat die, the longest bite [m] it moves there
    and on the last draw, the thinnest [m] it draws with a drawing die and the highest stack [m] it opens for. None
    without `press_force`."""

    weld_force: float
    draw_force: float
    weld_bite: float | None
    draw_bite: float | None
    thinnest: float | None


@dataclass(frozen=True, eq=False)
class Candidate:
    """A plan: its recipe as text, the ledger of it at the law's loss and at twice that (carbon left where it is), what
    its faces show, its score, why it stands where it does, and what a smith would hold against it.
    """

    goal: Goal
    found: Found
    score: Score
    text: str
    start: float
    book: Ledger
    worst: Ledger
    face: Face
    cuts: CutList | None
    press: PressNote
    why: str = ""
    pareto: bool = True
    faults: tuple[str, ...] = ()

    @cached_property
    def evened(self) -> Ledger:
        """The ledger with carbon and nickel evening out between the layers; this takes a second or more."""
        return run(self.book.recipe)

    @cached_property
    def promised(self) -> Measures:
        """Measures of the last bar, carbon lost at the faces counted."""
        return self.evened.bars[-1].rows[-1].measures

    @property
    def laid(self) -> float:
        """Mass of all first stacks [kg]."""
        return sum(r.rows[0].bar.mass for r in self.book.bars if r.rows[0].do == "stack")

    @property
    def spacers(self) -> float:
        """Mass of all spacers [kg]."""
        return sum(row.added for r in self.book.bars for row in r.rows)

    @property
    def plates(self) -> int:
        """Plates in one first stack."""
        b = self.found.batch
        return len(self.found.after.stack) or int(2 * b.repeat[0] + b.cap[0])

    @property
    def welds(self) -> int:
        """Weld heats."""
        return sum(int(getattr(row.step, "heats", 0)) for r in self.book.bars for row in r.rows if row.do == "weld")


def candidate(goal: Goal, found: Found, in_hand: bool, strict: bool = False) -> Candidate | None:
    """Write a candidate out, run it and trace its faces; a little longer when the ledger asks for it. None when the
    ledger, or the rack's bars with their spacers, will not have it; with `strict`, when a step warns as well.
    """
    step, start = step_of(goal.units), found.start
    halves = goal.need.length * (1 + goal.reserve) > goal.shop.fire_length
    for _ in range(_BUMPS):
        text = write_out(goal, found, start, halves)
        try:
            recipe = build(tomllib.loads(text), text, goal.recipe.path)
            worst = run(recipe, scale_factor=PESSIMISTIC, diffuse=False)
        except InputError:
            return None
        short = goal.need.length * (1 + goal.reserve) - worst.last.length
        if short <= 1e-6 and holding(worst).enough:
            book = run(recipe, diffuse=False)
            longer = max(row.bar.length for b in book.bars for row in b.rows) > goal.shop.fire_length
            if longer == halves:
                break
            halves = longer
            continue
        start += max(step, up(max(short, 0.0) * start / worst.last.length, goal.units))
    else:
        return None
    if strict and any(row.notes for b in book.bars for row in b.rows):
        return None
    cuts = cut_list(goal, worst) if goal.rack is not None else None
    if (cuts is not None and in_hand and cuts.short) or not _as_weighed(found, worst):
        return None
    try:
        face = judge(book.last, goal.blade, found.batch.pair.dark.name, goal.target.pattern, goal.target.widest)
    except (InputError, NotSpreadError):
        return None
    made = Candidate(
        goal,
        found,
        _score(found),
        text,
        start,
        book,
        worst,
        face,
        cuts,
        _press(goal, found),
    )
    return replace(made, faults=faults_of(goal, made))


def _score(found: Found) -> Score:
    miss, welds, long, off, high, loss, steel = map(int, found.score[:-1])
    return Score(miss, welds, long, off, high, loss, steel, found.score[-1])


def faults_of(goal: Goal, c: Candidate) -> tuple[str, ...]:
    """What a smith would hold against a plan: lines bolder than asked, the wrong balance, whatever a check warns of."""
    found, units = [], goal.units
    if c.face.bands and not goal.bold:
        found.append(
            f"its boldest line is {c.face.widest:.1f} times a usual one, and {goal.target.widest:g} is the most wanted"
        )
    if abs(c.face.dark - goal.wanted_dark) > OFF_BALANCE:
        found.append(
            f"{100 * c.face.dark:.0f} % of its face is {c.found.batch.pair.dark.name}, and "
            f"{100 * goal.wanted_dark:.0f} % is wanted"
        )
    if c.found.contrast < WASHED_OUT and not c.found.after.stack:
        found.append(f"the heats leave {100 * c.found.contrast:.0f} % of its contrast")
    return (*found, *dict.fromkeys(n.say(units) for n in every_warning(c.book, c.worst)))


def _as_weighed(found: Found, book: Ledger) -> bool:
    """Whether the ledger counts the layers the search counted."""
    return book.last.layers_counted == round(found.after.times * float(found.batch.counted[0]) + found.after.plus)


def _press(goal: Goal, found: Found) -> PressNote:
    b, habits, after = found.batch, found.habits, found.after
    carbon = max(b.pair.dark.carbon, b.pair.bright.carbon)
    weld, last = (float(resistance(carbon, h[0])) for h in (habits.weld, habits.last))
    width, high, force = float(b.width[0]), float(b.height[0]), goal.shop.press_force
    none = force is None
    return PressNote(
        float(push(weld, width, FLAT_DIE, high)),
        float(push(last, after.width, DRAWING_DIE, after.thickness)),
        None if none else bite(weld, width, high, force or 0.0),
        None if none else bite(last, after.width, after.thickness, force or 0.0),
        None if none else thinnest(last, after.width, DRAWING_DIE, force or 0.0),
    )


def ranked(c: Candidate, why: str, on_front: bool) -> Candidate:
    """The candidate with the reason for its place."""
    return replace(c, why=why, pareto=on_front)
