"""What the numbers do not say: risks of the stack, the quench, the order of work, and judging heat without an
instrument.

Every sentence is a note whose amounts are printed in the recipe's units at the door.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from billet.base.messages import Amount, Note, given, hot, note, thin
from billet.hardening.inputs import QuenchBath
from billet.hardening.layers import LayerAdvice
from billet.hardening.sections import StationAdvice
from billet.hardening.window import GOOD_TO, Window, difference
from billet.metal.colours import AT_THE_GRINDER, BEYOND_COLOUR, HEAT_COLOUR_EITHER_WAY, heat_colour
from billet.metal.grain import austenite_grain
from billet.metal.misfit import misfit
from billet.metal.quench import Grade, bath_rise
from billet.metal.tempering import Cycle

FLASH_MARGIN = 28.0  # [K] a quench oil stays this far below its flash point
BENIGN_MS_SPREAD, STEEP_MS_SPREAD = 35.0, 60.0  # [K] judgement
EDGE_CARBON = 0.60  # [wt%] below it an edge is poor
MUCH_AUSTENITE = 0.15
SHALLOW_FULL_LIMIT = 2.0e-3  # [m] a layer hardening fully to less than this is called shallow hardening


def layer_risks(layers: Sequence[LayerAdvice], austenitic: Collection[str] = ()) -> list[Note]:
    """Layers that do not harden beside layers that do, carbon too low for an edge, martensite starts far apart.

    `austenitic` names the layers that stay austenite cold: nickel and 18-8 stainless.
    """
    notes = []
    hardening = [layer for layer in layers if layer.hardens]
    for layer in layers:
        if not layer.hardens:
            notes.append(_soft_beside_hard(layer, hardening, layer.name in austenitic))
        elif layer.carbon_wt_percent < EDGE_CARBON:
            text = "{layer} ends with {carbon} % carbon: under 0.60 % makes a poor edge."
            notes.append(note(text, layer=layer.name, carbon=f"{layer.carbon_wt_percent:.2f}"))
    return notes + _spread(hardening)


def _soft_beside_hard(layer: LayerAdvice, hardening: Sequence[LayerAdvice], austenitic: bool) -> Note:
    """A layer that stays soft: how much the hard ones outgrow it, and what follows."""
    misfits = [
        misfit(
            x.carbon_in_solution_wt_percent or 0.0, 0.0 if x.retained_austenite is None else x.retained_austenite.low
        )
        for x in hardening
    ]
    grows = (
        "It shrinks as it cools and the hardening layers grow: they pull far past its yield, how far is not known"
        if austenitic or not misfits
        else "The hardening layers end {low} to {high} % longer than it, as measured on hardened tool steel"
    )
    text = (
        f"{{layer}} does not harden ({{why}}): keep it out of the edge. {grows}; keep the stack even on both sides, quench "
        "in oil, never in water, and temper at once, else it warps or tears at the edge. "
        "The others are reckoned with the carbon they have left."
    )
    amounts = {} if austenitic or not misfits else {
        "low": f"{100 * min(m.low for m in misfits):.2f}", "high": f"{100 * max(m.high for m in misfits):.2f}"
    }  # fmt: skip
    return note(text, layer=layer.name, why=layer.reason, **amounts)


def _spread(hardening: Sequence[LayerAdvice]) -> list[Note]:
    starts = {layer.name: layer.ms_K.likely for layer in hardening if layer.ms_K is not None}
    if len(starts) < 2:
        return []
    first, last = max(starts, key=starts.__getitem__), min(starts, key=starts.__getitem__)
    spread = starts[first] - starts[last]
    if spread <= BENIGN_MS_SPREAD:
        text = "{first} hardens from {spread} hotter than {last}; too little to matter (our judgement)."
    elif spread < STEEP_MS_SPREAD:
        text = "{first} hardens from {spread} hotter than {last}: temper promptly (our judgement)."
    else:
        text = (
            "{first} begins to harden {spread} above {last}: the layers pull on each other, so quench in "
            "the slower oil "
            "that still hardens, never in water, and temper at once (judgement)."
        )
    return [note(text, first=first, last=last, spread=difference(spread))]


def austenite_notes(layers: Sequence[LayerAdvice]) -> list[Note]:
    """Layers that keep much austenite at the heat given."""
    text = (
        "{layer} keeps about {share} % austenite: harden at the low end of the window; below {heat} a temper leaves it."
    )
    return [
        note(text, layer=layer.name, share=f"{100 * layer.retained_austenite.likely:.0f}", heat=given(478.15))
        for layer in layers
        if layer.retained_austenite is not None and layer.retained_austenite.likely > MUCH_AUSTENITE
    ]


def grain_notes(last: Cycle | None) -> list[Note]:
    """How coarse the last welding or forging heat may have left the austenite; nothing where there was none."""
    if last is None:
        return []
    size = float(austenite_grain(last.temperature_K, last.time_s))
    text = (
        "The last heat of {heat} may have left austenite grains of {low} to {high} (advisory, a factor 2 either way; "
        "forging refines them): normalise, or anneal where that is forbidden, before hardening."
    )
    return [note(text, heat=hot(last.temperature_K), low=thin(0.5 * size), high=thin(2.0 * size))]


def depth_words(worst: Grade, best: Grade) -> str:
    """How deep a section hardens, at the worst and at the best, in a smith's words."""
    return " to ".join(dict.fromkeys((_DEEP[worst], _DEEP[best])))


