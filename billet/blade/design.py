"""The finished knife as the recipe states it: the ``[blade]`` table."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr, model_validator

from billet.base.fields import Length, Share, SignedLength
from billet.blade.bevels import Bevel

State = Literal["finished", "hardening"]
Shape = Literal[
    "chef", "gyuto", "sujihiki", "santoku", "bunka", "nakiri", "usuba", "honesuki", "cleaver", "petty", "paring",
    "slicer", "boning", "bread",
]  # fmt: skip

LEAST_SIZE = 1e-3  # of a blade's length and height; no knife is smaller [m]
HARDENING_ALLOWANCE = 0.4e-3  # left on the spine for hardening [m]; from memory, unverified
LONGEST = 2.0  # of any knife [m], so that a slip of the pen is caught
HARDENING_TIP = 1.3e-3  # least spine near the tip at hardening [m]; from memory, unverified


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class SpineSet(_Table):
    """Spine thickness above the heel, in the middle and near the tip [m]."""

    heel: Length = Field(description='Thickness of the spine above the heel; example "2.6 mm".')
    middle: Length = Field(description='Thickness in the middle, no more than at the heel; example "2.1 mm".')
    tip: Length = Field(description='Thickness near the tip, no more than in the middle; example "0.9 mm".')

    @model_validator(mode="after")
    def _tapers(self) -> "SpineSet":
        if self.tip <= 0:
            raise ValueError('the spine needs some thickness at the tip, for example tip = "0.9 mm".')
        for thick, thin in (("heel", "middle"), ("middle", "tip")):
            if getattr(self, thin) > getattr(self, thick):
                raise ValueError(
                    f"the spine is thicker at the {thin} ({_mm(getattr(self, thin))}) than at the {thick} "
                    f"({_mm(getattr(self, thick))}); the taper must fall from heel to tip, or stay level."
                )
        return self


class Spine(_Table):
    """The spine when finished and when hardened.

    A single set is the finished one; the hardening set is then 0.4 mm thicker, at least 1.3 mm near the tip.
    """

    finished: SpineSet = Field(
        SpineSet(heel=2.6e-3, middle=2.1e-3, tip=0.9e-3),
        description='The spine of the finished knife. Left out, 2.6, 2.1 and 0.9 mm; example { heel = "2.6 mm", middle = "2.1 mm", tip = "0.9 mm" }.',
    )
    hardening: SpineSet | None = Field(
        None,
        description='The spine as it goes into the quench. Left out, 0.4 mm thicker than finished, at least 1.3 mm near the tip; example { heel = "3 mm", middle = "2.5 mm", tip = "1.4 mm" }.',
    )

    @model_validator(mode="before")
    @classmethod
    def _single(cls, given: Any) -> Any:
        if isinstance(given, SpineSet) or (isinstance(given, dict) and {"heel", "middle", "tip"} & set(given)):
            return {"finished": given}
        return given

    @model_validator(mode="after")
    def _leaves_enough(self) -> "Spine":
        for place in ("heel", "middle", "tip"):
            hard, done = getattr(self.at("hardening"), place), getattr(self.finished, place)
            if hard < done:
                raise ValueError(
                    f"the spine at the {place} is thinner at hardening ({_mm(hard)}) than finished ({_mm(done)}); "
                    "grinding only takes away."
                )
        return self

    def at(self, state: State) -> SpineSet:
        """Return the three thicknesses in a state."""
        if state == "finished":
            return self.finished
        if self.hardening is not None:
            return self.hardening
        tip = max(self.finished.tip + HARDENING_ALLOWANCE, HARDENING_TIP)
        middle = max(self.finished.middle + HARDENING_ALLOWANCE, tip)
        return SpineSet(heel=max(self.finished.heel + HARDENING_ALLOWANCE, middle), middle=middle, tip=tip)


class Edge(_Table):
    """The thickness of the edge at hardening, and finished but not yet sharpened [m]."""

    hardening: Length = Field(
        0.7e-3, description='Thickness of the edge as it goes into the quench. Default "0.7 mm"; example "0.8 mm".'
    )
    finished: Length = Field(
        0.25e-3,
        description='Thickness of the finished edge before it is sharpened. Default "0.25 mm"; example "0.2 mm".',
    )

    @model_validator(mode="after")
    def _leaves_enough(self) -> "Edge":
        if self.finished > self.hardening:
            raise ValueError(
                f"the edge is thicker finished ({_mm(self.finished)}) than at hardening ({_mm(self.hardening)}); "
                "grinding only takes away."
            )
        return self

    def at(self, state: State) -> float:
        """Return the edge thickness in a state [m]."""
        return self.finished if state == "finished" else self.hardening


def _said(kind: object) -> object:
    """Return the kind of a tang; a hidden one is a stick tang."""
    return "stick" if kind == "hidden" else kind


class Tang(_Table):
    """The tang: stick (or hidden), full, tapered (full, thinning to a third at its end) or none.

    ``thickness`` left out is that of the spine at the heel, in the state asked for.
    """

    kind: Annotated[Literal["stick", "full", "tapered", "none"], BeforeValidator(_said)] = Field(
        "stick",
        description='What tang it is; "hidden" is read as stick, tapered thins to a third. Default "stick"; example "full".',
    )
    length: Length | None = Field(
        None,
        description='Length of the tang. Left out, 100 mm for a stick tang and 110 mm for a full one; example "90 mm".',
    )
    width: Length | None = Field(
        None,
        description='Width of the tang. Left out, 14 mm for a stick tang and 28 mm for a full one; example "14 mm".',
    )
    thickness: Length | None = Field(
        None, description='Thickness of the tang. Left out, that of the spine at the heel; example "2.5 mm".'
    )

    @model_validator(mode="after")
    def _none_is_none(self) -> "Tang":
        sizes = [name for name in ("length", "width", "thickness") if getattr(self, name) is not None]
        if self.kind == "none" and sizes:
            raise ValueError(f'a tang of kind "none" has no {sizes[0]}; leave it out or choose another kind.')
        return self

    def size(self, heel_spine: float) -> tuple[float, float, float]:
        """Return length, width and thickness at the thick end [m]; the sizes left out are from memory, unverified."""
        length, width = _TANGS[self.kind]
        thickness = 0.0 if self.kind == "none" else heel_spine
        return (
            length if self.length is None else self.length,
            width if self.width is None else self.width,
            thickness if self.thickness is None else self.thickness,
        )

    def volume(self, heel_spine: float) -> float:
        """Return its volume [m3]; a tapered tang thins evenly to a third."""
        length, width, thickness = self.size(heel_spine)
        return length * width * thickness * (2 / 3 if self.kind == "tapered" else 1.0)


_TANGS = {"stick": (0.100, 0.014), "full": (0.110, 0.028), "tapered": (0.110, 0.028), "none": (0.0, 0.0)}


class Bolster(_Table):
    """An integral bolster, as the block it is forged and filed from [m]."""

    length: Length = Field(
        description='Length of the block the bolster is forged and filed from, along the knife; example "15 mm".'
    )
    width: Length = Field(description='Width of the block, from edge side to spine side; example "25 mm".')
    thickness: Length = Field(description='Thickness of the block; example "18 mm".')

    @property
    def volume(self) -> float:
        """Return the volume of the block [m3]."""
        return self.length * self.width * self.thickness


class Heel(_Table):
    """The heel: ``radius`` of its corner, ``choil`` how far the metal runs back behind it while it rises to the handle,
    ``drop`` how far the handle's underside stands above the edge where there is no bolster [m]."""

    radius: Length = Field(0.0, description='Radius of the heel\'s corner. Default "0 mm"; example "2 mm".')
    choil: Length = Field(
        0.0, description='How far the metal runs back under the handle. Default "0 mm"; example "6 mm".'
    )
    drop: Length | None = Field(
        None,
        description='How far the handle\'s underside stands above the edge, for a knife without a bolster. Left out, as the tang lies; example "28 mm".',
    )


