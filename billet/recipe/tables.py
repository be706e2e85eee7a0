"""The smaller tables of a recipe: what the planner aims at, how the blade is hardened and etched, what lies in the rack."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    PrivateAttr,
    WithJsonSchema,
    model_validator,
)

from billet.base.errors import InputError
from billet.base.fields import Angle, Count, Duration, Length, Share, Temperature, Volume
from billet.recipe.rack_line import bar_of_line

Pattern = Literal["laminate", "ladder", "raindrop", "twist", "multi-bar", "w", "feather", "accordion", "clad"]
Finish = Literal["light etch", "deep etch", "rubbed back"]


class Table(BaseModel):
    """Base of the tables: frozen, and a key that is not known is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Target(Table):
    """What the planner aims at; anything left out is free."""

    layers: Count | None = Field(None, description="Layers as the trade counts them: plates times pieces.")
    distinct: Count | None = Field(None, description="Layers after neighbours of one steel have become one.")
    line: Length | None = Field(None, description="Width of a line wanted on this bevel.")
    carbon: float | None = Field(None, gt=0, lt=2.1, description="Carbon wanted in the finished blade, weight percent.")
    dark: Share | None = Field(None, description="Share of the dark steel by mass.")
    pattern: Pattern = "laminate"
    plates: Literal["odd", "even"] | None = Field(
        None, description="Plates of the first stack: odd (outsides alike) or even (no doubled seams)."
    )
    outside: Literal["dark", "bright"] = Field("dark", description="Which steel lies outermost in an odd stack.")
    spacers: bool = Field(False, description="Whether plates may be laid between the pieces at a restack.")
    widest: float = Field(3.0, gt=1, description="Widest line the face may show, in times the median line.")
    core: Share | None = Field(None, description="Share of the thickness that is core, for clad blades.")
    steels: tuple[str, ...] | None = Field(
        None,
        description="The steels to stack, the dark one first; a third is the edge bar of a multi-bar blade or the core of a clad one (jacket first, core last).",
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
    ] = "fast oil"
    temperature: Temperature | None = None
    volume: Volume | None = None
    flash_point: Temperature | None = None


class Temper(Table):
    """Tempers: temperature, soak and how many."""

    temperature: Temperature = 468.15
    soak: Duration = 7200.0
    cycles: Count = 2


class Hardening(Table):
    """How the blade is to be hardened."""

    temperature: Temperature | None = None
    soak: Duration | None = None
    quench: Quench = Quench()
    temper: Temper = Temper()
    hardness: float | None = Field(None, gt=20, lt=70, description="Hardness wanted, Rockwell C.")


class Etch(Table):
    """How the picture is etched and lit. Tones show which steel etches darker; your etch decides how dark."""

    finish: Finish = Field("rubbed back", description="light etch, deep etch, or etched and rubbed back.")
    strength: Share | None = Field(None, description="How hard the etch bites; left out, as the finish has it.")
    depth: Length | None = Field(None, description="Depth of the etched relief; left out, as the finish has it.")
    light: Angle = Field(2.4, description="Where the light comes from, turned from the blade's length.")
    seams: Share = Field(0.5, description="How plainly carbon-poor weld lines show.")


class RackBar(Table):
    """One kind of bar in hand; it knows how its sizes were spelled."""

    _texts: dict[str, str] = PrivateAttr(default_factory=dict)

    steel: str
    thickness: Length
    width: Length
    length: Length
    count: Count = 1
    price: float | None = Field(None, ge=0, description="Price of one bar, in the shop's own money.")

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

    bar: tuple[RackBar, ...] = ()
    bars: tuple[str, ...] = Field((), description='Bars in hand as lines, such as "1084 1/8 x 1 1/2 x 48 in".')

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

    bar: str
    flip: Literal["over", "end for end"] | None = None

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
