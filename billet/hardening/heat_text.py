"""What is said of a hardening heat and a soak that the smith chose."""

from __future__ import annotations

from collections.abc import Sequence

from billet.base.messages import Amount, Note, given, hot, note, thin
from billet.base.units import Kind
from billet.hardening.layers import LayerAdvice
from billet.hardening.window import GOOD_TO, GRAIN_LIMIT, Window
from billet.metal.grain import hardening_grain

LITTLE_DISSOLVED = 0.62  # [wt%] carbon in solution below which a rich steel is not as hard as it could be


def lasting(seconds: float) -> Amount:
    """A time [s], to be printed in the recipe's units."""
    return Amount(float(seconds), Kind.TIME)


def heat_notes(
    window: Window, chosen_K: float | None, heat_K: float, soak_s: float, layers: Sequence[LayerAdvice]
) -> list[Note]:
    """What a chosen heat does that the window is there to avoid: coarse grain and much austenite, or too little
    dissolved.
    """
    if chosen_K is None:
        return []
    top = max(window.high.temperature_K, GRAIN_LIMIT)
    if chosen_K > top + GOOD_TO:
        grain = float(hardening_grain(heat_K, soak_s))
        usual = float(hardening_grain(min(window.high.temperature_K, GRAIN_LIMIT), window.usual_soak_s))
        text = (
            "{chosen} is too hot: grain grows to about {grain} instead of {usual} (a factor 2 either way), the edge turns "
            "brittle and the blade cracks and bends more readily. Harden at most from {top}; a blade that was this hot "
            "is normalised, or annealed where that is forbidden, before it is hardened again."
        )
        ends = {"chosen": given(chosen_K), "top": hot(window.high.temperature_K)}
        return [note(text, grain=thin(grain), usual=thin(usual), **ends)]
    left = [x for x in layers if x.hardens and (x.carbon_in_solution_wt_percent or 1.0) < LITTLE_DISSOLVED]
    text = (
        "{layer}: at {chosen} only about {carbon} % of its carbon dissolves, so it stays softer; coarse carbide from the "
        "mill can leave it far softer still: normalise first."
    )
    return [
        note(text, layer=x.name, chosen=given(chosen_K), carbon=f"{x.carbon_in_solution_wt_percent:.2f}")
        for x in left
        if x.carbon_wt_percent > LITTLE_DISSOLVED
    ]


def soak_notes(window: Window, soak_s: float | None) -> list[Note]:
    """A chosen soak far from what the sheets ask for."""
    if soak_s is None or window.soak_s is None:
        return []
    least, most = window.soak_s
    if soak_s < least:
        text = "The chosen soak of {soak} is shorter than the {least} the sheets ask for: less carbide dissolves."
        return [note(text, soak=lasting(soak_s), least=lasting(least))]
    if soak_s > 2.0 * most:
        text = (
            "The chosen soak of {soak} is far longer than the {most} the sheets ask for: more austenite stays, grain "
            "grows and the skin loses carbon."
        )
        return [note(text, soak=lasting(soak_s), most=lasting(most))]
    return []
