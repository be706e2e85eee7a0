"""Draw: forge the bar longer, thinner, wider or narrower; the volume stays, but for the scale of each heat."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field, model_validator

from billet.bar.bar import Bar, corner_share
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import check_positive, handled, reshape
from billet.bar.sizes import drawn, part_drawn, spread_to
from billet.base.fields import Length
from billet.base.messages import Note, hot, long, note, refuse, thin
from billet.forming.round_section import square
from billet.heating.heats import one_heat
from billet.metal.expansion import elongation
from billet.steps.step import Hot

COLD = 923.15  # [K], 650 C: forging stops well above a dull red (common practice, no source)
_ROUNDING = 1 + 1e-9


class Draw(Hot):
    """Draw the bar out to a thickness, a width or a length; say two of them, or the thickness alone and the bar spreads as this shop's does.

    Sizes are cold unless `hot`. Round corners are forged square. Left to itself a bar gains width by the power `spread`
    of the thickness it loses: ln(w1/w0) = spread ln(t0/t1), heat by heat.
    """

    do: Literal["draw"] = "draw"
    takes_round: ClassVar[bool] = True
    thickness: Length | None = Field(
        None, description='Thickness to draw to. Left out, it follows from width, length and volume; example "12 mm".'
    )
    width: Length | None = Field(
        None,
        description='Width to draw to. Left out, it follows from the other sizes, or the bar spreads as this shop\'s does; example "45 mm".',
    )
    length: Length | None = Field(
        None, description='Length to draw to. Left out, it follows from the volume; example "300 mm".'
    )
    hot: bool = Field(
        False,
        description="Whether the sizes were measured hot: they are then counted a little smaller when cold. Default false; example true.",
    )

    @model_validator(mode="after")
    def _two_of_three(self) -> Draw:
        if [self.thickness, self.width, self.length].count(None) != 1 and not self.free:
            raise ValueError(
                'draw: give two of thickness, width and length, such as thickness = "12 mm", width = "40 mm"; the third follows from the volume; or thickness alone, and the bar spreads as your shop\'s does'
            )
        return self

    @property
    def free(self) -> bool:
        """Whether the width is left to the dies."""
        return self.thickness is not None and self.width is None and self.length is None

    def target(self, volume: float, corner: float) -> tuple[float, float, float]:
        """Length, width and thickness [m] of a cold bar of this volume [m3] once drawn to sizes."""
        cold = 1 / (1 + float(elongation(self.temperature))) if self.hot else 1.0
        volume /= corner_share(corner)
        given = [None if v is None else v * cold for v in (self.length, self.width, self.thickness)]
        known = [v for v in given if v is not None]
        for value in known:
            check_positive(value, "size to draw to")
        a, b, c = (volume / (known[0] * known[1]) if v is None else v for v in given)
        return a, b, c

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar = square(bar, bench.number)
        lost, start = Lost(), (bar.width, bar.thickness)
        for k in range(1, self.heats + 1):
            bar, more = one_heat(bar, bench, self.temperature, self.soak)
            lost = lost.plus(scale=more.scale)
            if self.free:
                bar = self._spreads(bar, bench, start[1], k)
                continue
            length, width, thickness = self.target(bar.volume, bar.corner)
            if k == 1:
                self._check(bar, length, width, thickness)
            share = k / self.heats
            if share < 1:
                width, thickness = (part_drawn(s, e, share) for s, e in zip(start, (width, thickness), strict=True))
                length = drawn(bar.volume / corner_share(bar.corner), width, thickness).length
            bar = reshape(bar, length, width, thickness, bench.number)
        return Outcome(handled(bar, bench, start[1]), lost, notes=self._cold())

    def _spreads(self, bar: Bar, bench: Bench, start: float, heat: int) -> Bar:
        """The bar after one heat of a draw to a thickness alone, from a thickness at the start [m]."""
        assert self.thickness is not None
        cold = 1 / (1 + float(elongation(self.temperature))) if self.hot else 1.0
        check_positive(self.thickness, "size to draw to")
        thickness = part_drawn(start, self.thickness * cold, heat / self.heats)
        width = spread_to(bar.width, bar.thickness, thickness, bench.shop.spread)
        length = drawn(bar.volume / corner_share(bar.corner), width, thickness).length
        self._check(bar, length, width, thickness)
        return reshape(bar, length, width, thickness, bench.number)

    def _cold(self) -> tuple[Note, ...]:
        """Say when a heat is below red, where nothing is drawn; it is likely a slip of the pen."""
        if self.temperature >= COLD:
            return ()
        return (
            note(
                "{heat} is below red heat, where steel is not drawn but cracks; look at the figure again",
                heat=hot(self.temperature),
            ),
        )

    def _check(self, bar: Bar, length: float, width: float, thickness: float) -> None:
        """Refuse what drawing cannot do: a bar that would become shorter, or thicker and wider at once."""
        if thickness > bar.thickness * _ROUNDING and self.length is None and width >= bar.width / _ROUNDING:
            raise refuse(
                "thickness: the bar is {have} thick after its heat and cannot be drawn to {want}; ask for less than {have}",
                have=thin(bar.thickness),
                want=thin(thickness),
            )
        if length < bar.length / _ROUNDING:
            raise refuse(
                "the bar would have to become shorter, {want} instead of {have}, which is upsetting and not drawing; ask for a smaller section or a greater length",
                have=long(bar.length),
                want=long(length),
            )
