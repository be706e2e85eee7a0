"""The whole heat treatment of a finished laminate: one pure function from layers and a question to the advice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from billet.base.errors import InputError
from billet.base.messages import Note, hot, note
from billet.hardening import advice_text
from billet.hardening.austenite import quenched, softer
from billet.hardening.face_and_nose import Rim, hardening_rim, nose_notes, rim_notes
from billet.hardening.heat_text import heat_notes, soak_notes
from billet.hardening.inputs import LayerInput, Question
from billet.hardening.layers import LayerAdvice, layer_advice, over_layers, why_not
from billet.hardening.sections import StationAdvice, leanest, overall, section_sources, stations
from billet.hardening.straightening import Straightening, straightening, straightening_notes
from billet.hardening.tempers import TemperAdvice, temper_advice
from billet.hardening.window import (
    Critical,
    Limit,
    Normalising,
    Window,
    anneal_ceiling,
    critical,
    hardening_window,
    normalising,
)
from billet.metal.air_cooling import still_air_seconds
from billet.metal.colours import heat_colour
from billet.metal.ferrite_rim import ferrite_rim
from billet.metal.grain import austenite_grain, hardening_grain
from billet.metal.limits import ELEMENTS, Range
from billet.metal.misfit import misfit
from billet.metal.quench import Grade, bath_rise
from billet.metal.sources import Source, sources_of

_NICKEL = ELEMENTS.index("Ni")
AUSTENITIC_FROM = 5.0  # [wt%] nickel from which on a layer counts as austenite even cold: 18-8 stainless, nickel
HOTTEST_HEAT = 1273.15  # [K] above it no carbon steel is hardened, and no formula here was fitted


@dataclass(frozen=True)
class Advice:
    """Heat treatment of one laminate, SI; every estimate is a range, every sentence a note to be said in the recipe's
    units.

    `heat_K` and `soak_s` are what the figures are reckoned for, `grain_m` [m] is what they leave of the austenite's
    grain. `through_hardening` is the worst end of the worst station, None where it cannot be told. `straighten`
    is the window of the layer that hardens first, `straightening` what to do in it. `pearlite` says how soon to be below
    the nose, `rim` how deep a bare face turns to ferrite in the soak.
    """

    layers: tuple[LayerAdvice, ...]
    window: Window
    heat_K: float
    soak_s: float
    grain_m: Range
    anneal_max: Limit | None
    normalising: Normalising
    as_quenched_hrc: Range
    retained_austenite: Range
    temper: TemperAdvice
    stations: tuple[StationAdvice, ...]
    through_hardening: Grade | None
    straighten: Straightening
    straightening: tuple[Note, ...]
    pearlite: tuple[Note, ...]
    rim: Rim | None
    temper_steps: tuple[Note, ...]
    without_instrument: tuple[Note, ...]
    at_the_grinder: tuple[Note, ...]
    risks: tuple[Note, ...]
    cautions: tuple[Note, ...]
    sources: tuple[Source, ...]


def advise(layers: Sequence[LayerInput], question: Question) -> Advice:
    """Advise the heat treatment of a laminate made of these steels, each with its share and the carbon it ends with.

    Critical temperatures, martensite, hardness and depth are worked out per layer and then brought together: the
    anneal by the lowest Ac1, the hardening heat by the overlap, the depth by the leanest layer, hardness over all
    that harden. Raises InputError where nothing in the stack hardens, or a layer's carbon is beyond what can be
    answered.
    """
    criticals = [critical(layer) for layer in layers]
    hard = _hardening(layers, criticals)
    window = hardening_window(hard)
    heat = question.heat_K if question.heat_K is not None else window.heat_K
    _check_heat(heat, hard)
    soak = question.soak_s if question.soak_s is not None else window.usual_soak_s
    grown = float(hardening_grain(heat, soak))
    advised = tuple(layer_advice(c, heat, soak) for c in criticals)
    hardened = [layer for layer in advised if layer.hardens]
    temper = temper_advice([_as_hardened(c.layer, heat, soak) for c in hard], question.tempers, question.wanted_hrc)
    places = stations(hardened, question.stations, question.bath)
    bend = straightening(hardened, question.stations)
    rim = hardening_rim(hardened, heat, soak)
    return Advice(
        layers=advised,
        window=window,
        heat_K=heat,
        soak_s=soak,
        grain_m=Range(0.5 * grown, grown, 2.0 * grown),
        anneal_max=anneal_ceiling(criticals),
        normalising=normalising(criticals, hard),
        as_quenched_hrc=over_layers([(x.share, x.as_quenched_hrc) for x in hardened if x.as_quenched_hrc is not None]),
        retained_austenite=over_layers(
            [(x.share, x.retained_austenite) for x in hardened if x.retained_austenite is not None]
        ),
        temper=temper,
        stations=places,
        through_hardening=overall(places),
        straighten=bend,
        pearlite=nose_notes(hardened),
        rim=rim,
        straightening=straightening_notes(bend, question.bath),
        temper_steps=advice_text.temper_steps(),
        without_instrument=advice_text.without_instrument(window.heat_K),
        at_the_grinder=advice_text.at_the_grinder(),
        risks=tuple(advice_text.layer_risks(advised, _austenitic(layers))),
        cautions=_cautions(layers, advised, window, places, temper, question, heat, soak, rim),
        sources=_sources(advised, window, places, temper, question, _austenitic(layers), rim),
    )


def _austenitic(layers: Sequence[LayerInput]) -> frozenset[str]:
    """The layers that stay austenite even cold."""
    return frozenset(x.name for x in layers if x.chemistry[_NICKEL] > AUSTENITIC_FROM)


def _as_hardened(layer: LayerInput, heat_K: float, soak_s: float) -> LayerInput:
    """The layer with what this heat and soak take off its hardness."""
    return replace(layer, softer=softer(layer, quenched(layer, heat_K, soak_s)))


def _hardening(layers: Sequence[LayerInput], criticals: Sequence[Critical]) -> list[Critical]:
    """The layers that harden; raises InputError without any, with the reason of each."""
    reasons = [why_not(layer) for layer in layers]
    if not reasons or all(reasons):
        each = "; ".join(f"{layer.name}: {why}" for layer, why in zip(layers, reasons, strict=True))
        raise InputError(
            f"harden: nothing in this stack hardens ({each or 'it has no layers'}); "
            "put a steel of 0.60 % carbon or more where the edge will be."
        )
    return [c for c, why in zip(criticals, reasons, strict=True) if not why]


def _check_heat(heat_K: float, hard: Sequence[Critical]) -> None:
    """Refuse (InputError) a chosen heat at which a hardening layer is not even austenite, or beyond all that is known."""
    starts = {c.layer.name: c.ac1_K.likely for c in hard if c.ac1_K is not None}
    last = max(starts, key=starts.__getitem__, default="")
    least = starts.get(last, 0.0)
    if least < heat_K <= HOTTEST_HEAT:
        return
    why = (
        f"{last} does not harden at all: its austenite only begins near {_both(least)}"
        if heat_K <= least
        else f"carbon steel is ruined by coarse grain; at most {_both(HOTTEST_HEAT)} is answered"
    )
    raise InputError(f"harden: [hardening] heat: at {_both(heat_K)} {why}; leave the heat out to be told the window.")


def _both(heat_K: float) -> str:
    """A temperature [K] in either unit."""
    return f"{hot(heat_K).say('metric')} ({hot(heat_K).say('imperial')})"


def _cautions(
    layers: Sequence[LayerInput],
    advised: Sequence[LayerAdvice],
    window: Window,
    places: Sequence[StationAdvice],
    temper: TemperAdvice,
    question: Question,
    heat_K: float,
    soak_s: float,
    rim: Rim | None,
) -> tuple[Note, ...]:
    """Everything the numbers need beside them, most pressing first, each sentence once."""
    lean = leanest([layer for layer in advised if layer.hardens])
    certified = any(layer.certified for layer in layers if lean is not None and layer.name == lean.name)
    notes = [
        *advice_text.window_notes(window, question.heat_K),
        *heat_notes(window, question.heat_K, heat_K, soak_s, advised),
        *soak_notes(window, question.soak_s),
        *advice_text.section_notes(
            places, certified, [x.name for x in advised if x.hardens and x.ideal_diameter_m is None]
        ),
        *advice_text.austenite_notes(advised),
        *rim_notes(rim, heat_K),
        *advice_text.grain_notes(question.last_heat),
        *temper.notes,
        *(n for layer in advised for n in layer.notes),
        *advice_text.quench_notes(question.bath, heat_K),
        *(
            note("{layer}: {caution}", layer=layer.name, caution=text)
            for layer in layers
            for text in layer.steel.cautions
        ),
        note(
            "Hardness is for a fully hardened edge ground past any skin that lost carbon; an oven at home swings more."
        ),
        note("Trial pieces decide, and the steel makers' data sheets come first."),
    ]
    return tuple(dict.fromkeys(notes))


def _sources(
    advised: Sequence[LayerAdvice],
    window: Window,
    places: Sequence[StationAdvice],
    temper: TemperAdvice,
    question: Question,
    austenitic: frozenset[str],
    rim: Rim | None,
) -> tuple[Source, ...]:
    """The references of exactly the formulas that gave these numbers, each once."""
    bath = question.bath
    found = [s for layer in advised for s in layer.sources] + [*window.sources, *temper.sources]
    found += [*section_sources()] if places else []
    found += sources_of(still_air_seconds)
    found += sources_of(ferrite_rim) if rim is not None else ()
    soft = {layer.name for layer in advised if not layer.hardens} - austenitic
    found += sources_of(misfit) if soft else ()
    found += sources_of(austenite_grain) if question.last_heat is not None else ()
    found += sources_of(hardening_grain)
    found += sources_of(bath_rise) if None not in (bath.temperature_K, bath.volume_m3, bath.blade_kg) else ()
    return tuple(dict.fromkeys((*found, *sources_of(heat_colour))))
