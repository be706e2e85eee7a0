"""The smaller tables of a recipe: what the planner aims at, how the blade is hardened and etched, what lies in the rack."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PrivateAttr,
    WithJsonSchema,
    model_validator,
)
from pydantic.functional_validators import ModelWrapValidatorHandler

from billet.base.errors import InputError
from billet.base.fields import Angle, Count, Duration, Length, Share, Soak, Temperature, Volume
from billet.recipe.rack_line import bar_of_line

Pattern = Literal["laminate", "ladder", "raindrop", "twist", "multi-bar", "w", "feather", "accordion", "clad"]
Finish = Literal["light etch", "deep etch", "rubbed back"]


BladeStage = Literal[
    "profile", "rough grind", "normalise", "anneal", "harden", "straighten", "temper", "thin", "finish", "etch",
    "handle", "sharpen",
]  # fmt: skip
MOST_LAYERS = 1_000_000  # in a 3 mm blade they would be 3 nm thick: past any forge


class Table(BaseModel):
    """Base of the tables: frozen, and a key that is not known is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Target(Table):
    """What the planner aims at; anything left out is free."""

    layers: Count | None = Field(
        None,
        le=MOST_LAYERS,
        description="Layers as the trade counts them: plates times pieces. Left out with line and distinct, a usual count for the pattern; example 200.",
    )
    distinct: Count | None = Field(
        None,
        le=MOST_LAYERS,
        description="Separate layers: neighbours of one steel count as one. Left out, any number; example 160.",
    )
    line: Length | None = Field(
        None, description='How wide a line shall be on the ground bevel. Left out, as it comes; example "0.4 mm".'
    )
    carbon: float | None = Field(
        None,
        gt=0,
        lt=2.1,
        description="Carbon wanted in the finished blade, weight percent. Left out, as it comes; example 0.7.",
    )
    dark: Share | None = Field(
        None,
        description="Share of the steel that etches darker, by weight, 0 to 1. Left out, as the plates give it; example 0.6.",
    )
    pattern: Pattern = Field(
        "laminate", description='What pattern the bar is for. Default "laminate"; example "ladder".'
    )
    plates: Literal["odd", "even"] | None = Field(
        None,
        description='Plates of the first stack: odd (outsides alike) or even (no doubled seams). Left out, both are tried; example "odd".',
    )
    outside: Literal["dark", "bright"] = Field(
        "dark", description='Which steel lies outermost in an odd stack. Default "dark"; example "bright".'
    )
    spacers: bool = Field(
        False, description="Whether plates may be laid between the pieces at a restack. Default false; example true."
    )
    widest: float = Field(
        3.0, gt=1, description="Widest line the face may show, in times the median line. Default 3.0; example 2.5."
    )
    core: Share | None = Field(
        None,
        description="Share of the thickness that is core, for clad blades, 0 to 1. Left out, as usual; example 0.33.",
    )
    steels: tuple[str, ...] | None = Field(
        None,
        description='The steels to stack, the dark one first; a third is the edge bar of a multi-bar blade or the core of a clad one (jacket first, core last). Left out, those of the rack or the recipe; example ["1084", "15N20"].',
    )


class Quench(Table):
    """The quench: medium, its temperature and volume, and its flash point when known."""

    medium: Literal[
        "air",
        "still oil",
        "moderate oil",
        "vigorous oil",
        "canola oil",
        "fast oil",
        "plates",
        "water",
        "agitated water",
        "brine",
    ] = Field("fast oil", description='What the blade is quenched in. Default "fast oil"; example "canola oil".')
    temperature: Temperature | None = Field(
        None, description='How warm the quenchant is. Left out, as usual for it; example "50 C".'
    )
    volume: Volume | None = Field(
        None, description='How much of it there is. Left out, its warming is not reckoned; example "15 l".'
    )
    flash_point: Temperature | None = Field(
        None,
        description='Flash point from the oil\'s data sheet. Left out, it cannot be kept clear of; example "190 C".',
    )


class Temper(Table):
    """Tempers: temperature, soak and how many."""

    temperature: Temperature = Field(468.15, description='How hot the oven is. Default "195 C"; example "400 F".')
    soak: Soak = Field(7200.0, description='How long one temper lasts. Default "2 h"; example "90 min".')
    cycles: Count = Field(2, description="How many tempers. Default 2; example 3.")


class Hardening(Table):
    """How the blade is to be hardened."""

    temperature: Temperature | None = Field(
        None,
        description='How hot the blade is before the quench. Left out, one is advised; example "800 C".',
    )
    soak: Soak | None = Field(None, description='How long it is held there. Left out, one is advised; example "8 min".')
    quench: Quench = Field(
        Quench(),
        description='The quench, as a table of its own. Left out, fast oil; example { medium = "canola oil", temperature = "50 C" }.',
    )
    temper: Temper = Field(
        Temper(),
        description='The tempers, as a table of its own. Left out, twice two hours at 195 C; example { temperature = "200 C", cycles = 2 }.',
    )
    hardness: float | None = Field(
        None,
        gt=20,
        lt=70,
        description="Hardness wanted, Rockwell C, 20 to 70. Left out, the temper above stands; example 61.",
    )