class Plunge(_Table):
    """Where the bevel ends: the arc of a ``wheel`` (diameter) runs from the ground face up to the bolster, or, without
    one, to the unground ricasso that ends ``at`` so far ahead of the heel [m]."""

    wheel: Length = Field(description='Diameter of the wheel whose arc ends the bevel; example "50 mm".')
    at: Length = Field(
        0.0,
        description='How far ahead of the heel the ricasso ends; with a bolster leave it out. Default "0 mm"; example "12 mm".',
    )

    @model_validator(mode="before")
    @classmethod
    def _wheel_alone(cls, given: Any) -> Any:
        return {"wheel": given} if isinstance(given, str | float) else given

    @model_validator(mode="after")
    def _some_wheel(self) -> "Plunge":
        if self.wheel <= 0:
            raise ValueError('the wheel of the plunge needs a diameter, such as wheel = "50 mm".')
        return self


class Allow(_Table):
    """What the bar keeps over the blade at hardening: ``face`` on each face [m]."""

    face: Length = Field(
        0.2e-3,
        description='What the bar keeps over the blade at hardening, on each face. Default "0.2 mm"; example "0.3 mm".',
    )


class BladeDesign(_Table):
    """The finished knife. Lengths in SI [m] for callers in Python, texts with a unit in a recipe.

    ``shape`` names a form; ``points`` is the file name of an outline of one's own and replaces it. ``heel_at`` is where
    the heel lies from the bar's handle end and ``edge_at`` where the edge line at the heel lies from its edge side;
    left out, the knife is centred. ``offset`` is the blade's mid-plane from the bar's, positive towards the right face.
    """

    _laid: tuple[float, float] | None = PrivateAttr(None)

    name: str = Field(
        "",
        max_length=80,
        description='Its name, where several are cut from one bar. Default ""; example "petty".',
    )
    length: Length = Field(description='Length of the blade from heel to point; example "240 mm".')
    heel_height: Length = Field(description='Height of the blade at the heel; example "52 mm".')
    shape: Shape = Field("chef", description='The outline by name. Default "chef"; example "santoku".')
    points: str | None = Field(
        None,
        description='A file with an outline of your own, CSV, SVG or DXF, seen from where the recipe lies. Left out, shape is used; example "outline.svg".',
    )
    spine: Spine = Field(
        Spine(),
        description='Thickness of the spine at heel, middle and tip. Left out, 2.6, 2.1 and 0.9 mm; example { heel = "2.6 mm", middle = "2.1 mm", tip = "0.9 mm" }.',
    )
    tip_at: Length = Field(
        0.010,
        description='How far behind the point the tip\'s thickness is measured. Default "10 mm"; example "15 mm".',
    )
    edge: Edge = Field(
        Edge(),
        description='Thickness of the edge at hardening and finished. Left out, 0.7 and 0.25 mm; example { hardening = "0.7 mm", finished = "0.25 mm" }.',
    )
    bevel: Bevel = Field(
        Bevel(),
        description='The grind: full flat, convex, hollow, sabre, compound or chisel, or a table with its numbers. Left out, full flat; example "convex".',
    )
    tang: Tang = Field(
        Tang(),
        description='The tang. Left out, a stick tang; example { kind = "stick", length = "90 mm", width = "14 mm" }.',
    )
    bolster: Bolster | None = Field(
        None,
        description='An integral bolster, as its block. Left out, there is none; example { length = "15 mm", width = "25 mm", thickness = "18 mm" }.',
    )
    heel: Heel = Field(
        Heel(),
        description='The corner of the heel and what lies behind it. Left out, a plain corner; example { radius = "2 mm", choil = "6 mm" }.',
    )
    plunge: Plunge | None = Field(
        None,
        description='Where the bevel ends, as a wheel or a table. Left out, it runs out behind the heel; example "50 mm".',
    )
    heel_at: Length | None = Field(
        None,
        description='Where the heel lies from the bar\'s handle end. Left out, the knife is centred; example "110 mm".',
    )
    edge_at: Length | None = Field(
        None,
        description='Where the edge line at the heel lies from the bar\'s edge side. Left out, the knife is centred; example "2 mm".',
    )
    offset: SignedLength = Field(
        0.0,
        description='The blade\'s mid-plane from the bar\'s, positive towards the right face: more ground off one side. Default "0 mm"; example "0.2 mm".',
    )
    allow: Allow = Field(
        Allow(),
        description='What the bar keeps over the blade at hardening. Left out, 0.2 mm a face; example { face = "0.3 mm" }.',
    )
    reserve: Share = Field(
        default=0.15, description="Share of the metal needed that is kept in hand, 0 to 1. Default 0.15; example 0.1."
    )

    @model_validator(mode="after")
    def _possible(self) -> "BladeDesign":
        if self.heel_height <= 0 or self.length <= 0:
            raise ValueError("length and heel_height must be greater than zero.")
        if min(self.heel_height, self.length) < LEAST_SIZE:
            raise ValueError(f"length and heel_height must be at least {_mm(LEAST_SIZE)}; is the unit right?")
        if self.length > LONGEST:
            raise ValueError(f"length is {_mm(self.length)}, and a kitchen knife is at most 2 m long; check the unit.")
        if self.heel_height >= self.length:
            raise ValueError(
                f"the heel height ({_mm(self.heel_height)}) is not smaller than the length ({_mm(self.length)}); "
                "a knife is longer than it is high, so the two may be swapped."
            )
        if not 0 < self.tip_at < self.length / 2:
            raise ValueError(
                f"tip_at is {_mm(self.tip_at)}; it must lie between the middle of the blade and the point, "
                f"so between zero and {_mm(self.length / 2)}."
            )
        self._edge_under_spine()
        self._heights_on_blade()
        self._behind_fits()
        return self

    @property
    def behind(self) -> float:
        """Return what lies behind the heel: neck, bolster and tang [m]."""
        return self.heel.choil + (self.bolster.length if self.bolster else 0.0) + self.tang.size(0.0)[0]

    @property
    def beside(self) -> tuple[float, float] | None:
        """Return how much of a bar is cut off before this knife and how long all knives of the bar are [m]; None alone."""
        return self._laid

    def laid(self, before: float, total: float) -> "BladeDesign":
        """Return the design laid along a bar behind other knives [m]."""
        other = self.model_copy()
        object.__setattr__(other, "_laid", (before, total))
        return other

    def _behind_fits(self) -> None:
        if self.heel.radius > self.heel_height / 2:
            raise ValueError(
                f"the heel's radius ({_mm(self.heel.radius)}) is more than half its height ({_mm(self.heel_height / 2)}); make it smaller."
            )
        if self.plunge is not None and self.plunge.at >= self.length / 2:
            raise ValueError(
                f"the plunge lies {_mm(self.plunge.at)} ahead of the heel, past the middle of the blade; bring it nearer to the heel."
            )
        if self.plunge is not None and self.plunge.at and self.bolster is not None:
            raise ValueError(
                "plunge: with a bolster the arc starts at its front; leave at out, or move the bolster with heel.choil."
            )
        if self.heel.drop is not None and (self.bolster is not None or not self.heel.drop < self.heel_height):
            raise ValueError(
                "heel: drop is for a knife without a bolster, and less than the heel height; "
                "under a bolster it is the heel height less the bolster's width."
            )
        if self.bolster is not None and self.bolster.width > self.heel_height:
            raise ValueError(
                f"the bolster is {_mm(self.bolster.width)} wide and the heel {_mm(self.heel_height)} high; the heel "
                "hangs below the bolster, so the two may be swapped."
            )

    def _edge_under_spine(self) -> None:
        for state in ("hardening", "finished"):
            edge, tip = self.edge.at(state), self.spine.at(state).tip
            if edge >= tip:
                raise ValueError(
                    f"the edge ({_mm(edge)}) is not thinner than the spine near the tip ({_mm(tip)}) {_WHEN[state]}; "
                    "make the edge thinner or the tip thicker."
                )

    def _heights_on_blade(self) -> None:
        for side in ("left", "right"):
            face = self.bevel.face(side)
            top, low = face.top(self.heel_height), face.bottom(self.heel_height)
            if top > 1:
                raise ValueError(
                    f"the {side} bevel is {_mm(top * self.heel_height)} high on a blade {_mm(self.heel_height)} high "
                    "at the heel; lower it."
                )
            if low >= top:
                raise ValueError(
                    f"the {side} bevel ends its lower zone at {_mm(low * self.heel_height)}, not under its height of "
                    f"{_mm(top * self.heel_height)}; lower the one or raise the other."
                )


_WHEN = {"hardening": "at hardening", "finished": "when finished"}


def _mm(metres: float) -> str:
    """Return a length for a sentence."""
    return f"{metres * 1e3:.4g} mm"
