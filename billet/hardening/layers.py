"""What each layer becomes in the quench: whether it hardens at all, from what temperature, how hard, how deep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from billet.base.errors import InputError
from billet.base.messages import Note, note
from billet.hardening.austenite import Quenched, as_its_sheet_says, quenched
from billet.hardening.inputs import LayerInput
from billet.hardening.window import Critical
from billet.metal import references as ref
from billet.metal.hardenability import high_carbon_correction, ideal_diameter, ideal_diameter_a255
from billet.metal.hardness import PEAK_AUSTENITE, austenite_softens
from billet.metal.limits import OutsideRange, Range, part
from billet.metal.pearlite_nose import pearlite_nose
from billet.metal.sources import Source, sources_of

LEAST_CARBON, MOST_CARBON = 0.30, 1.30  # [wt%] between which hardness can be told
STAINLESS_FROM = 5.0  # [wt%] chromium above which no formula here reaches


@dataclass(frozen=True)
class LayerAdvice:
    """One layer: critical temperatures [K], martensite start [K], retained austenite [-], hardness [HRC], ideal
    diameter [m], seconds until pearlite begins at its nose [s].

    Where `hardens` is False, `reason` says why and the values of the quench are None; a single None is explained in
    `notes`.
    """

    name: str
    share: float
    carbon_wt_percent: float
    hardens: bool
    reason: str
    ac1_K: Range | None
    ac3_K: Range | None
    acm_K: Range | None
    ms_K: Range | None
    nine_tenths_K: Range | None
    carbon_in_solution_wt_percent: float | None
    retained_austenite: Range | None
    as_quenched_hrc: Range | None
    ideal_diameter_m: Range | None
    pearlite_nose_s: Range | None
    notes: tuple[Note, ...]
    sources: tuple[Source, ...]


def why_not(layer: LayerInput) -> str:
    """Why a layer does not harden from the heat of a carbon steel; empty where it does.

    Raises InputError for more carbon than can be answered.
    """
    carbon, chemistry = layer.carbon_wt_percent, layer.chemistry
    if float(part(chemistry, "Cr")) > STAINLESS_FROM:
        own = (
            ""
            if layer.steel.harden is None
            else "; its own sheet asks for another heat and soak, which carbon steel does not bear"
        )
        return f"stainless: it does not harden with carbon steel{own}"
    if float(part(chemistry, "Ni")) > STAINLESS_FROM:
        return "so rich in nickel that it does not harden"
    if carbon > MOST_CARBON:
        raise InputError(
            f"harden: {layer.name} ends with {carbon:.2f} % carbon, above the {MOST_CARBON:g} % that can be answered; "
            "check the steel, or lower the carbon of the stack."
        )
    return f"only {carbon:.2f} % carbon, below 0.30 % it hardly hardens" if carbon < LEAST_CARBON else ""


def layer_advice(c: Critical, heat_K: float, soak_s: float) -> LayerAdvice:
    """The advice for one layer quenched from a heat [K] held for a soak [s]."""
    reason = why_not(c.layer)
    if reason:
        return _soft(c, reason)
    notes, used = list(c.notes), _Used()
    now = quenched(c.layer, heat_K, soak_s)
    used.rest_on(*now.sources)
    if now.why:
        text = "{layer}: all its carbon is taken as dissolved, because {why}."
        notes.append(note(text, layer=c.layer.name, why=now.why))
    return LayerAdvice(
        name=c.layer.name,
        share=c.layer.share,
        carbon_wt_percent=c.layer.carbon_wt_percent,
        hardens=True,
        reason="",
        ac1_K=c.ac1_K,
        ac3_K=c.ac3_K,
        acm_K=c.acm_K,
        ms_K=now.ms_K,
        nine_tenths_K=now.nine_tenths_K,
        carbon_in_solution_wt_percent=now.carbon,
        retained_austenite=now.left,
        as_quenched_hrc=_hardness(c.layer, now, used),
        ideal_diameter_m=_depth(c.layer, notes, used),
        pearlite_nose_s=_nose(c.layer, now, used),
        notes=tuple(notes),
        sources=tuple(dict.fromkeys((*c.sources, *used.sources))),
    )


class _Used:
    """Remembers whose references the results rest on."""

    def __init__(self) -> None:
        self.sources: tuple[Source, ...] = ()

    def rest_on(self, *sources: Source) -> None:
        """Remember these references, each once."""
        self.sources = tuple(dict.fromkeys((*self.sources, *sources)))


def _hardness(layer: LayerInput, now: Quenched, used: _Used) -> Range:
    """Hardness as quenched [HRC]; up to 0.70 %C by the standard's polynomial, beyond by measured steels."""
    used.rest_on(ref.ASTM_A255 if now.carbon <= 0.70 else ref.HOLLOMON_JAFFE_1945)
    if now.left.likely > PEAK_AUSTENITE:
        used.rest_on(*sources_of(austenite_softens))
    return as_its_sheet_says(layer, now)


def _nose(layer: LayerInput, now: Quenched, used: _Used) -> Range:
    """Seconds until pearlite begins at its nose, for the carbon in solution."""
    used.rest_on(*sources_of(pearlite_nose))
    return pearlite_nose(layer.chemistry, now.carbon)


def _depth(layer: LayerInput, notes: list[Note], used: _Used) -> Range | None:
    """The ideal diameter [m]; the measured heats near 1 %C count only where they correct it."""
    try:
        found = ideal_diameter(layer.chemistry, layer.certified)
    except OutsideRange as reason:
        notes.append(note("{layer}: how deep it hardens cannot be told: {why}.", layer=layer.name, why=str(reason)))
        return None
    corrected = float(high_carbon_correction(layer.carbon_wt_percent)) > 1.0
    used.rest_on(*sources_of(ideal_diameter_a255), *(sources_of(high_carbon_correction) if corrected else ()))
    return found


def _soft(c: Critical, reason: str) -> LayerAdvice:
    return LayerAdvice(
        c.layer.name, c.layer.share, c.layer.carbon_wt_percent, False, reason, c.ac1_K, c.ac3_K, c.acm_K,
        None, None, None, None, None, None, None, (), c.sources,
    )  # fmt: skip


def over_layers(bands: Sequence[tuple[float, Range]]) -> Range:
    """One band over layers, from (share, band) pairs: lowest low, likely weighted by share, highest high."""
    total = sum(share for share, _ in bands)
    likely = sum(share * band.likely for share, band in bands) / total
    return Range(min(band.low for _, band in bands), likely, max(band.high for _, band in bands))
