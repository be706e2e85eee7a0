"""The planner: from a recipe and its target to a handful of ranked plans, or to the one sentence that says why there is
none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from billet.base.errors import InputError
from billet.plan.candidate import Candidate, candidate, ranked
from billet.plan.goal import Goal, check_carbon, goal_of
from billet.plan.infeasible import explain
from billet.plan.jackets import is_plain, single_plates
from billet.plan.score import pareto
from billet.plan.sequence_search import Found, Progress, Searched, search
from billet.plan.sequences import Space
from billet.recipe.recipe import Recipe
from billet.recipe.tables import RackBar, Target

HANDFUL = 5
_TRIED = 60  # candidates taken to the ledger at most


@dataclass(frozen=True, eq=False)
class Plan:
    """The candidates, best first; how many sequences were weighed; whether the rack holds their steel (None: no rack
    was given).
    """

    goal: Goal
    candidates: tuple[Candidate, ...]
    weighed: int
    in_hand: bool | None


def plan(
    recipe: Recipe,
    target: Target | None = None,
    rack: tuple[RackBar, ...] | None = None,
    *,
    space: Space | None = None,
    handful: int = HANDFUL,
    progress: Progress | None = None,
) -> Plan:
    """Plan a knife: `target` and `rack` replace the recipe's own tables. Raises InputError in one sentence, naming the
    constraint that binds.
    """
    wanted = target or recipe.tables.target or Target()
    bars = rack if rack is not None else (recipe.tables.rack.bar if "rack" in recipe.tables.model_fields_set else None)
    goal = goal_of(recipe, wanted, bars)
    if is_plain(goal):
        done = single_plates(goal)
    else:
        check_carbon(goal)
        done = search(goal, space, progress)
    if not done.found:
        raise InputError(explain(goal, space))
    made = tuple(_written(goal, done, handful))
    if not made:
        raise InputError(
            f"plan: {done.weighed:,} sequences were weighed and none survives the ledger at twice the "
            "scale loss; lower the losses in [shop], or start from thicker plates"
        )
    return Plan(goal, made, done.weighed, None if goal.rack is None else done.in_hand)


def _written(goal: Goal, done: Searched, handful: int) -> Iterator[Candidate]:
    """The best plan and the best of each other kind, those first that nothing beats in everything."""
    order, front = _varied(done.found)
    best: Found | None = None
    count = 0
    for found in order[:_TRIED]:
        made = candidate(goal, found, done.in_hand)
        if made is None:
            continue
        best = best or found
        yield ranked(made, reason(found, best), found in front)
        count += 1
        if count == handful:
            return


def _varied(found: tuple[Found, ...]) -> tuple[list[Found], list[Found]]:
    """Candidates of different kinds in the order of their score, and which of them nobody beats.

    Of one kind (same cuts, plates within a tenth, same lowest steel) only the best is shown, unless it fails the
    ledger; the rest follow behind.
    """
    seen: set[tuple[object, ...]] = set()
    first: list[Found] = []
    rest: list[Found] = []
    for f in found:
        b = f.batch
        kind = (
            tuple(b.pieces[:, 0]),
            round(float(np.log(2 * b.repeat[0] + b.cap[0])) * 8),
            bool(b.dark_first[0]),
            b.pair.dark.name,
            b.pair.bright.name,
        )
        (rest if kind in seen else first).append(f)
        seen.add(kind)
    points = np.array([(f.score[0], f.score[1], f.score[2], round(20 * (1 - f.contrast))) for f in first]).T
    on = pareto(points)
    front = [f for f, k in zip(first, on, strict=True) if k]
    shown = sorted({id(f): f for f in [*found[:1], *front[:HANDFUL]]}.values(), key=lambda f: f.key)
    others = [f for f in first if not any(f is s for s in shown)]
    return [*shown, *others, *rest], front


def reason(found: Found, best: Found) -> str:
    """Why a plan stands where it stands, against the best one."""
    if found is best:
        return (
            "closest to what was asked for; among the equally close it takes the fewest weld heats, "
            "then loses the least"
        )
    words = [
        w
        for k, less, more in (
            (0, "closer", "further from the target"),
            (1, "fewer weld heats", "more weld heats"),
            (2, "loses less", "loses more"),
            (3, "takes less steel", "takes more steel"),
            (4, "cheaper", "dearer"),
        )
        if (w := "" if found.score[k] == best.score[k] else less if found.score[k] < best.score[k] else more)
    ]
    if abs(found.contrast - best.contrast) >= 0.01:
        words.append("keeps more contrast" if found.contrast > best.contrast else "keeps less contrast")
    return "against the first: " + (", ".join(words) or "as good, from other plates")
