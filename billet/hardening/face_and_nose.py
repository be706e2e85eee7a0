"""Two things the clock decides: how soon pearlite begins, and how deep a bare face turns to ferrite in the soak."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from billet.base.messages import Amount, Note, given, hot, note, thin
from billet.base.units import Kind
from billet.hardening.layers import LayerAdvice
from billet.metal.ferrite_rim import COOLEST_K, HOTTEST_K, ferrite_rim
from billet.metal.limits import Range

NOSE_K = 823.15  # [K] 550 C: where pearlite begins soonest in carbon steel
TO_GRIND = 0.2e-3  # [m] a side, ferrite and what lost part of its carbon beneath; judgement
_WHOLE_SECONDS = 5.0  # [s] from here on a nose is told in whole seconds
_FIVES = 10.0  # [s] from here on to the nearest five
_MINUTES = 120.0  # [s]


@dataclass(frozen=True)
class Rim:
    """Ferrite under a bare face after the soak: the layer in which it grows deepest, the soak [s] and the depth [m]."""

    layer: str
    soak_s: float
    depth_m: Range


def hardening_rim(layers: Sequence[LayerAdvice], heat_K: float, soak_s: float) -> Rim | None:
    """The deepest rim over layers that harden; None at heats where no ferrite grows."""
    if not COOLEST_K <= heat_K < HOTTEST_K or not layers:
        return None
    rims = [Rim(x.name, soak_s, ferrite_rim(heat_K, soak_s, x.carbon_wt_percent)) for x in layers]
    return max(rims, key=lambda rim: rim.depth_m.high)


def rim_notes(rim: Rim | None, heat_K: float) -> list[Note]:
    """What to leave for grinding after the soak."""
    if rim is None or rim.depth_m.high <= 0.0:
        return []
    text = (
        "A soak of {soak} at {heat} bare in the air turns a face of {layer} to soft ferrite {low} to {high} deep, with more "
        "beneath that lost part of its carbon: leave {leave} a side to grind off after hardening, or coat the blade."
    )
    depth = rim.depth_m
    return [
        note(
            text,
            soak=Amount(rim.soak_s, Kind.TIME),
            heat=given(heat_K),
            layer=rim.layer,
            low=thin(depth.low),
            high=thin(depth.high),
            leave=thin(TO_GRIND),
        )
    ]


def nose_notes(layers: Sequence[LayerAdvice]) -> tuple[Note, ...]:
    """How soon each layer must be below the nose; two laws that disagree, so the band is wide."""
    told = [f"{x.name} {nose_in_words(x.pearlite_nose_s)}" for x in layers if x.pearlite_nose_s is not None]
    if not told:
        return ()
    text = "Be below {nose} before pearlite begins: {layers} (two published laws, grain 6 to 8)."
    return (note(text, nose=hot(NOSE_K), layers="; ".join(dict.fromkeys(told))),)


def nose_in_words(band: Range) -> str:
    """A band of seconds no finer than it is known: "0.4 to 1.6 s", "1 to 15 s", "2 to 19 min"."""
    if band.low >= _MINUTES:
        return f"{band.low / 60:.0f} to {band.high / 60:.0f} min"
    if band.high < _WHOLE_SECONDS:
        return f"{band.low:.1f} to {band.high:.1f} s"
    low, high = (v if v < _FIVES else 5.0 * round(v / 5.0) for v in (max(band.low, 1.0), band.high))
    return f"{low:.0f} to {high:.0f} s"
