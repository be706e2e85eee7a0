"""The heats before the quench: what each layer asks for, and the overlap that the whole stack can share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from billet.base.messages import Amount, Note, dial, note
from billet.base.units import Kind
from billet.hardening.inputs import LayerInput
from billet.metal import references as ref
from billet.metal.critical_temperatures import ac1, ac3, acm
from billet.metal.limits import OutsideRange, Range
from billet.metal.sources import Source, Status, sources_of

ABOVE_AC1 = 50.0  # [K]
ABOVE_AC3 = 30.0  # [K]
ABOVE_ACM = 40.0  # [K]
BELOW_AC1 = 25.0  # [K] for the sub-critical anneal
USUAL_ANNEAL = 675.0 + 273.15  # [K] top of the usual sub-critical anneal (from memory)
GRAIN_LIMIT = 845.0 + 273.15  # [K] above it plain carbon steel coarsens (from memory)
CEMENTITE_LIMITS_FROM = 0.85  # [wt%] carbon above which undissolved cementite sets the ceiling
BAR_TOLERANCE = 0.05  # [wt%] carbon within which a layer is still the steel of its sheet (half a grade's usual range)
SHEET_ENDS = 0.20  # [wt%] moved from which on its sheet says nothing any more; judgement
GOOD_TO = 10.0  # [K] how well the heats of a sheet are known
USUAL_SOAK = 600.0  # [s]
NORMALISE_STEP = 40.0  # [K] between three falling heats (from memory)


def difference(kelvin: float) -> Amount:
    """A temperature difference [K], to be printed in the recipe's units."""
    return Amount(float(kelvin), Kind.DIFFERENCE)


@dataclass(frozen=True)
class Limit:
    """One bound of a heat: the temperature [K], the layer that asks for it and why."""

    temperature_K: float
    layer: str
    rule: Note


@dataclass(frozen=True)
class Critical:
    """The critical temperatures [K] of one layer; None where the formula does not reach, with the reason in `notes`."""

    layer: LayerInput
    ac1_K: Range | None
    ac3_K: Range | None
    acm_K: Range | None
    notes: tuple[Note, ...]
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Window:
    """The hardening heats the stack can share [K], the limit at either end and the soak [s] its sheets ask for."""

    low: Limit
    high: Limit
    soak_s: tuple[float, float] | None
    sources: tuple[Source, ...]

    @property
    def empty(self) -> bool:
        """Whether the layers share no hardening heat."""
        return self.low.temperature_K > self.high.temperature_K

    @property
    def heat_K(self) -> float:
        """The middle of the window; of an empty one, half-way between the two demands."""
        return (self.low.temperature_K + self.high.temperature_K) / 2.0

    @property
    def usual_soak_s(self) -> float:
        """The middle of the soak the sheets ask for; ten minutes where none does (from memory)."""
        return USUAL_SOAK if self.soak_s is None else sum(self.soak_s) / 2.0


def critical(layer: LayerInput) -> Critical:
    """The critical temperatures of a layer at the carbon it ends with; Ac3 below 0.70 %C, Acm from 0.80 %C."""
    notes: list[Note] = []
    used = []
    found: dict[str, Range | None] = {"ac1": None, "ac3": None, "acm": None}
    wanted = {
        "ac1": (ac1, True),
        "ac3": (ac3, layer.carbon_wt_percent < 0.70),
        "acm": (acm, layer.carbon_wt_percent >= 0.80),
    }
    for name, (formula, applies) in wanted.items():
        if not applies:
            continue
        try:
            found[name] = formula(layer.chemistry)
            used.append(formula)
        except OutsideRange as reason:
            notes.append(note("{layer}: no {what}: {why}.", layer=layer.name, what=name.capitalize(), why=str(reason)))
    return Critical(layer, found["ac1"], found["ac3"], found["acm"], tuple(notes), sources_of(*used))


def _moved(c: Critical) -> float:
    """How far a layer's carbon has left its sheet behind: 0 within the tolerance of a bar, 1 from 0.20 % on."""
    moved = abs(c.layer.carbon_wt_percent - c.layer.steel.carbon)
    return float(np.clip((moved - BAR_TOLERANCE) / (SHEET_ENDS - BAR_TOLERANCE), 0.0, 1.0))


def _by_formula(c: Critical) -> tuple[list[Limit], list[Limit]]:
    """What the layer's own carbon and alloy ask from below (Ac1 + 50, Ac3 + 30) and from above (grain growth, Acm + 40 above
    0.85 %C).
    """
    name, low, high = c.layer.name, [], [Limit(GRAIN_LIMIT, c.layer.name, note("grain growth"))]
    if c.ac1_K is not None:
        low.append(
            Limit(c.ac1_K.likely + ABOVE_AC1, name, note("{margin} above its Ac1", margin=difference(ABOVE_AC1)))
        )
    if c.ac3_K is not None:
        low.append(
            Limit(c.ac3_K.likely + ABOVE_AC3, name, note("{margin} above its Ac3", margin=difference(ABOVE_AC3)))
        )
    if c.acm_K is not None and c.layer.carbon_wt_percent > CEMENTITE_LIMITS_FROM:
        high.append(
            Limit(c.acm_K.likely + ABOVE_ACM, name, note("{margin} above its Acm", margin=difference(ABOVE_ACM)))
        )
    return low, high