_DEEP: dict[Grade, str] = {"full": "wholly", "mixed": "partly", "shallow": "skin deep"}


def section_notes(places: Sequence[StationAdvice], certified: bool, untold: Sequence[str] = ()) -> list[Note]:
    """What the grades mean: a shallow layer, a core that is mixed, a spine that may stay so; and the layers of which
    the depth is `untold`.
    """
    if not places:
        return [note("How far the blade hardens through cannot be told for these steels in this quench.")]
    lean, limit = places[0].leanest, places[0].full_to_m
    left_out = " and ".join(dict.fromkeys(untold))
    notes = [note("The depths leave out {layers}, of which none can be told.", layers=left_out)] if left_out else []
    if limit.low < SHALLOW_FULL_LIMIT:
        text = "{layer} is shallow hardening in this quench: full hardness only to {low} to {high}."
        notes.append(note(text, layer=lean, low=thin(limit.low), high=thin(limit.high)))
    for place in places:
        if place.through.worst != "full":
            text = (
                "{name} ({thickness}): hardens {grade}, set by its least hardenable layer, {layer}; the forecast hardness "
                "is for steel hard through."
            )
            notes.append(
                note(
                    text,
                    name=place.name,
                    thickness=thin(place.thickness_m),
                    grade=depth_words(place.through.worst, place.through.best),
                    layer=place.leanest,
                )
            )
    worst = {place.through.worst for place in places}
    if min(places, key=lambda place: place.thickness_m).through.worst == "full" and worst != {"full"}:
        notes.append(note("A spine that is not hard through is harmless on a kitchen knife as long as the edge is."))
    if not certified and any(place.through.worst != "full" for place in places):
        notes.append(
            note("How deep it hardens depends on traces of Cr, Ni, Mo and Cu: a mill certificate narrows this.")
        )
    return notes


def quench_notes(bath: QuenchBath, heat_K: float) -> list[Note]:
    """Flash point, temperature and volume of the bath, and water on a high-carbon blade."""
    if bath.severity.water_based:
        return [
            note(
                "Water and brine crack thin high-carbon blades and tear clad ones: take the slowest bath that still hardens."
            )
        ]
    if "oil" not in bath.medium:
        return [note("This quench is slow: only deep-hardening steels harden in it.")]
    margin = difference(FLASH_MARGIN)
    notes = [
        note(
            "Keep the oil at least {margin} below its flash point all through, deeper than the blade, lid at hand.",
            margin=margin,
        )
    ]
    if bath.flash_point_K is None:
        notes.append(note("The oil's flash point is not given: read it on its data sheet before heating the oil."))
    if bath.temperature_K is None or bath.volume_m3 is None:
        notes.append(
            note("Write down the oil, its temperature and its volume: the forecast assumes a warm, roomy, moved bath.")
        )
    hottest = _hottest(bath, heat_K)
    if bath.flash_point_K is not None and hottest is not None and hottest > bath.flash_point_K - FLASH_MARGIN:
        text = (
            "The oil reaches about {hottest}, less than {margin} below its flash point of {flash}: cooler "
            "oil, or more of it."
        )
        notes.append(note(text, hottest=hot(hottest), margin=margin, flash=hot(bath.flash_point_K)))
    return notes


