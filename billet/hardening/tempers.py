"""Hardness after tempering of the whole stack, a table of tempers, and the temper for a wanted hardness."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from billet.base.messages import Note, note
from billet.hardening.inputs import LayerInput
from billet.hardening.layers import over_layers
from billet.metal.constants import ZERO_CELSIUS
from billet.metal.limits import ROUNDING, Array, OutsideRange, Range, part
from billet.metal.sources import Source, sources_of
from billet.metal.tempering import (
    CAPPED_AT,
    CARBON_KNOWN_TO,
    COLDEST,
    HOTTEST,
    LEAN_CARBON,
    LEAST_CARBON,
    PLAIN_CHROMIUM,
    Cycle,
    tempered_from_rows,
    tempered_hrc,
    tempered_kin,
)
from billet.steel.library import find

#: Most of each element [wt%] that still counts as near enough to plain carbon steel for the temper fit; a judgement.
PLAIN = {"Mn": 1.0, "Si": 0.5, "Cr": 0.70, "Mo": 0.15, "V": 0.35, "W": 0.10, "Ni": 2.5, "Cu": 0.5, "Co": 0.5}
#: The same for what the fit was made on and measured against [wt%]: beyond it no published row stands behind a figure.
FITTED = {"Cr": PLAIN_CHROMIUM, "Ni": 0.5, "V": 0.10}
LEAN_STEEL = "5160"  # its rows stand at the lean end of the forecast
ROWS_CARBON = 0.10  # [wt%] how far a layer's carbon may have moved from its steel's for the published rows to serve
TABLE_HEATS = tuple(celsius + ZERO_CELSIUS for celsius in (175.0, 190.0, 205.0, 220.0, 235.0, 250.0, 260.0))  # [K]
TABLE_CYCLES = (1, 2, 3)
TABLE_TIME = 7200.0  # [s]
#: [K] Kept austenite turns between these; one source has it gone at 232 C, one at 260 to 316 C. The slower end is taken,
#: so that no forecast rises with the heat of the temper.
AUSTENITE_STAYS, AUSTENITE_GONE = 205.0 + ZERO_CELSIUS, 316.0 + ZERO_CELSIUS
OVEN_ERROR = 10.0  # [K]


@dataclass(frozen=True)
class TemperRow:
    """One line of the table: heat [K], cycles of two hours, hardness [HRC], and what an oven 10 K off makes of it
    [HRC].
    """

    temperature_K: float
    cycles: int
    hrc: Range
    oven_hrc: tuple[float, float] | None


@dataclass(frozen=True)
class TemperAdvice:
    """Tempering: hardness for the schedule asked, the table, and the temper for the hardness wanted; None with a
    reason.

    `told` names the layers that `asked` speaks of; `notes` says why it cannot speak of the others.
    """

    asked: Range | None
    told: tuple[str, ...]
    oven_hrc: tuple[float, float] | None
    table: tuple[TemperRow, ...]
    wanted: Cycle | None
    wanted_hrc: Range | None
    notes: tuple[Note, ...]
    sources: tuple[Source, ...]


def fits_plain(layer: LayerInput) -> bool:
    """Whether a layer is of the family the temper fit was made on."""
    chemistry = layer.chemistry
    return _holds_no_more(chemistry, PLAIN)


def _holds_no_more(chemistry: Array, limits: dict[str, float]) -> bool:
    return all(float(part(chemistry, element)) <= most * (1.0 + ROUNDING) for element, most in limits.items())


def layer_tempered(layer: LayerInput, cycles: Sequence[Cycle]) -> Range:
    """Hardness of one layer after a schedule [HRC]: the forecast for steel near plain carbon, else its steel's own rows,
    less what its hardening heat takes off; else OutsideRange.
    """
    if fits_plain(layer):
        band = tempered_kin(layer.carbon_wt_percent, float(part(layer.chemistry, "Cr")), cycles, _lean_rows())
    elif abs(layer.carbon_wt_percent - layer.steel.carbon) > ROWS_CARBON:
        raise OutsideRange(f"its carbon has moved from {layer.steel.carbon:.2f} to {layer.carbon_wt_percent:.2f} %")
    else:
        band = tempered_from_rows(_rows(layer), cycles, layer.steel.temper_either_way)
    less = _softer(layer, cycles)
    return Range(band.low - less, band.likely - less, band.high - less)


def _softer(layer: LayerInput, cycles: Sequence[Cycle]) -> float:
    """What the hardening heat takes off after this temper [HRC]; austenite that was kept turns from 205 to 316 C."""
    undissolved, austenite = layer.softer
    hottest = max((cycle.temperature_K for cycle in cycles), default=AUSTENITE_STAYS)
    return undissolved + austenite * float(np.interp(hottest, [AUSTENITE_STAYS, AUSTENITE_GONE], [1.0, 0.0]))


def _rows(layer: LayerInput) -> list[tuple[float, float]]:
    return [(row.temperature, row.hardness) for row in layer.steel.temper]


def _lean_rows() -> list[tuple[float, float]]:
    return [(row.temperature, row.hardness) for row in find(LEAN_STEEL).temper]


def tempered(layers: Sequence[LayerInput], cycles: Sequence[Cycle]) -> Range | None:
    """Hardness over the layers that can be told [HRC], likely weighted by share; None where none can."""
    told = _told(layers, cycles)
    return over_layers(told) if told else None


def _told(layers: Sequence[LayerInput], cycles: Sequence[Cycle]) -> list[tuple[float, Range]]:
    """Share and hardness of each layer that can be told; `shortfalls` says why the others cannot."""
    told = []
    for layer in layers:
        with suppress(OutsideRange):
            told.append((layer.share, layer_tempered(layer, cycles)))
    return told


def shortfalls(layers: Sequence[LayerInput], cycles: Sequence[Cycle]) -> list[Note]:
    """One note for each layer whose tempered hardness cannot be told, and one for each told from published rows."""
    notes = []
    for layer in layers:
        try:
            layer_tempered(layer, cycles)
        except OutsideRange as reason:
            text = "{layer}: hardness after this temper cannot be told, only as quenched: {why}."
            notes.append(note(text, layer=layer.name, why=str(reason)))
            continue
        notes += _how_it_was_told(layer)
    return notes


def _how_it_was_told(layer: LayerInput) -> list[Note]:
    """What a tempered hardness rests on where it is not the fit at the layer's own carbon."""
    if not fits_plain(layer):
        text = "{layer}: tempered hardness read from published rows ({source}), {width} HRC either way."
        width = f"{layer.steel.temper_either_way:g}"
        return [note(text, layer=layer.name, source=layer.steel.temper_source, width=width)]
    notes, carbon = [], layer.carbon_wt_percent
    if not _holds_no_more(layer.chemistry, FITTED):
        text = "{layer}: no published row of its tempered hardness was found; reckoned from plain carbon steel."
        notes.append(note(text, layer=layer.name))
    if LEAN_CARBON < carbon < LEAST_CARBON:
        text = "{layer}: at {carbon} % carbon its tempered hardness lies between two forecasts, 2 HRC either way."
        notes.append(note(text, layer=layer.name, carbon=f"{carbon:.2f}"))
    elif carbon <= LEAN_CARBON or carbon > CAPPED_AT + CARBON_KNOWN_TO:
        text = "{layer}: its carbon of {carbon} % is reckoned as {fitted} %, where the temper forecast ends."
        fitted = LEAN_CARBON if carbon <= LEAN_CARBON else CAPPED_AT
        notes.append(note(text, layer=layer.name, carbon=f"{carbon:.3f}", fitted=f"{fitted:.2f}"))
    return notes