def _by_sheet(c: Critical, sheet_K: float, formula_K: float, rule: str) -> Limit:
    """An end of the sheet's heats, which are those of the carbon the steel was bought with: led over to what the formulas
    ask as the layer's carbon moves away from it.
    """
    moved = _moved(c)
    if moved == 0.0:
        return Limit(sheet_K, c.layer.name, note(f"its sheet's {rule}"))
    text = f"its sheet's {rule}, led over to the {{now}} % carbon it has now from {{was}} %"
    now, was = (f"{v:.2f}" for v in (c.layer.carbon_wt_percent, c.layer.steel.carbon))
    return Limit(sheet_K + moved * (formula_K - sheet_K), c.layer.name, note(text, now=now, was=was))


def lower_limits(c: Critical) -> list[Limit]:
    """What a layer asks of the hardening heat from below: Ac1 + 50, Ac3 + 30, its sheet's least."""
    low, _ = _by_formula(c)
    if c.layer.steel.harden is not None:
        sheet = c.layer.steel.harden.low
        low.append(_by_sheet(c, sheet, max((x.temperature_K for x in low), default=sheet), "least"))
    return low


def upper_limits(c: Critical) -> list[Limit]:
    """What a layer asks of the hardening heat from above: grain growth, its sheet's most, Acm + 40 above 0.85 %C."""
    _, high = _by_formula(c)
    if c.layer.steel.harden is not None:
        high.append(_by_sheet(c, c.layer.steel.harden.high, min(x.temperature_K for x in high), "most"))
    return high


def hardening_window(hardening: Sequence[Critical]) -> Window:
    """The overlap over the layers that harden: the highest demand from below to the lowest from above."""
    low = max((limit for c in hardening for limit in lower_limits(c)), key=lambda limit: limit.temperature_K)
    high = min((limit for c in hardening for limit in upper_limits(c)), key=lambda limit: limit.temperature_K)
    soaks = [c.layer.steel.harden.soak for c in hardening if c.layer.steel.harden is not None]
    soak = (max(s[0] for s in soaks), max(s[1] for s in soaks)) if soaks else None
    return Window(low, high, soak, tuple(dict.fromkeys((*map(_sheet, hardening), ref.SHOP_PRACTICE))))


def _sheet(c: Critical) -> Source:
    """The sheet behind a layer's hardening heats, as a reference."""
    heats = c.layer.steel.harden
    if heats is None:
        return Source(f"harden-{c.layer.name}", f"{c.layer.name}: no hardening heat could be read", "judgement")
    status: Status = "verified" if heats.status == "verified" else "from memory"
    return Source(f"harden-{c.layer.name}", f"{c.layer.name}, hardening heats: {heats.source}", status)


def anneal_ceiling(layers: Sequence[Critical]) -> Limit | None:
    """Highest sub-critical anneal [K]: the lowest layer's Ac1 less 25 K, or a lower ceiling of its own; None for no
    steel.
    """
    limits = []
    for c in layers:
        if c.ac1_K is not None:
            limits.append(
                Limit(
                    c.ac1_K.likely - BELOW_AC1,
                    c.layer.name,
                    note("{margin} below its Ac1", margin=difference(BELOW_AC1)),
                )
            )
            usual = USUAL_ANNEAL if c.layer.steel.anneal is None else c.layer.steel.anneal
            limits.append(Limit(usual, c.layer.name, note("the usual ceiling for this steel")))
    return min(limits, key=lambda limit: limit.temperature_K) if limits else None


@dataclass(frozen=True)
class Normalising:
    """Three falling heats [K], air cooled to black between; none where a layer's sheet forbids air cooling."""

    heats_K: tuple[float, ...]
    forbidden_by: tuple[str, ...]

    @property
    def text(self) -> Note:
        """The instruction in one sentence."""
        if self.forbidden_by:
            return note(
                "Do not normalise: the sheet of {layers} forbids air cooling.", layers=" and ".join(self.forbidden_by)
            )
        if not self.heats_K:
            return note("No normalising heat is known for these steels.")
        a, b, c = self.heats_K
        return note(
            "Normalise three times, {a}, {b} and {c}, air cooling to black each time.", a=dial(a), b=dial(b), c=dial(c)
        )


def normalising(layers: Sequence[Critical], hardening: Sequence[Critical]) -> Normalising:
    """Normalising heats after welding: from the highest of the hardening layers, 40 K down each (from memory).

    None where the sheet of any layer, hardening or not, forbids air cooling.
    """
    forbidden = tuple(dict.fromkeys(c.layer.name for c in layers if c.layer.steel.air_cooling_forbidden))
    known = [c.layer.steel.normalise for c in hardening if c.layer.steel.normalise is not None]
    if forbidden or not known:
        return Normalising((), forbidden)
    return Normalising(tuple(max(known) - step * NORMALISE_STEP for step in range(3)), ())
