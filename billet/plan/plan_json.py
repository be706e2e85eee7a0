"""A plan as other tools read it: SI with the unit in every key, best candidate first."""

from __future__ import annotations

import tomllib
from collections import Counter
from typing import Any

from billet.blade.need import Fits
from billet.ledger.recipe_warnings import holding, of_recipe
from billet.ledger.rows import BarRun, Ledger
from billet.plan.candidate import Candidate, PressNote
from billet.plan.cutlist import CutList, Plate
from billet.plan.face import Face
from billet.plan.measured import Reach
from billet.plan.planner import Plan
from billet.steps.restack import Restack


def as_json(plan: Plan) -> dict[str, Any]:
    """The whole plan."""
    goal = plan.goal
    need = goal.need
    return {
        "title": goal.recipe.tables.title,
        "target": goal.target.model_dump(),
        "need": {
            "length_m": need.length,
            "width_m": need.width,
            "thickness_m": need.thickness,
            "reserve": goal.reserve,
            "length_forged_beside_bolster_m": goal.forged_length,
        },
        "weighed": plan.weighed,
        "stopped": plan.stopped,
        "cut_from_rack": plan.in_hand,
        "candidates": [candidate_json(c, k) for k, c in enumerate(plan.candidates, 1)],
    }


def candidate_json(c: Candidate, place: int) -> dict[str, Any]:
    """One candidate; start_mass_kg is the first stacks as laid, spacer_mass_kg what is laid between later, yield the
    share of both left.
    """
    table = tomllib.loads(c.text)["bar"][0]
    run, last, m = c.book.bars[0], c.book.last, c.promised
    first = run.rows[0].bar
    lost: Counter[str] = Counter()
    for bar in c.book.bars:
        for row in bar.rows:
            lost.update(row.lost._asdict())
    return {
        "place": place,
        "stack": table["stack"],
        "repeat": table.get("repeat", 1),
        "cap": table.get("cap"),
        "length_m": first.length,
        "width_m": first.width,
        "height_m": first.thickness,
        "restacks": _restacks(run),
        "layers_counted": last.layers_counted,
        "layers_distinct": m.distinct,
        "mean_layer_m": m.mean_layer,
        "carbon_wt_percent": m.carbon,
        "steel_shares": m.shares,
        "start_mass_kg": c.laid,
        "spacer_mass_kg": c.spacers,
        "final_mass_kg": last.mass,
        "yield": last.mass / (c.laid + c.spacers),
        "lost_kg": dict(lost),
        "weld_heats": c.welds,
        "heats": _heats(c.book),
        "final": {"length_m": last.length, "width_m": last.width, "thickness_m": last.thickness},
        "surplus": {"nominal": _surplus(holding(c.book)), "pessimistic": _surplus(holding(c.worst))},
        "alloy_contrast": m.alloy_contrast,
        "carbon_contrast": m.carbon_contrast,
        "score": c.score._asdict() | {"text": c.score.say()},
        "missed": c.found.missed,
        "unbeaten": c.pareto,
        "why": c.why,
        "pattern_note": c.found.after.why,
        "faults": list(c.faults),
        "face": face_json(c.face),
        "press": press_json(c.press),
        "cut_list": None if c.cuts is None else cuts_json(c.cuts),
        "warnings": _warnings(c),
        "recipe": c.text,
    }


def _restacks(run: BarRun) -> list[dict[str, Any]]:
    return [
        {
            "pieces": row.step.pieces,
            "turn": row.step.flip,
            "spacer": row.step.spacer,
            "from_thickness_m": run.rows[row.number - 1].bar.thickness,
        }
        for row in run.rows
        if isinstance(row.step, Restack)
    ]


def _heats(book: Ledger) -> int:
    """How often the bars go into the fire."""
    return sum(
        int(getattr(row.step, "heats", 0))
        for bar in book.bars
        for row in bar.rows
        if getattr(row.step, "temperature", None) is not None
    )


def face_json(face: Face) -> dict[str, Any]:
    """What the ground faces show."""
    return {
        "widest": face.widest,
        "bands": face.bands,
        "dark": face.dark,
        "edge_in_seam": face.edge_seam,
        "pattern": face.pattern,
        "stations": [
            {
                "place": s.place,
                "side": s.side,
                "height_m": s.height,
                "lines": s.lines,
                "lines_per_m": s.lines_per_m,
                "median_line_m": s.median,
                "widest": s.widest,
                "bands": s.bands,
                "dark": s.dark,
                "core_m": s.core,
            }
            for s in face.stations
        ],
    }


def _warnings(c: Candidate) -> list[str]:
    units, rows = c.book.recipe.tables.units, (row for bar in c.evened.bars for row in bar.rows)
    return [n.say(units) for row in rows for n in row.notes] + [n.say(units) for n in of_recipe(c.evened)]


def press_json(p: PressNote) -> dict[str, float | None]:
    """What the press has to push, and what it moves."""
    return {
        "weld_force_N": p.weld_force,
        "draw_force_N": p.draw_force,
        "weld_bite_m": p.weld_bite,
        "draw_bite_m": p.draw_bite,
        "thinnest_draw_m": p.thinnest,
    }


def _surplus(three: Fits) -> dict[str, float]:
    return {f"{what}_m": fit.surplus for what, fit in three.named.items()}


def cuts_json(cuts: CutList) -> dict[str, Any]:
    """The cut list."""
    return {
        "price": cuts.price,
        "cuts": [
            {
                "steel": c.bar.steel,
                "thickness_m": c.bar.thickness,
                "width_m": c.bar.width,
                "bar_length_m": c.bar.length,
                "lengths_m": list(c.lengths),
                "offcut_m": c.offcut,
                "price": c.price,
            }
            for c in cuts.cuts
        ],
        "to_buy": [_plate(p) for p in cuts.short],
        "left_whole": [
            {"steel": bar.steel, "thickness_m": bar.thickness, "width_m": bar.width, "length_m": bar.length, "count": n}
            for bar, n in cuts.untouched
        ],
    }


def _plate(p: Plate) -> dict[str, Any]:
    return {
        "steel": p.steel.name,
        "thickness_m": p.thickness,
        "width_m": p.width,
        "length_m": p.length,
        "count": p.count,
        "mass_kg": p.mass,
    }


def reach_json(r: Reach) -> dict[str, Any]:
    """What still reaches the blade."""
    sides = {
        name: {what: f.as_data() for what, f in a.named.items()}
        for name, a in (("nominal", r.nominal), ("pessimistic", r.pessimistic))
    }
    redraw = (
        None
        if r.redraw is None
        else {
            "width_m": r.redraw.width,
            "thickness_m": r.redraw.thickness,
            "enough": r.redraw.answer.enough,
            "surplus": _surplus(r.redraw.answer),
        }
    )
    return {
        "bar": r.bar,
        "step": r.step,
        "expected_m": r.expected,
        "measured_m": r.measured,
        "enough": r.enough,
        **sides,
        "smaller_last_bar": redraw,
        "longest_blade_m": r.blade,
        "highest_heel_m": r.heel,
        "add_plates_at_step": r.help,
        "go_on": None if r.on is None else {"change": r.on.change, "layers_counted": r.on.layers},
    }