def off_by(layers: Sequence[LayerInput], cycles: Sequence[Cycle], error_K: float) -> tuple[float, float] | None:
    """Likely hardness [HRC] with the oven this much [K] too hot and too cold; None where either cannot be told."""
    hot = tempered(layers, [Cycle(c.temperature_K + error_K, c.time_s) for c in cycles])
    cold = tempered(layers, [Cycle(c.temperature_K - error_K, c.time_s) for c in cycles])
    return None if hot is None or cold is None else (hot.likely, cold.likely)


def table(layers: Sequence[LayerInput]) -> tuple[TemperRow, ...]:
    """Tempers from 175 to 260 C, one to three times two hours, as far as they can be told."""
    rows = []
    for heat in TABLE_HEATS:
        for count in TABLE_CYCLES:
            cycles = [Cycle(heat, TABLE_TIME)] * count
            band = tempered(layers, cycles)
            if band is not None:
                rows.append(TemperRow(heat, count, band, off_by(layers, cycles, OVEN_ERROR)))
    return tuple(rows)


def temper_for(layers: Sequence[LayerInput], wanted_hrc: float, cycles: Sequence[Cycle]) -> Cycle:
    """The temper heat that gives a hardness [HRC] in the same number and length of cycles; `tempered` read backwards.

    Raises OutsideRange with the span that can be had.
    """
    told = _everywhere(layers, cycles)
    if not told:
        raise OutsideRange("no layer's tempered hardness can be told")
    coldest, softest = told[0][1], told[-1][1]
    if not softest <= wanted_hrc <= coldest:
        span = f"{softest:.1f} to {coldest:.1f} HRC"
        raise OutsideRange(f"{wanted_hrc:g} HRC lies outside the {span} that these tempers are likely to give")
    return Cycle(
        float(np.interp(-wanted_hrc, [-hrc for _, hrc in told], [heat for heat, _ in told])), cycles[-1].time_s
    )


