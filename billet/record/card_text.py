"""The card of a stage in short lines, each a head and what it says."""

from __future__ import annotations

from billet.record.measures import label
from billet.record.next_card import Card
from billet.stages.derive import shown_sizes

_MOST_SIZES = 4
_MIND = 2  # warnings shown before all are asked for


def card_lines(card: Card, units: str, full: bool) -> list[tuple[str, str]]:
    """What to do, the heats, the gates, the sizes, the time and what to mind, in the recipe's units."""
    stage = card.stage
    sizes = [f"{label(name, units)} {amount.say(units)}" for name, amount in shown_sizes(stage)[:_MOST_SIZES]]
    mind = card.mind if full else card.mind[:_MIND]
    heat = "; ".join(one.say(units) for one in card.heats)
    forbidden = stage.do == "normalise" and stage.kind == "blade" and heat.startswith("Do not normalise")
    rows = [
        ("do", "leave it out" if forbidden else stage.what.say(units)),
        ("heat", heat),
        ("before", "; ".join(one.say(units) for one in stage.before)),
        ("expect", ", ".join(sizes)),
        ("after", "; ".join(one.say(units) for one in stage.after)),
        ("time", card.time.say(units) if card.time else ""),
        *(("mind", one.say(units)) for one in mind),
    ]
    return [(head, text) for head, text in rows if text]