class Etch(Table):
    """How the picture is etched and lit. Tones show which steel etches darker; your etch decides how dark."""

    finish: Finish = Field(
        "rubbed back", description='How the blade is etched and finished. Default "rubbed back"; example "deep etch".'
    )
    strength: Share | None = Field(
        None, description="How hard the etch bites, 0 to 1. Left out, as the finish has it; example 0.7."
    )
    depth: Length | None = Field(
        None, description='How deep the darker steel is etched away. Left out, as the finish has it; example "0.03 mm".'
    )
    light: Angle = Field(
        2.4,
        description='Where the light comes from, turned from the blade\'s length. Default "137.5 deg"; example "90 deg".',
    )
    seams: Share = Field(
        0.5, description="How plainly weld lines poor in carbon show, 0 to 1. Default 0.5; example 0.2."
    )


class Stages(Table):
    """What this knife does otherwise than usual: stages of the blade left out, and how long a stage takes here."""

    skip: tuple[BladeStage, ...] = Field(
        (), description='Stages of the blade that are left out. Left out, none is; example ["anneal"].'
    )
    time: dict[BladeStage, Duration] = Field(
        default_factory=dict,
        description='How long a stage takes in this shop. Left out, usual times; example { handle = "3 h" }.',
    )


class RackBar(Table):
    """One kind of bar in hand; it knows how its sizes were spelled."""

    _texts: dict[str, str] = PrivateAttr(default_factory=dict)

    steel: str = Field(description='The steel\'s name; example "1084".')
    thickness: Length = Field(description='Thickness of the bar; example "1/8 in".')
    width: Length = Field(description='Width of the bar; example "1 1/2 in".')
    length: Length = Field(description='Length of the bar; example "48 in".')
    count: Count = Field(1, description="How many such bars there are. Default 1; example 2.")
    price: float | None = Field(
        None, ge=0, description="Price of one bar, in the shop's own money. Left out, not reckoned; example 18.5."
    )

    @model_validator(mode="wrap")
    @classmethod
    def _keeps_texts(cls, given: Any, read: ModelWrapValidatorHandler[RackBar]) -> RackBar:
        bar = read(given)
        if isinstance(given, dict):
            bar._texts.update({k: v.strip() for k, v in given.items() if isinstance(v, str)})
        return bar

    def spelled(self, size: str) -> str | None:
        """A size as it was written, such as "1/8 in"; None where it was given as a number."""
        return self._texts.get(size)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, RackBar) and self.model_dump() == other.model_dump()

    def __hash__(self) -> int:
        return hash(tuple(self.model_dump().values()))


class Rack(Table):
    """Bars in hand: tables, or lines such as "2 of 1084 1/8 x 1 1/2 x 48 in"."""

    bar: tuple[RackBar, ...] = Field(
        (),
        description='Bars in hand as tables; example [{ steel = "1084", thickness = "3.2 mm", width = "40 mm", length = "1 m" }].',
    )
    bars: tuple[str, ...] = Field(
        (),
        description='Bars in hand as lines: how many, steel, thickness, width and length. Default []; example ["2 of 1084 1/8 x 1 1/2 x 48 in"].',
    )

    @model_validator(mode="before")
    @classmethod
    def _lines_are_bars(cls, given: Any) -> Any:
        lines = given.get("bars") if isinstance(given, dict) else None
        if not isinstance(lines, list | tuple) or not all(isinstance(v, str) for v in lines):
            return given
        try:
            read = [bar_of_line(text, "bars") for text in lines]
        except InputError as error:
            raise ValueError(str(error)) from None
        return {**given, "bar": [*given.get("bar", ()), *read]}


class JoinItem(Table):
    """One bar in a join, perhaps flipped: over (upside down) or end for end."""

    bar: str = Field(description='Name of an earlier bar; example "core".')
    flip: Literal["over", "end for end"] | None = Field(
        None,
        description='Whether it is laid upside down or end for end. Left out, it lies as it was made; example "over".',
    )

    @model_validator(mode="before")
    @classmethod
    def _name_alone(cls, given: Any) -> Any:
        return {"bar": given} if isinstance(given, str) else given


_ITEM = {
    "anyOf": [
        {"type": "string"},
        {
            "type": "object",
            "properties": {"bar": {"type": "string"}, "flip": {"enum": ["over", "end for end"]}},
            "required": ["bar"],
            "additionalProperties": False,
        },
    ]
}
Item = Annotated[JoinItem, WithJsonSchema(_ITEM)]
