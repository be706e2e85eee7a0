"""A shop's habits and limits: the `[shop]` table of a recipe or of a file shared by all recipes."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from billet.base.fields import Count, Force, Length
from billet.metal.heat_through import likely_seconds
from billet.metal.scale import NEUTRAL, OXIDISING, RICH, metal_loss

DECARB = {
    "oxidising": 1.0,
    "neutral": 0.6,
    "rich": 0.2,
}  # judgement, no source: how far faces tend to the carbon under scale
ATMOSPHERE_FACTORS = {"oxidising": OXIDISING, "neutral": NEUTRAL, "rich": RICH}


class EndTrim(BaseModel):
    """What is cropped from either end at a restack or fold; the end that carried the handle usually loses more."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    free: Length = Field(8e-3, description='Cropped off the free end. Default "8 mm"; example "6 mm".')
    handle: Length = Field(
        8e-3, description='Cropped off the end that carried the handle. Default "8 mm"; example "12 mm".'
    )


class Prices(BaseModel):
    """What things cost in this shop, in its own money; what is left out is a guess in a quote, and marked as one."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    money: str = Field(
        "", max_length=8, description='The sign of the money, none when empty. Default ""; example "EUR".'
    )
    hour: float | None = Field(None, ge=0, description="An hour of work. Left out, a guess; example 40.")
    steel_kg: float | None = Field(
        None, ge=0, description="A kilogram of steel that has no price on the rack. Left out, a guess; example 9."
    )
    gas_hour: float | None = Field(
        None, ge=0, description="Gas for an hour of the fire. Left out, a guess; example 4.5."
    )
    kwh: float | None = Field(None, ge=0, description="A kilowatt hour. Left out, a guess; example 0.35.")
    kiln_kw: float | None = Field(None, ge=0, description="Power of the kiln, kilowatts. Left out, a guess; example 3.")
    belt: float | None = Field(None, ge=0, description="One belt. Left out, a guess; example 6.")
    grams_a_belt: float | None = Field(
        None, gt=0, description="Steel a belt takes before it is done, grams. Left out, a guess; example 60."
    )
    acid: float | None = Field(
        None, ge=0, description="Acid and what goes with it for one knife. Left out, a guess; example 3."
    )
    handle: float | None = Field(
        None, ge=0, description="Wood, pins and glue for one handle. Left out, a guess; example 25."
    )


class Shop(BaseModel):
    """Habits and limits of one shop, SI inside. All losses may be zero."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    atmosphere: Literal["oxidising", "neutral", "rich"] = Field(
        "neutral",
        description='How the fire burns: it scales the scale loss and the carbon lost. Default "neutral"; example "rich".',
    )
    kerf: Length = Field(2e-3, description='Metal lost in one saw cut. Default "2 mm"; example "1.5 mm".')
    scale_per_heat: Length | None = Field(
        None,
        description='Your own figure for scale, per face and heat. Left out, the oxidation law reckons it; example "0.05 mm".',
    )
    face_cleanup: Length = Field(
        0.4e-3,
        description='Ground off each mating face before a restack, fold or join. Default "0.4 mm"; example "0.3 mm".',
    )
    end_trim: Length | EndTrim = Field(
        8e-3,
        description='Cropped off each end at a restack or fold. Default "8 mm"; example { free = "6 mm", handle = "12 mm" }.',
    )
    spread: float = Field(
        0.15,
        ge=0,
        le=1,
        description="How much a bar widens when drawn: 0 not at all, 1 by as much as it thins. Default 0.15; example 0.2.",
    )
    press_opening: Length = Field(
        80e-3, description='Tallest stack the press or hammer takes. Default "80 mm"; example "100 mm".'
    )
    press_force: Force | None = Field(
        None, description='What the press can push. Left out, not asked; example "250 kN".'
    )
    fire_length: Length = Field(
        300e-3, description='Longest bar the fire heats at once. Default "300 mm"; example "400 mm".'
    )
    fewest_pieces: Count = Field(3, description="Fewest pieces worth a restack when planning. Default 3; example 2.")
    most_pieces: Count = Field(6, description="Most pieces this shop restacks at once. Default 6; example 8.")
    thinnest_piece: Length = Field(
        9.5e-3, description='Thinnest bar planned to be cut and restacked. Default "9.5 mm"; example "8 mm".'
    )
    stack_ratio: float | None = Field(
        None,
        gt=0,
        le=10,
        description="Tallest stack in times its width. Left out, plans go to 1.5 and a check warns past 1; example 1.2.",
    )
    two_halves: bool = Field(
        False,
        description="Whether bars up to twice as long as the fire are worked one half after the other. Default false; example true.",
    )
    most_welds: Count = Field(12, description="Most weld heats worth planning for. Default 12; example 8.")
    forge_tool: Literal["hand", "press"] = Field(
        "press",
        description='What stacks are welded with: it says how high they may stand. Default "press"; example "hand".',
    )
    hand: Literal["rolled", "press", "hammer"] = Field(
        "rolled",
        description='What the bar is drawn with; press dies and hammers leave their waves in the layers. Default "rolled"; example "hammer".',
    )
    hand_strength: float = Field(
        1.0,
        ge=0,
        le=1.5,
        description="How uneven the drawing is: 0 not at all, 1 as usual, 1.5 at most. Default 1.0; example 0.5.",
    )
    prices: Prices = Field(
        default_factory=Prices,
        description="What things cost, for quotes. Left out, guesses; example { hour = 40, gas_hour = 4.5 }.",
    )
    fitted: str | None = Field(
        None,
        description='Where these figures come from, when they were learnt from the bench record; billet writes it. Left out, they are yours; example "learnt from 12 notes".',
    )

    @property
    def decarb(self) -> float:
        """How far open faces tend to the carbon under scale: 1 scaling freely, 0.2 rich or coated. A judgement."""
        return DECARB[self.atmosphere]

    @property
    def longest(self) -> float:
        """Longest bar [m] this shop works: what the fire heats, or twice that in two halves."""
        return self.fire_length * (2 if self.two_halves else 1)

    @property
    def trims(self) -> tuple[float, float]:
        """Cropped from the free end and from the handle end [m]."""
        trim = self.end_trim
        return (trim.free, trim.handle) if isinstance(trim, EndTrim) else (trim, trim)

    def scale_depth(self, temperature: float, seconds: float, thickness: Any, factor: float = 1.0) -> Any:
        """Metal lost per face in one heat [m].

        temperature [K]; seconds: soak after the core is up [s]; thickness [m] of the bar sets the heating-up, which also
        scales. factor multiplies the oxidation law (the ledger's half and twice). The shop's own `scale_per_heat` wins.
        `thickness` may be an array, the depth is then one too.
        """
        if self.scale_per_heat is not None:
            return self.scale_per_heat * factor
        return factor * metal_loss(temperature, seconds, ATMOSPHERE_FACTORS[self.atmosphere], likely_seconds(thickness))
