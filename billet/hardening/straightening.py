"""Straightening warm out of the quench: between what temperatures, for how long, and what the bath does meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from billet.base.messages import Amount, Note, dial, hot, note
from billet.base.units import Kind
from billet.hardening.inputs import QuenchBath, Station
from billet.hardening.layers import LayerAdvice
from billet.hardening.window import difference
from billet.metal.air_cooling import still_air_seconds
from billet.metal.martensite import MS_EITHER_WAY

ABOVE_MS = 25.0  # [K] the reach of the martensite start: above it nothing has hardened
BELOW_MS = 60.0  # [K] where about half is martensite: exp(-0.011 x 60) = 0.52 left (Koistinen and Marburger 1959)
HAND_WARM = 313.15  # [K] an overheated steel begins to harden so low that the window would end below the room
PAST_THE_NOSE = 673.15  # [K] 400 C: below it pearlite takes minutes rather than seconds (from memory)


@dataclass(frozen=True)
class Straightening:
    """When the blade may be bent: from and until [K] of the layer that hardens first, and how long that lasts in still
    air at the thinnest and the thickest station [s].
    """

    steel: str
    from_K: float
    until_K: float
    thinnest_s: float
    thickest_s: float


def straightening(layers: Sequence[LayerAdvice], stations: Sequence[Station]) -> Straightening:
    """The window of the layer with the highest martensite start, among layers that harden."""
    first = max((x for x in layers if x.ms_K is not None), key=lambda x: x.ms_K.likely if x.ms_K else 0.0)
    ms = first.ms_K.likely if first.ms_K is not None else 0.0
    above, until = ms + ABOVE_MS, max(ms - BELOW_MS, HAND_WARM)
    sizes = [place.thickness_m for place in stations]
    thin, thick = (still_air_seconds(t, above, until) for t in (min(sizes), max(sizes)))
    return Straightening(first.name, above, until, thin, thick)


def straightening_notes(window: Straightening, bath: QuenchBath) -> tuple[Note, ...]:
    """What to do between the quench and the temper, in order; the bath decides whether there is time at all."""
    return (*_in_this_bath(window, bath), *_hardened(window))


def _in_this_bath(window: Straightening, bath: QuenchBath) -> list[Note]:
    if bath.severity.water_based:
        text = (
            "In {bath} the blade falls through {above} to {until} within a second or two: do not try to straighten it "
            "there. Let it cool, temper at once, and straighten in the temper, clamped to a straight bar."
        )
        return [note(text, bath=bath.medium, above=dial(window.from_K), until=dial(window.until_K))]
    if "oil" in bath.medium:
        text = (
            "First straight into the oil, and leave it there until it is below about {nose}: lifted out sooner it turns "
            "to soft pearlite in the air."
        )
        return [note(text, nose=dial(PAST_THE_NOSE)), _bend(window, "leaves the oil"), _flare(window, bath)]
    return [_bend(window, "comes out of the plates" if bath.medium == "plates" else "cools")]


def _bend(window: Straightening, when: str) -> Note:
    """The window and how long it lasts."""
    text = (
        f"Straighten by hand, gloved, as the blade {when}, between about {{above}} and {{until}} ({{steel}}, within "
        "{within}): in still air that lasts about {thin} at the edge and {thick} at its thickest, between cold plates or "
        "back in the bath only a few seconds."
    )
    return note(
        text,
        above=dial(window.from_K),
        until=dial(window.until_K),
        steel=window.steel,
        within=difference(MS_EITHER_WAY),
        thin=_about(window.thinnest_s),
        thick=_about(window.thickest_s),
    )


def _about(seconds: float) -> Amount:
    """A time no finer than it is known: to 5 s under a minute, 15 s under four, else to the minute."""
    step = 5.0 if seconds < 60.0 else 15.0 if seconds < 240.0 else 60.0
    return Amount(max(step, step * round(seconds / step)), Kind.TIME)


def _flare(window: Straightening, bath: QuenchBath) -> Note:
    """Oil on a hot blade in the air."""
    act = "hold it away from face and sleeves, with the lid and an extinguisher at hand."
    if bath.flash_point_K is None:
        text = "Oil on a blade that is still above the oil's flash point can flare up as it leaves the bath: " + act
        return note(text)
    if bath.flash_point_K >= window.from_K:
        text = "Lifted out above the oil's flash point of {flash}, an oily blade can flare up: " + act
        return note(text, flash=hot(bath.flash_point_K))
    text = (
        "At {above} the blade is above the oil's flash point of {flash}, so the oil on it can flare up as it leaves the "
        "bath: " + act
    )
    return note(text, above=dial(window.from_K), flash=hot(bath.flash_point_K))


def _hardened(window: Straightening) -> list[Note]:
    return [
        note(
            "From there on it hardens as it cools; at about {until} half of it is martensite: stop there, temper, and "
            "straighten further in the temper.",
            until=dial(window.until_K),
        ),
        note("Hardened steel can snap: shield and gloves, never cold before the first temper."),
    ]
