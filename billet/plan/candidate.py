"""One plan written out as a recipe, run through the ledger, and what it promises read off the ledger's last row."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import tomlkit

from billet.bar.laminate import OPEN
from billet.bar.measure import Measures
from billet.base.errors import InputError
from billet.ledger.recipe_warnings import holding
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.plan.after import PESSIMISTIC, Steps, twins
from billet.plan.cutlist import CutList, cut_list
from billet.plan.goal import Goal
from billet.plan.press import DRAWING_DIE, FLAT_DIE, bite, push, resistance, thinnest
from billet.plan.recipe_text import hot, length, plate, shop_table, step_of, up
from billet.plan.score import Score
from billet.plan.sequence_search import Found
from billet.recipe.read import build
from billet.steps.restack import Restack

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
    """A plan: its recipe as text, the ledger of it at the law's loss and at twice that, its score and why it stands
    where it does.
    """

    found: Found
    score: Score
    text: str
    start: float
    book: Ledger
    worst: Ledger
    cuts: CutList | None
    press: PressNote
    why: str = ""
    pareto: bool = True

    @cached_property
    def promised(self) -> Measures:
        """Measures of the last bar."""
        return self.book.bars[-1].rows[-1].measures

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


def write_out(goal: Goal, found: Found, start: float) -> str:
    """The recipe of a candidate, its first stack `start` [m] long."""
    u, b, after = goal.units, found.batch, found.after
    kept: dict[str, Any] = tomllib.loads(goal.recipe.text) if goal.recipe.text else {}
    dark, bright = b.pair.dark.name, b.pair.bright.name
    first, second = (dark, bright) if b.dark_first[0] else (bright, dark)
    bar: dict[str, Any] = {"name": "billet", "width": length(float(b.width[0]), u), "length": length(start, u)}
    if after.stack:
        bar["stack"] = [plate(steel.name, thick, u) for steel, thick in after.stack]
    else:
        bar["stack"] = [plate(first, float(b.first[0]), u), plate(second, float(b.second[0]), u)]
        bar["repeat"] = int(b.repeat[0])
        if b.cap[0]:
            bar["cap"] = plate(first, float(b.first[0]), u)
    laminate = _steps(goal, found)
    bar["step"] = [*laminate, *after.steps(found.want)]
    data = {k: kept[k] for k in ("version",) if k in kept} | {
        "title": f"{goal.recipe.tables.title} (planned)",
        "units": u,
    }
    shop = shop_table(goal.shop)
    data |= ({"shop": shop} if shop else {}) | {k: kept[k] for k in ("steels",) if k in kept}
    data |= {"bar": [bar, *twins(after, found.want, laminate), *after.bars(found.want)]} | {
        k: kept[k] for k in ("blade", "target", "hardening", "etch", "rack") if k in kept
    }
    return tomlkit.dumps(data)


def _steps(goal: Goal, found: Found) -> Steps:
    """Weld, draw, restack ..., weld, last draw."""
    from billet.bar.sizes import laid_up

    u, b, habits = goal.units, found.batch, found.habits
    spacer = (
        None
        if b.spacer[0] == 0
        else plate((b.pair.dark if b.spacer_dark[0] else b.pair.bright).name, float(b.spacer[0]), u)
    )
    steps: Steps = [{"do": "weld", **hot(habits.weld, u)}]
    high = b.height
    for p, t in zip(b.pieces, b.drawn, strict=True):
        draws = int(habits.heats_to_draw(high, t)[0])
        steps.append(
            {
                "do": "draw",
                "thickness": length(float(t[0]), u),
                "width": length(float(b.width[0]), u),
                **hot((*habits.draw, draws), u),
            }
        )
        steps.append({"do": "restack", "pieces": int(p[0]), "turn": "none"} | ({"spacer": spacer} if spacer else {}))
        steps.append({"do": "weld", **hot(habits.weld, u)})
        high = laid_up(t, p, goal.shop.face_cleanup, b.spacer)
    draws = int(habits.heats_to_draw(high, found.after.thickness)[0])
    steps.append(
        {
            "do": "draw",
            "thickness": length(found.after.thickness, u),
            "width": length(found.after.width, u),
            **hot((*habits.last, draws), u),
        }
    )
    return steps


def candidate(goal: Goal, found: Found, in_hand: bool) -> Candidate | None:
    """Write a candidate out and run it; a little longer when the ledger asks for it. None when the ledger, or the
    rack's bars with their spacers, will not have it.
    """
    step, start = step_of(goal.units), found.start
    for _ in range(_BUMPS):
        text = write_out(goal, found, start)
        try:
            recipe = build(tomllib.loads(text), text, goal.recipe.path)
            worst = run(recipe, scale_factor=PESSIMISTIC, diffuse=False)
        except InputError:
            return None
        short = goal.need.length * (1 + goal.reserve) - worst.last.length
        if short <= 1e-6 and holding(worst).enough:
            break
        start += max(step, up(max(short, 0.0) * start / worst.last.length, goal.units))
    else:
        return None
    cuts = cut_list(goal, worst) if goal.rack is not None else None
    if (cuts is not None and in_hand and cuts.short) or not _as_weighed(found, worst):
        return None
    try:
        if not goal.bold and _doubled(run(recipe, diffuse=False)):
            return None
        book = run(recipe)
    except InputError:
        return None
    miss, welds, loss, steel, money = found.score
    score = Score(int(miss), int(welds), int(loss), int(steel), money)
    return Candidate(found, score, text, start, book, worst, cuts, _press(goal, found))


def _doubled(book: Ledger) -> bool:
    """Whether one steel meets itself at a seam of the laminate, piece on piece or piece on spacer."""
    laid = (row.bar.laminate for row in book.bars[0].rows if isinstance(row.step, Restack))
    return any(bool(((b.joint[1:] == OPEN) & (b.steel[1:] == b.steel[:-1])).any()) for b in laid if b is not None)


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
