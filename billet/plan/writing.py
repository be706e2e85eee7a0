"""A plan written out as a recipe: the one place where recipes are spelled."""

from __future__ import annotations

import tomllib
from typing import Any

import tomlkit

from billet.bar.sizes import laid_up
from billet.plan.after import Steps, twins
from billet.plan.goal import Goal
from billet.plan.recipe_text import hot, length, shop_table
from billet.plan.score import tall
from billet.plan.sequence_search import Found
from billet.plan.sequences import TALLEST
from billet.recipe.models import VERSION
from billet.recipe.old_spellings import respelt


def write_out(goal: Goal, found: Found, start: float, halves: bool = False) -> str:
    """The recipe of a candidate, its first stack `start` [m] long; `halves`: some bar is longer than the fire."""
    u, b, after = goal.units, found.batch, found.after
    kept: dict[str, Any] = tomllib.loads(goal.recipe.text) if goal.recipe.text else {}
    dark, bright = b.pair.dark.name, b.pair.bright.name
    first, second = (dark, bright) if b.dark_first[0] else (bright, dark)
    bar: dict[str, Any] = {"name": "billet", "width": length(float(b.width[0]), u), "length": length(start, u)}
    if after.stack:
        bar["stack"] = [goal.plate(steel.name, thick) for steel, thick in after.stack]
    else:
        bar["stack"] = [goal.plate(first, float(b.first[0])), goal.plate(second, float(b.second[0]))]
        bar["repeat"] = int(b.repeat[0])
        if b.cap[0]:
            bar["cap"] = goal.plate(first, float(b.first[0]))
    laminate = _steps(goal, found)
    bar["step"] = [*laminate, *after.steps(found.want)]
    data: dict[str, Any] = {"title": f"{goal.recipe.tables.title} (planned)", "units": u}
    shop = _shop(goal, found, kept.get("shop"), halves)
    data |= ({"shop": shop} if shop else {}) | {k: kept[k] for k in ("steels",) if k in kept}
    data |= {"bar": [bar, *twins(after, found.want, laminate), *after.bars(found.want)]} | {
        k: kept[k] for k in ("blade", "target", "hardening", "etch", "rack") if k in kept
    }
    return tomlkit.dumps({"version": VERSION} | respelt(data)[0])


def _shop(goal: Goal, found: Found, kept: dict[str, Any] | None, halves: bool) -> dict[str, Any]:
    """The [shop] table as it was written, with what this plan relies on: stacks taller than wide, bars longer than the
    fire worked in two halves.
    """
    shop, b = goal.shop, found.batch
    out = dict(kept) if kept is not None else shop_table(shop)
    if shop.stack_ratio is None and tall(goal, b)[0]:
        out["stack_ratio"] = TALLEST
    if halves and "two_halves" not in shop.model_fields_set:
        out["two_halves"] = True
    return out


def _steps(goal: Goal, found: Found) -> Steps:
    """Weld, draw, restack ..., weld, last draw."""
    u, b, habits = goal.units, found.batch, found.habits
    spacer = (
        None
        if b.spacer[0] == 0
        else goal.plate((b.pair.dark if b.spacer_dark[0] else b.pair.bright).name, float(b.spacer[0]))
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
