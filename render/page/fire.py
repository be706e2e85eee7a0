"""The heat treatment as the page shows it: one card, what to mind, the hardness after each temper, the carbon through the bar."""

from __future__ import annotations

from typing import Any

import numpy as np

from billet.base.furnace import setting
from billet.base.safety import cautions
from billet.hardening import Advice, advise
from billet.hardening.bolster import bolster_advice
from billet.hardening.fire_card import fire_card
from billet.hardening.treatment import layers_of, question_of
from billet.ledger.carbon_report import report
from billet.ledger.rows import Ledger
from billet.metal.limits import Range
from billet.metal.quench import MEDIA
from billet.recipe.blade import blade_of

_POINTS = 400  # of the carbon chart
_ORDER = ("Normalise", "Anneal", "Harden", "Quench", "Straighten", "Temper", "Wanted")
_LIGHT = ("too little to matter", "is harmless", "no published row")
_CYCLES = 2  # of two hours, which the curve of hardness is drawn for


def fire_view(book: Ledger) -> dict[str, Any]:
    """The fire card and what belongs to it. Raises InputError for a recipe without a blade."""
    units, table = book.recipe.tables.units, book.recipe.tables.hardening
    question = question_of(book)
    advice = advise(layers_of(book), question)
    beside = bolster_advice(blade_of(book.recipe), advice.layers, question.bath, advice.heat_K)
    bath = "water" if MEDIA[table.quench.medium].water_based else "quench"
    return {
        "card": _in_order(fire_card(advice, table, units)),
        "mind": _gravest_first(
            [n.say(units) for n in (*(() if beside is None else beside.notes), *advice.risks, *advice.cautions)]
        ),
        "steps": {
            head: [n.say(units) for n in notes]
            for head, notes in (
                ("Into the quench", advice.pearlite),
                ("Straightening", advice.straightening),
                ("Tempering", advice.temper_steps),
                ("Without an instrument", advice.without_instrument),
                ("At the grinder", advice.at_the_grinder),
            )
            if notes
        },
        "layers": [
            [
                x.name,
                f"{100 * x.share:.0f} %",
                f"{x.carbon_wt_percent:.2f} %",
                _band(x.as_quenched_hrc) if x.hardens else x.reason,
            ]
            for x in advice.layers
        ],
        "tempers": _tempers(advice, units),
        "carbon": _carbon(book),
        "sources": [source.text for source in advice.sources],
        "cautions": cautions("fire", bath, "straightening", "grinder", units=units),
    }


def _in_order(card: list[tuple[str, str]]) -> list[list[str]]:
    """The lines of the card in the order the blade meets them."""
    named = {"Normalise" if name == "First" else name: text for name, text in card}
    if "Normalise" in named:
        named["Normalise"] = named["Normalise"].removeprefix("normalise ")
    return [[name, named[name]] for name in _ORDER if name in named]


def _gravest_first(said: list[str]) -> list[str]:
    """What is told only to say that it does not matter comes last."""
    return sorted((line[:1].upper() + line[1:] for line in said), key=lambda line: any(w in line for w in _LIGHT))


def _band(band: Range | None) -> str:
    return "not told" if band is None else f"{band.likely:.1f} ({band.low:.1f} to {band.high:.1f})"


def _tempers(advice: Advice, units: str) -> list[dict[str, Any]]:
    """Hardness after two cycles at each heat: one curve, as the chart on paper has it."""
    return [
        {"at": setting(row.temperature_K, units), "hrc": [row.hrc.low, row.hrc.likely, row.hrc.high]}
        for row in advice.temper.table
        if row.cycles == _CYCLES
    ]


def _carbon(book: Ledger) -> dict[str, Any]:
    """Carbon through the thickness, in the unit a smith measures it in."""
    found = report(book, None, None)
    units = book.recipe.tables.units
    size, unit = (25.4e-6, "thou") if units == "imperial" else (1e-3, "mm")
    every = max(1, len(found.height) // _POINTS)
    depth = (found.height - found.height[0]) / size
    return {
        "unit": unit,
        "depth": np.round(depth[::every], 3).tolist(),
        "carbon": np.round(found.carbon[::every], 4).tolist(),
        "mean": round(found.mean, 3),
        "words": [n.say(units) for n in found.notes],
    }
