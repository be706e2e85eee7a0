"""Why there is no plan: the constraint that kills the target, and the nearest plan there is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from billet.plan.goal import Goal
from billet.plan.recipe_text import length
from billet.plan.sequence_search import Found, nearest, search
from billet.plan.sequences import Space

_QUICK = 20_000
_RELAXED: dict[str, dict[str, Any]] = {
    "press_opening": {"press_opening": 1.0, "by": "press"},
    "fire_length": {"fire_length": 20.0},
    "most_pieces": {"most_pieces": 16},
    "most_welds": {"most_welds": 30},
    "press_force": {"press_force": None},
    "face_cleanup": {"face_cleanup": 0.0},
    "end_trim": {"end_trim": 0.0},
}


def explain(goal: Goal, space: Space | None) -> str:
    """One sentence: what was wanted, the nearest that can be had, and what would have to give way."""
    found = nearest(goal, space).found
    near = (
        f"the nearest plan {_says(goal, found[0])}" if found else "no sequence of these plates can be made in this shop"
    )
    binding = next(_binding(goal, space), None)
    return (
        f"target: {_wanted(goal)} cannot be met; {near}; "
        f"{binding or 'no single limit is to blame, so change plates, steels or several limits at once'}"
    )


def _wanted(goal: Goal) -> str:
    t, u = goal.target, goal.units
    words = {
        "layers": lambda v: f"{v:,} layers",
        "distinct": lambda v: f"{v:,} distinct layers",
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
    cuts = " x ".join(f"{int(p)}" for p in b.pieces[:, 0]) or "no restack"
    worst = max(found.missed, key=lambda k: found.missed[k])
    return (
        f"has {after.times * int(b.counted[0]) + after.plus:,} layers "
        f"({int(2 * b.repeat[0] + b.cap[0])} plates, {cuts}) and misses {worst} by "
        f"{found.missed[worst]:.1f} times what a smith would notice"
    )


def _binding(goal: Goal, space: Space | None) -> Iterator[str]:
    """What, taken away alone, lets the target be met."""
    for name in sorted(goal.asked & {"layers", "distinct", "line", "carbon", "dark"}):
        left = goal.target.model_copy(update={name: None})
        if len(goal.asked) > 1 and _meets(replace(goal, target=left), space):
            others = ", ".join(sorted(goal.asked - {name}))
            yield f"the targets pull apart: without {name} the rest ({others}) can be met, so drop or change {name}"
    for name, update in _RELAXED.items():
        freed = replace(goal, shop=goal.shop.model_copy(update=update))
        wider = Space(most_restacks=9) if name == "most_welds" else space
        if _meets(freed, wider):
            value = getattr(goal.shop, name)
            said = (
                length(value, goal.units)
                if isinstance(value, float) and name != "press_force"
                else f"{value:g} N"
                if isinstance(value, float)
                else str(value)
            )
            yield f"{name} = {said} is what binds"


def _meets(goal: Goal, space: Space | None) -> bool:
    done = search(goal, space, most=_QUICK)
    return bool(done.found)
