"""The planner: from a recipe and its target to a handful of ranked plans, or to the one sentence that says why there is
none.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from billet.base.errors import InputError
from billet.plan.candidate import Candidate, candidate, ranked
from billet.plan.goal import Goal, check_carbon, goal_of
from billet.plan.infeasible import UnreachableError, explain
from billet.plan.jackets import is_plain, single_plates
from billet.plan.score import pareto
from billet.plan.sequence_search import Found, Limits, Stream
from billet.plan.sequences import Space
from billet.recipe.recipe import Recipe
from billet.recipe.tables import RackBar, Target

HANDFUL = 5
FIRST_WITHIN, ALL_WITHIN = 5.0, 8.0  # [s] spent at most on the first plan, and on all; a safety net, rarely met
_FIRST_TRIES, _TRIES = 200, 60  # candidates taken to the ledger for the first plan, and after it
Progress = Callable[[int, Candidate | None], None]


@dataclass(frozen=True, eq=False)
class Plan:
    """The candidates, best first; how many sequences were weighed; whether the rack holds their steel (None: no rack
    was given); whether the search was cut short; why no better one is there, where the first is not as it should be.
    """

    goal: Goal
    candidates: tuple[Candidate, ...]
    weighed: int
    in_hand: bool | None
    stopped: bool = False
    short: str = ""


def plan(
    recipe: Recipe,
    target: Target | None = None,
    rack: tuple[RackBar, ...] | None = None,
    *,
    space: Space | None = None,
    handful: int = HANDFUL,
    progress: Progress | None = None,
    goal: Goal | None = None,
) -> Plan:
    """Plan a knife: `target` and `rack` replace the recipe's own tables. `progress` is told how many sequences were
    weighed, and the first plan as soon as it is settled. Raises UnreachableError, an InputError in one sentence that carries
    the nearest plan, where nothing meets the target. An interrupt gives the best so far.
    """
    wanted = target or recipe.tables.target or Target()
    bars = rack if rack is not None else (recipe.tables.rack.bar if "rack" in recipe.tables.model_fields_set else None)
    goal = goal or goal_of(recipe, wanted, bars)
    begun = time.process_time()
    if is_plain(goal):
        done = single_plates(goal)
        stream: _Source | Stream = _Source(iter(done.found), done.weighed, done.in_hand)
    else:
        check_carbon(goal)
        stream = Stream(goal, space, Limits(until=begun + ALL_WITHIN))
    made, stopped = _made(goal, stream, handful, progress, begun)
    if not made:
        if stopped:
            raise InputError("plan: stopped before the first plan was found; let it run a few seconds longer")
        raise _unreachable(goal, space, stream)
    return Plan(
        goal,
        tuple(made),
        stream.weighed,
        None if goal.rack is None else stream.in_hand,
        stopped,
        "; ".join(made[0].faults),
    )


@dataclass
class _Source:
    """Plans already in order, as a search gives them out."""

    found: Iterator[Found]
    weighed: int
    in_hand: bool

    def __iter__(self) -> Iterator[Found]:
        return self.found

    def __next__(self) -> Found:
        return next(self.found)


def _made(
    goal: Goal, stream: _Source | Stream, handful: int, progress: Progress | None, begun: float
) -> tuple[list[Candidate], bool]:
    """The best plan a smith would follow and the best of each other kind; the best of the rest where there is none.
    And whether somebody stopped it.
    """
    good: list[Candidate] = []
    doubtful: list[Candidate] = []
    kinds: set[tuple[object, ...]] = set()
    tries, stopped = 0, False
    try:
        for found in stream:
            if good and kind(found) in kinds:
                continue
            tries += 1
            made = candidate(goal, found, stream.in_hand, strict=bool(good or doubtful))
            if progress:
                progress(stream.weighed, None)
            if made is not None and not made.faults:
                good.append(made)
                kinds.add(kind(found))
                if progress and len(good) == 1:
                    progress(stream.weighed, made)
            elif made is not None:
                doubtful.append(made)
            spent = time.process_time() - begun
            late = spent > (ALL_WITHIN if good else FIRST_WITHIN)
            if len(good) == handful or late or tries >= (_TRIES if good else _FIRST_TRIES):
                break
    except KeyboardInterrupt:
        stopped = True
    return _in_words(good or sorted(doubtful, key=lambda c: (len(c.faults), c.found.key))[:1]), stopped


def kind(f: Found) -> tuple[object, ...]:
    """Plans of one kind have the same cuts, as many plates within a tenth, the same lowest steel."""
    b = f.batch
    plates = round(float(np.log(2 * b.repeat[0] + b.cap[0])) * 8)
    return (tuple(b.pieces[:, 0]), plates, bool(b.dark_first[0]), b.pair.dark.name, b.pair.bright.name, f.after.stack)


def _in_words(made: list[Candidate]) -> list[Candidate]:
    """The plans with why each stands where it does, and whether another beats it in everything."""
    if not made:
        return []
    unbeaten = pareto(np.array([c.found.objectives for c in made]).T)
    first = made[0].found
    return [ranked(c, reason(c.found, first), bool(k)) for c, k in zip(made, unbeaten, strict=True)]


def _unreachable(goal: Goal, space: Space | None, stream: _Source | Stream) -> InputError:
    """Why there is no plan, with the nearest one where there is any."""
    said, near = explain(goal, space)
    for found in near[:10]:
        made = candidate(goal, found, in_hand=False)
        if made is not None:
            made = replace(made, why=said)
            return UnreachableError(
                said, Plan(goal, (made,), stream.weighed, None if goal.rack is None else False, short=said)
            )
    return UnreachableError(said, None)


def reason(found: Found, best: Found) -> str:
    """Why a plan stands where it stands, against the best one."""
    if found is best:
        return (
            "it meets the target with the fewest weld heats; among those it comes closest, keeps its stacks low and "
            "loses least"
        )
    words = [
        w
        for k, less, more in (
            (3, "closer to the target", "further from the target"),
            (1, "fewer weld heats", "more weld heats"),
            (2, "fewer long bars", "more bars longer than the fire"),
            (4, "lower stacks", "more stacks taller than wide"),
            (5, "loses less", "loses more"),
            (6, "takes less steel", "takes more steel"),
            (7, "cheaper", "dearer"),
        )
        if (w := "" if found.score[k] == best.score[k] else less if found.score[k] < best.score[k] else more)
    ]
    return ", ".join(words) or "as good, from other plates"
