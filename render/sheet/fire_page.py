"""The fire card: the heat treatment on one page, to be read from two metres."""

from __future__ import annotations

from billet.base.safety import CAUTIONS, cautions
from billet.hardening import advise
from billet.hardening.fire_card import fire_card
from billet.hardening.treatment import layers_of, question_of
from billet.ledger.rows import Ledger
from billet.metal.colours import heat_colour
from billet.metal.limits import OutsideRange
from billet.metal.quench import MEDIA
from render.sheet.blocks import Block, Card, Cautions, Signs, Words

_OIL = "Oil flares: lid and extinguisher here"
_WATER = "Water: scalding steam, flying pieces"


def fire_page(book: Ledger, lesson: str = "") -> Card:
    """The card of the heat treatment. Raises InputError where nothing in the bar hardens."""
    tables = book.recipe.tables
    advice = advise(layers_of(book), question_of(book))
    rows = fire_card(advice, tables.hardening, tables.units)
    try:
        shade = heat_colour(advice.heat_K).name
    except OutsideRange:
        shade = ""
    rows.sort(key=lambda row: row[0] != "First")
    rows.append(("By eye", f"magnet lets go, then a shade brighter{shade and f': {shade}'}. Cold: a file skates"))
    water = MEDIA[tables.hardening.quench.medium].water_based
    rows.append(("Beware", f"{_WATER if water else _OIL}. Fumes: air, alarm on. Hard steel snaps: shield, gloves"))
    blocks: list[Block] = [Signs(tuple(rows))]
    if lesson:
        blocks.append(Words(f"Last time: {lesson}", "lesson"))
    blocks += [
        Words(one.say(tables.units), "small") for one in (advice.without_instrument[0], advice.straightening[-1])
    ]
    full = [CAUTIONS[topic] for topic in ("fire", "water" if water else "quench", "straightening")]
    blocks.append(Cautions((*full, cautions()[0], cautions()[-1])))
    return Card("fire", "Fire card", tuple(blocks), poster=True)
