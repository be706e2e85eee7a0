"""A goal and its tables made from short words, for the tests of the planner."""

from __future__ import annotations

import tomllib
from typing import Any

from billet.plan.goal import Goal, goal_of
from billet.recipe.read import build
from billet.recipe.recipe import Recipe
from billet.recipe.tables import RackBar, Target

KNIFE = """\
title = "smokehouse chef's knife"
units = "{units}"
[shop]
face_cleanup = "0.3 mm"
end_trim = "6 mm"
fire_length = "400 mm"
{shop}
[blade]
length = "{length}"
heel_height = "{heel}"
"""


def knife(length: str = "210 mm", heel: str = "48 mm", units: str = "metric", shop: str = "", more: str = "") -> Recipe:
    """A recipe with a blade and no bar yet."""
    text = KNIFE.format(length=length, heel=heel, units=units, shop=shop) + more
    return build(tomllib.loads(text), text)


def goal(target: dict[str, Any] | None = None, rack: tuple[RackBar, ...] | None = None, **words: str) -> Goal:
    """A goal for such a knife."""
    return goal_of(knife(**words), Target(**(target or {"layers": 120})), rack)


def bar(
    steel: str,
    thickness: float,
    width: float = 40.0,
    length: float = 1000.0,
    count: int = 4,
    price: float | None = None,
) -> RackBar:
    """A bar of the rack; sizes in millimetres."""
    return RackBar(
        steel=steel, thickness=thickness * 1e-3, width=width * 1e-3, length=length * 1e-3, count=count, price=price
    )


RACK = (bar("1084", 3.2, price=14.0), bar("15N20", 1.6, price=12.0))
