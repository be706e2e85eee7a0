"""Draw out: forge one end of the bar to another section and leave the rest a block, as beside a bolster."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

from pydantic import Field

from billet.bar.bar import Bar, Worked
from billet.bar.outcome import Bench, Outcome
from billet.bar.profile import Profile, Reprofiled
from billet.bar.resize import check_positive
from billet.base.fields import Length
from billet.base.messages import Note, long, note, refuse, thin
from billet.heating.heats import heats
from billet.steps.step import Hot

_ROUNDING = 1 + 1e-9
_STEEPEST = 1.0  # thickness lost on a face for every length of transition; steeper folds over: from memory, unverified


class DrawOut(Hot):
    """Forge one end of the bar out thinner and leave the rest of the block as it is; the length follows from the volume.

    A second draw_out draws the tang out of the other end of the block.
    """

    do: Literal["draw_out"] = "draw_out"
    follows_draw_out: ClassVar[bool] = True

    end: Literal["point", "handle"] = Field(
        "point", description='Which end is drawn out: the point\'s or the handle\'s. Default "point"; example "handle".'
    )
    keep: Length = Field(description='Length of the block that stays as it is; example "30 mm".')
    thickness: Length = Field(description='Thickness the end is drawn to; example "6 mm".')
    width: Length = Field(description='Width the end is drawn to; example "40 mm".')
    transition: Length = Field(
        0.015,
        description='Length over which block and drawn end run into one another. Default "15 mm"; example "20 mm".',
    )
    level: Literal["middle", "spine", "edge"] = Field(
        "middle",
        description='Which side of the width stays in line with the block: its middle, the spine side or the edge side. Default "middle"; example "spine".',
    )

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        for value, what in ((self.keep, "keep"), (self.thickness, "thickness"), (self.width, "width")):
            check_positive(value, what)
        check_positive(self.transition, "transition")
        bar, lost = heats(bar, bench, self.temperature, self.soak, self.heats)
        old = bar.profile or _plain(bar)
        new = self._profile(old)
        length, width, thickness = new.box
        ratio = self.width / bar.width, self.thickness / bar.thickness
        drawn = replace(
            bar,
            length=length,
            width=width,
            thickness=thickness,
            material=Worked(bar.material, Reprofiled(old, new), bench.number),
            mean_density=bar.mass / bar.volume,
            profile=new,
            skins=bar.skins.scaled(*ratio) if bar.profile is None else bar.skins,
        )
        return Outcome(drawn, lost, notes=self._notes(old))

    def _profile(self, old: Profile) -> Profile:
        """The profile after the forging, its box round the origin."""
        at_point = self.end == "point"
        whole = old if at_point else _turned(old)
        if whole.width[-1] != whole.width[-2] or whole.thickness[-1] != whole.thickness[-2] or _drawn(whole):
            raise refuse("end: the {end} end is drawn out already; draw out the other end", end=self.end)
        w, t, m = whole.width[-1], whole.thickness[-1], whole.middle[-1]
        block = whole.x[-1] - whole.x[-2]
        if self.keep >= block:
            raise refuse(
                "keep: the block is {have} long and {keep} of it are to stay, so nothing is left to draw out; start with a longer or heavier block, or keep less",
                keep=long(self.keep),
                have=long(block),
            )
        if self.thickness > t * _ROUNDING or self.width * self.thickness > w * t * _ROUNDING:
            raise refuse(
                "the block is {wide} by {thick} after its heats and cannot be drawn out to {to_wide} by {to_thick}; a smaller section, or a larger block",
                wide=long(w),
                thick=long(t),
                to_wide=long(self.width),
                to_thick=thin(self.thickness),
            )
        to = m + {"middle": 0.0, "spine": 0.5, "edge": -0.5}[self.level] * (w - self.width)
        start = whole.x[-2] + self.keep
        ends = (start, start + self.transition)
        slope = Profile(ends, (w, self.width), (t, self.thickness), (m, to))
        spare = (block - self.keep) * w * t - slope.volume
        if spare <= 0:
            more = -spare / (w * t)
            raise refuse(
                "the transition alone needs {more} more of the block than is there; keep less, a shorter transition, or a longer block",
                more=long(more),
            )
        end = ends[1] + spare / (self.width * self.thickness)
        new = Profile(
            (*whole.x[:-1], *ends, end),
            (*whole.width[:-1], w, self.width, self.width),
            (*whole.thickness[:-1], t, self.thickness, self.thickness),
            (*whole.middle[:-1], m, to, to),
        )
        return (new if at_point else _turned(new)).centred()

    def _notes(self, old: Profile) -> tuple[Note, ...]:
        steep = 0.5 * (max(old.thickness) - self.thickness) / self.transition
        if steep <= _STEEPEST:
            return ()
        return (
            note(
                "the block drops {deep} a side over a transition of {transition}: so steep a shoulder folds over into a cold shut; fuller it longer and grind the rest",
                deep=long(0.5 * (max(old.thickness) - self.thickness)),
                transition=long(self.transition),
            ),
        )


def _plain(bar: Bar) -> Profile:
    """A plain bar as a profile of one block."""
    half = 0.5 * bar.length
    return Profile((-half, half), (bar.width,) * 2, (bar.thickness,) * 2, (0.0, 0.0))


def _drawn(whole: Profile) -> bool:
    """Whether the last part is a drawn one and not the block."""
    return len(whole.x) > 2 and whole.block != (whole.x[-2], whole.x[-1])


def _turned(profile: Profile) -> Profile:
    """The same seen from the other end."""
    return Profile(
        tuple(-x for x in reversed(profile.x)),
        tuple(reversed(profile.width)),
        tuple(reversed(profile.thickness)),
        tuple(reversed(profile.middle)),
    )
