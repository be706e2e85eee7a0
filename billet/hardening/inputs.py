"""What the advice is asked about: layers, stations, the quench and the tempers, as plain values in SI and weight
percent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from billet.base.errors import InputError
from billet.metal.limits import ELEMENTS, Array, with_carbon
from billet.metal.quench import MEDIA, Medium
from billet.metal.tempering import Cycle
from billet.steel.library import Steel

_CARBON, _ALLOY = ELEMENTS.index("C"), slice(1, None)
RESIDUAL_ELEMENTS = {"Cr", "Ni", "Mo", "Cu"}


@dataclass(frozen=True)
class LayerInput:
    """One steel of the finished laminate: its share by mass [-], the carbon it ends with [wt%] and its composition
    [wt%].

    `softer` is what a chosen heat takes off its hardness after a temper [HRC]: by carbide left undissolved, and by
    austenite kept. `composition` has shape (11,) in the order of ELEMENTS, after the welding heats; its carbon is replaced by
    `carbon_wt_percent`. One entry per steel; layers of one steel at different carbon may be entries of their own.
    """

    steel: Steel
    share: float
    carbon_wt_percent: float
    composition: tuple[float, ...] | Array
    softer: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        """Keep the composition as a tuple, so that equal layers are equal; carbon that diffused in displaces the rest."""
        content = np.array(self.composition, dtype=float).ravel()
        rest = float(content[_ALLOY].sum())
        if rest + self.carbon_wt_percent > 100.0 >= rest:
            content[_ALLOY] *= (100.0 - self.carbon_wt_percent) / rest
        if len(content) == len(ELEMENTS):
            content[_CARBON] = self.carbon_wt_percent
        object.__setattr__(self, "composition", tuple(content.tolist()))
        if len(self.composition) != len(ELEMENTS):
            raise InputError(
                f"harden: the layer of {self.steel.name} has no complete analysis ({len(self.composition)} elements "
                f"instead of {len(ELEMENTS)}); without one nothing can be predicted, so give its composition."
            )
        if not 0.0 < self.share <= 1.0 + 1e-9:
            raise InputError(f"harden: the share of {self.steel.name} is {self.share:g}; a share lies between 0 and 1.")

    @property
    def name(self) -> str:
        """The steel's name."""
        return self.steel.name

    @property
    def chemistry(self) -> Array:
        """The composition with the layer's own carbon [wt%], shape (11,)."""
        return with_carbon(np.array(self.composition), self.carbon_wt_percent)

    @property
    def certified(self) -> bool:
        """Whether a mill certificate gives the residual elements that decide how deep a plain steel hardens."""
        measured = {content.element for content in self.steel.analysis}
        return self.steel.status == "certificate" and measured >= RESIDUAL_ELEMENTS


@dataclass(frozen=True)
class Station:
    """A place on the blade and how thick it is when it is quenched [m]: the edge, the spine at the heel, and so on."""

    name: str
    thickness_m: float

    def __post_init__(self) -> None:
        if not self.thickness_m > 0.0:
            raise InputError(
                f"harden: the {self.name} is {self.thickness_m * 1000:g} mm thick; give its thickness at hardening."
            )


@dataclass(frozen=True)
class QuenchBath:
    """The quench: medium, bath temperature [K], volume [m3], flash point [K] and blade mass [kg], each where known."""

    medium: str = "fast oil"
    temperature_K: float | None = None
    volume_m3: float | None = None
    flash_point_K: float | None = None
    blade_kg: float | None = None

    def __post_init__(self) -> None:
        if self.medium not in MEDIA:
            raise InputError(f'harden: I do not know the quench "{self.medium}"; known are {", ".join(MEDIA)}.')

    @property
    def severity(self) -> Medium:
        """The medium with its severity."""
        return MEDIA[self.medium]


@dataclass(frozen=True)
class Question:
    """Everything the advice depends on beside the layers: heat [K] and soak [s] if chosen, stations, bath, tempers, hardness
    wanted, and the last welding or forging heat where nothing has normalised the bar since.
    """

    stations: tuple[Station, ...]
    bath: QuenchBath = QuenchBath()
    tempers: tuple[Cycle, ...] = (Cycle(468.15, 7200.0),) * 2
    wanted_hrc: float | None = None
    heat_K: float | None = None
    soak_s: float | None = None
    last_heat: Cycle | None = None

    def __post_init__(self) -> None:
        if not self.stations:
            raise InputError("harden: no station is given; give at least the edge's thickness at hardening.")
        if self.soak_s is not None and not self.soak_s > 0.0:
            raise InputError(
                f"harden: the soak of {self.soak_s:g} s must be above zero; leave it out for the sheets' own."
            )
        if not self.tempers or any(not (c.time_s > 0.0 and c.temperature_K > 0.0) for c in self.tempers):
            raise InputError("harden: the temper needs at least one cycle, each with a heat and a time above zero.")
