"""The heat treatment as one card: what to do at the fire, short enough to be read from two metres."""

from __future__ import annotations

from billet.base.furnace import at_most, given, setting, window
from billet.base.units import Kind, show
from billet.hardening.advice import Advice
from billet.hardening.advice_text import depth_words
from billet.metal.limits import Range
from billet.recipe.tables import Hardening


def fire_card(advice: Advice, table: Hardening, units: str) -> list[tuple[str, str]]:
    """What to do, in the order of the work: a name and what it says, in the recipe's units and the marks of a furnace's dial."""
    low, high = window(advice.window.low.temperature_K, advice.window.high.temperature_K, units)
    heat = "no heat suits every layer" if advice.window.empty else f"{low} to {high}"
    soak = advice.window.soak_s
    held = "" if soak is None else f", soak {' to '.join(dict.fromkeys(show(s, Kind.TIME, units) for s in soak))}"
    rows = [("Harden", f"{heat}{held}")]
    first = advice.normalising.text.say(units)
    rows.append(("First", first[0].lower() + first[1:].rstrip(".")))
    rows.append(("Quench", f"{table.quench.medium}: {_through(advice)}"))
    rows.append(("Straighten", _straighten(advice, units)))
    temper = table.temper
    if advice.temper.asked is None:
        rows.append(("Temper", "hardness cannot be told for these steels; reason with --full"))
    else:
        at = given(temper.temperature, units)
        cycles = f"{temper.cycles} x {show(temper.soak, Kind.TIME, units)} at {at}"
        rows.append(("Temper", f"{cycles}: {_band(advice.temper.asked)} HRC{of_which(advice)}"))
    if advice.temper.wanted is not None and advice.temper.wanted_hrc is not None:
        rows.append(
            ("Wanted", f"{setting(advice.temper.wanted.temperature_K, units)}: {_band(advice.temper.wanted_hrc)} HRC")
        )
    if advice.anneal_max is not None:
        rows.append(("Anneal", f"no hotter than {at_most(advice.anneal_max.temperature_K, units)}"))
    return rows


def _through(advice: Advice) -> str:
    """Whether the blade hardens through, and where it may not."""
    short = [p for p in advice.stations if p.through.worst != "full"]
    if not short:
        return "hardens through everywhere"
    deep = depth_words(short[0].through.worst, short[0].through.best)
    return f"{short[0].name.removeprefix('spine at the ')} hardens {deep}"


def _straighten(advice: Advice, units: str) -> str:
    """The window in which the blade still bends, as furnace figures."""
    window = advice.straighten
    return f"as it leaves the bath, {setting(window.from_K, units)} down to {setting(window.until_K, units)}"


def _band(band: Range) -> str:
    """A hardness and its range, in half points."""
    likely, low, high = (round(2 * v) / 2 for v in (band.likely, band.low, band.high))
    return f"{likely:g} ({low:g} to {high:g})"


def of_which(advice: Advice) -> str:
    """The layers a tempered hardness speaks of, where it does not speak of all."""
    hard = [x.name for x in advice.layers if x.hardens]
    told = advice.temper.told
    return "" if len(told) == len(set(hard)) else f", of {' and '.join(told)} only"
