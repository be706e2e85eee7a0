"""Why there is no plan: the nearest one there is, and the one habit or limit to relax that would reach the target."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from billet.base.errors import InputError
from billet.base.units import Kind, show
from billet.plan.goal import Goal
from billet.plan.recipe_text import length
from billet.plan.sequence_search import Found, nearest, search
from billet.plan.sequences import Space

_QUICK = 8_000
_WITHIN = 1.8  # [s] spent at most on looking for what binds
_SHOP: dict[str, dict[str, Any]] = {
    "thinnest_piece": {"thinnest_piece": 4e-3},
    "fewest_pieces": {"fewest_pieces": 2},
    "most_pieces": {"most_pieces": 12},
    "stack_ratio": {"stack_ratio": 3.0},
    "fire_length": {"fire_length": 20.0},
    "press_opening": {"press_opening": 1.0, "forge_tool": "press"},
    "press_force": {"press_force": None},
    "most_welds": {"most_welds": 30},
    "face_cleanup": {"face_cleanup": 0.0},
    "end_trim": {"end_trim": 0.0},
}
_TARGET: dict[str, dict[str, Any]] = {
    "plates": {"plates": None},
    "spacers": {"spacers": True},
}


class UnreachableError(InputError):
    """Nothing meets the target; `plan` is the nearest there is, or None."""

    def __init__(self, said: str, plan: Any) -> None:
        super().__init__(said)
        self.plan = plan


def explain(goal: Goal, space: Space | None) -> tuple[str, tuple[Found, ...]]:
    """One sentence: what was wanted, the nearest that can be had, and what would have to give way; and the nearest
    plans.
    """
    begun = time.process_time()
    found = nearest(goal, space, until=begun + 1.0).found
    near = (
        f"the nearest plan {_says(goal, found[0])}" if found else "no sequence of these plates can be made in this shop"
    )
    binding = next(_binding(goal, space, time.process_time() + _WITHIN), None)
    return (
        f"target: {_wanted(goal)} cannot be met; {near}; "
        f"{binding or 'no one limit is in the way: change plates or steels, or several limits at once'}"
    ), found


def _wanted(goal: Goal) -> str:
    t, u = goal.target, goal.units
    words = {
        "layers": lambda v: f"{v:,} layers",
        "distinct": lambda v: f"{v:,} separate layers",
        "line": lambda v: f"lines {length(v, u)} wide",
        "carbon": lambda v: f"{v:g} % carbon",
        "dark": lambda v: f"a dark share of {v:g}",
    }
    return (
        " with ".join(say(getattr(t, k)) for k, say in words.items() if getattr(t, k) is not None)
        or "a bar for this blade"
    )


def _says(goal: Goal, found: Found) -> str:
    b, after = found.batch, found.after
    cuts = ", then ".join(f"cut in {int(p)}" for p in b.pieces[:, 0]) or "no restack"
    said = f"has {after.times * int(b.counted[0]) + after.plus:,} layers ({int(2 * b.repeat[0] + b.cap[0])} plates, {cuts})"
    worst = max(found.missed, key=lambda k: found.missed[k], default="")
    return said if worst in ("layers", "") else f"{said} and is off in {_WORDS.get(worst, worst)}"


_ASKED = {"distinct": "separate layers", "line": "line width", "dark": "share of dark steel", "pattern": "pattern"}
_WORDS = {"distinct": "separate layers", "line": "line width", "dark": "the dark share", "carbon": "carbon"}


def _binding(goal: Goal, space: Space | None, until: float) -> Iterator[str]:
    """What, taken away alone, lets the target be met."""
    for name in sorted(goal.asked & {"layers", "distinct", "line", "carbon", "dark"}):
        left = goal.target.model_copy(update={name: None})
        if len(goal.asked) > 1 and _meets(replace(goal, target=left), space, until):
            others = " and ".join(_ASKED.get(one, one) for one in sorted(goal.asked - {name}))
            own = _ASKED.get(name, name)
            yield f"not all of it can be had at once: without the {own} the {others} can be met, so drop or change the {own}"
    for name, update in _TARGET.items():
        if goal.target.model_copy(update=update) != goal.target and _meets(
            replace(goal, target=goal.target.model_copy(update=update)), space, until
        ):
            yield f"{name} in [target] is the limit: {'allow spacer plates' if name == 'spacers' else 'leave it out'}"
    for name, update in _SHOP.items():
        wider = Space(most_restacks=9) if name == "most_welds" else space
        freed = replace(goal, shop=goal.shop.model_copy(update=update))
        if _meets(freed, wider, until):
            yield f"{name}{_now(goal, name)} is the limit; relax it in [shop]"


def _now(goal: Goal, name: str) -> str:
    """What a limit of the shop is now."""
    value = getattr(goal.shop, name)
    if value is None:
        return ""
    if name == "press_force":
        return f" = {show(value, Kind.FORCE, goal.units)}"
    return f" = {length(value, goal.units)}" if isinstance(value, float) and name != "stack_ratio" else f" = {value}"


def _meets(goal: Goal, space: Space | None, until: float) -> bool:
    return time.process_time() < until and bool(search(goal, space, most=_QUICK, until=until, keep=1).found)