def _hottest(bath: QuenchBath, heat_K: float) -> float | None:
    """The bath's temperature after one blade [K]; its starting temperature where mass or volume is not known."""
    if bath.temperature_K is None or bath.volume_m3 is None or bath.blade_kg is None:
        return bath.temperature_K
    return bath.temperature_K + bath_rise(bath.blade_kg, heat_K, bath.volume_m3, bath.temperature_K)


_NARROW = (
    "Such heats are good to no better than that: hold it in the middle, with a thermometer, and break a trial piece."
)
_APART = "Change one of the two, or harden for the one at the edge and expect less of the other."


def window_notes(window: Window, chosen_K: float | None) -> list[Note]:
    """An empty window with the layers that cause it, or one narrower than heats can be held; a chosen heat outside it."""
    low, high = window.low, window.high
    notes, gap = [], low.temperature_K - high.temperature_K
    if gap > -GOOD_TO:
        why_low, low_amounts = _renamed(low.rule, "low_")
        why_high, high_amounts = _renamed(high.rule, "high_")
        shared = "No shared hardening heat" if window.empty else "Hardly any room between the layers' hardening heats"
        text = f"{shared}: {{a}} wants at least {{low}} ({why_low}), {{b}} at most {{high}} ({why_high}). " + (
            ("They miss by less than such heats are good to: hold half-way." if gap > 0.0 else _NARROW)
            if gap <= GOOD_TO
            else _APART
        )
        ends = {"low": hot(low.temperature_K), "high": hot(high.temperature_K)}
        notes.append(note(text, a=low.layer, b=high.layer, **ends, **low_amounts, **high_amounts))
    if not window.empty and chosen_K is not None and not low.temperature_K <= chosen_K <= high.temperature_K:
        text = "The chosen heat of {chosen} lies outside the window of {low} to {high}."
        notes.append(note(text, chosen=given(chosen_K), low=hot(low.temperature_K), high=hot(high.temperature_K)))
    return notes


def _renamed(rule: Note, prefix: str) -> tuple[str, dict[str, Amount | str | int]]:
    """A note's text and amounts with every place renamed, to stand inside another note."""
    return rule.text.replace("{", "{" + prefix), {prefix + name: amount for name, amount in rule.amounts}


def without_instrument(heat_K: float) -> tuple[Note, ...]:
    """Magnet, shade and file, and what each of them cannot tell (common practice, no source, but for the colour)."""
    colour = heat_colour(heat_K)
    return (
        note(
            "Magnet: it lets go between about {low} and {high}, still {less} to {more} below the "
            "hardening heat; go one shade "
            "brighter. It cannot tell how much further you are, and nickel and stainless layers mislead it.",
            low=given(998.15), high=given(1043.15), less=difference(30.0), more=difference(60.0),
        ),
        note(
            "Shade: the hardening heat is near {colour} in dim light, good to {error} either way; in "
            "daylight steel is hotter "
            "than it looks. It cannot tell a soak from a flash of heat.",
            colour=colour.name, error=difference(HEAT_COLOUR_EITHER_WAY),
        ),
        note(
            "File: a file that skates proves a hard skin and no more. A soft skin may only be carbon "
            "lost, so grind a little and "
            "try again; it cannot tell the hardness within five points, nor what is inside."
        ),
        note(
            "Temper colour: a film that grows with hours too; two hours near {heat} show faint straw or "
            "nothing, so it does not "
            "control a long temper. Use an oven and a thermometer beside the blade.",
            heat=given(468.15),
        ),
    )  # fmt: skip


def temper_steps() -> tuple[Note, ...]:
    """The order of work from the quench to the second temper."""
    return (
        note("Cool to room temperature right through, then temper within the hour."),
        note("Cool to room temperature again between the tempers."),
        note(
            "The second temper is for what turned to martensite as the blade cooled from the first; it "
            "adds little softness."
        ),
        note("Below {heat} most of the retained austenite stays.", heat=given(478.15)),
    )


def at_the_grinder() -> tuple[Note, ...]:
    """What a colour at the grinder asks for; no hardness is computed from it."""
    return tuple(note(line, beyond=thin(BEYOND_COLOUR)) for line in AT_THE_GRINDER)
