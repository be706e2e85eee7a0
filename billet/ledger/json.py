"""The ledger as plain data, for other tools: SI, the unit in every key."""

from __future__ import annotations

from typing import Any

from billet.ledger.recipe_warnings import of_recipe, uncertain_faces
from billet.ledger.rows import Ledger, Row
from billet.ledger.run import band


def as_json(ledger: Ledger, units: str | None = None) -> dict[str, Any]:
    """The ledger in SI with the unit in every key, as other tools read it."""
    say = units or ledger.recipe.tables.units
    sides = band(ledger.recipe)
    bars = [
        {"name": r.name, "steps": [row_json(row, say) | _distinct_range(k, row, sides) for row in r.rows]}
        for k, r in enumerate(ledger.bars)
    ]
    warnings = [n.say(say) for n in (*of_recipe(ledger), *uncertain_faces(ledger, *sides))]
    return {"title": ledger.recipe.tables.title, "bars": bars, "warnings": warnings}


def _distinct_range(bar: int, row: Row, sides: tuple[Ledger | None, Ledger | None]) -> dict[str, Any]:
    """Distinct layers at half and twice the scale loss; null where single layers cannot be told apart or the bar is gone."""
    counts = [None if s is None else s.bars[bar].rows[row.number].measures.distinct for s in sides]
    return {"layers_distinct_range": None if None in counts else sorted(counts)}


def row_json(row: Row, units: str = "metric") -> dict[str, Any]:
    """One row in SI with the unit in every key; null where a figure has no meaning after this step."""
    bar, m = row.bar, row.measures
    return {
        "number": row.number,
        "do": row.do,
        "length_m": bar.length,
        "width_m": bar.width,
        "thickness_m": bar.thickness,
        "mass_kg": bar.mass,
        "layers_counted": bar.layers_counted,
        "layers_distinct": m.distinct,
        "mean_layer_m": m.mean_layer,
        "thinnest_layer_m": m.thinnest_layer,
        "layers_per_m": m.layers_per_m,
        "lines_per_m": m.lines_per_m,
        "carbon_wt_percent": m.carbon,
        "steel_shares": m.shares,
        "carbon_contrast": m.carbon_contrast,
        "alloy_contrast": m.alloy_contrast,
        "soft_skin_m": m.soft_skin,
        "half_carbon_m": m.half_carbon,
        "outer_bottom": m.outer_bottom,
        "outer_top": m.outer_top,
        "lost_kg": row.lost._asdict(),
        "added_kg": row.added,
        "warnings": [n.say(units) for n in row.notes],
    }
