"""The advice as the plain keys that other tools read: SI with the unit in the key, ranges as lists."""

from __future__ import annotations

from typing import Any

from billet.base.messages import Note
from billet.hardening.advice import Advice
from billet.hardening.layers import LayerAdvice
from billet.hardening.sections import StationAdvice
from billet.hardening.tempers import TemperAdvice
from billet.metal.limits import Range


def spread(band: Range | None) -> list[float] | None:
    """A range as [low, likely, high]."""
    return None if band is None else [band.low, band.likely, band.high]


def keys(advice: Advice, units: str = "metric") -> dict[str, Any]:
    """The keys of the hardening advice; sentences in the given units ("metric" or "imperial"), numbers always SI.

    `harden_K` is None where the layers share no heat; the first caution then names them.
    """

    def said(notes: tuple[Note, ...]) -> list[str]:
        return [n.say(units) for n in notes]

    window = advice.window
    return {
        "layers": [_layer(layer) for layer in advice.layers],
        "harden_K": None if window.empty else [window.low.temperature_K, window.high.temperature_K],
        "soak_s": None if window.soak_s is None else list(window.soak_s),
        "reckoned_at_K": advice.heat_K,
        "reckoned_soak_s": advice.soak_s,
        "grain_m": spread(advice.grain_m),
        "anneal_max_K": None if advice.anneal_max is None else advice.anneal_max.temperature_K,
        "normalise_K": list(advice.normalising.heats_K),
        "normalise": advice.normalising.text.say(units),
        "as_quenched_hrc": [advice.as_quenched_hrc.low, advice.as_quenched_hrc.high],
        "retained_austenite": spread(advice.retained_austenite),
        **_temper(advice.temper),
        "through_hardening": advice.through_hardening,
        "stations": [_station(place) for place in advice.stations],
        "straighten_K": [advice.straighten.from_K, advice.straighten.until_K],
        "straighten_s": [advice.straighten.thinnest_s, advice.straighten.thickest_s],
        "pearlite": said(advice.pearlite),
        "bare_ferrite_m": None if advice.rim is None else spread(advice.rim.depth_m),
        "straightening": said(advice.straightening),
        "temper_steps": said(advice.temper_steps),
        "without_instrument": said(advice.without_instrument),
        "at_the_grinder": said(advice.at_the_grinder),
        "risks": said(advice.risks),
        "cautions": said(advice.cautions),
        "sources": [f"{source.text} ({source.status})" for source in advice.sources],
    }


def _layer(layer: LayerAdvice) -> dict[str, Any]:
    return {
        "steel": layer.name,
        "share": layer.share,
        "carbon_wt_percent": layer.carbon_wt_percent,
        "hardens": layer.hardens,
        "reason": layer.reason,
        "ac1_K": spread(layer.ac1_K),
        "ac3_K": spread(layer.ac3_K),
        "acm_K": spread(layer.acm_K),
        "ms_K": spread(layer.ms_K),
        "nine_tenths_martensite_K": spread(layer.nine_tenths_K),
        "carbon_in_solution_wt_percent": layer.carbon_in_solution_wt_percent,
        "retained_austenite": spread(layer.retained_austenite),
        "as_quenched_hrc": spread(layer.as_quenched_hrc),
        "ideal_diameter_m": spread(layer.ideal_diameter_m),
        "pearlite_nose_s": spread(layer.pearlite_nose_s),
    }


def _station(place: StationAdvice) -> dict[str, Any]:
    return {
        "name": place.name,
        "thickness_m": place.thickness_m,
        "through": [place.through.worst, place.through.likely, place.through.best],
        "leanest": place.leanest,
        "full_to_m": spread(place.full_to_m),
    }


def _temper(temper: TemperAdvice) -> dict[str, Any]:
    rows = [
        {
            "temperature_K": row.temperature_K,
            "cycles": row.cycles,
            "hrc": spread(row.hrc),
            "oven_hrc": None if row.oven_hrc is None else list(row.oven_hrc),
        }
        for row in temper.table
    ]
    return {
        "tempered_hrc": spread(temper.asked),
        "tempered_layers": list(temper.told),
        "oven_hrc": None if temper.oven_hrc is None else list(temper.oven_hrc),
        "temper_table": rows,
        "temper_for_wanted_K": None if temper.wanted is None else temper.wanted.temperature_K,
        "temper_for_wanted_hrc": spread(temper.wanted_hrc),
    }