def _everywhere(layers: Sequence[LayerInput], cycles: Sequence[Cycle]) -> list[tuple[float, float]]:
    """Heats [K], one kelvin apart, with the likely hardness [HRC], where as many layers as possible can be told."""
    bands: dict[float, list[tuple[float, Range]]] = {}
    for heat in np.linspace(COLDEST, HOTTEST, 116).tolist():
        bands[heat] = _told(layers, [Cycle(heat, cycle.time_s) for cycle in cycles])
    most = max(len(told) for told in bands.values())
    return [(heat, over_layers(told).likely) for heat, told in bands.items() if told and len(told) == most]


def temper_advice(layers: Sequence[LayerInput], cycles: Sequence[Cycle], wanted_hrc: float | None) -> TemperAdvice:
    """Everything about tempering for the layers that harden."""
    notes = shortfalls(layers, cycles)
    wanted, wanted_band = None, None
    if wanted_hrc is not None:
        try:
            wanted = temper_for(layers, wanted_hrc, cycles)
            wanted_band = tempered(layers, [Cycle(wanted.temperature_K, cycle.time_s) for cycle in cycles])
        except OutsideRange as reason:
            notes.append(note("No temper for the hardness wanted: {why}.", why=str(reason)))
    asked = tempered(layers, cycles)
    oven = None if asked is None else off_by(layers, cycles, OVEN_ERROR)
    short = {layer.name for layer in layers if not _told([layer], cycles)}
    told = tuple(dict.fromkeys(layer.name for layer in layers if layer.name not in short))
    return TemperAdvice(asked, told, oven, table(layers), wanted, wanted_band, tuple(notes), _sources(layers))


def _sources(layers: Sequence[LayerInput]) -> tuple[Source, ...]:
    """The references of the models that the layers use."""
    found: list[Source] = []
    for layer in layers:
        if fits_plain(layer):
            lean = layer.carbon_wt_percent < LEAST_CARBON
            found += [*sources_of(tempered_hrc), *(sources_of(tempered_from_rows) if lean else ())]
        elif layer.steel.temper:
            text = f"{layer.name}, hardness after tempering: {layer.steel.temper_source}"
            found += [*sources_of(tempered_from_rows), Source(f"temper-{layer.name}", text, "verified")]
    return tuple(dict.fromkeys(found))
