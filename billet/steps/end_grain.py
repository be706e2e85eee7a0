"""End grain: bring the end of the bar to its face, by an accordion cut, by tiles, or by sawing slices."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from billet.bar.bar import Bar, Worked, worked
from billet.bar.laminate import OPEN
from billet.bar.maps import PointMap, Pulled, affine, to_nearest
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import pare
from billet.base.fields import Length
from billet.base.messages import Note, long, note, refuse, thin
from billet.base.shop import Shop
from billet.steps.warm import Warm

Array = NDArray[np.float64]
Ints = NDArray[np.int32]

WEB_SHARE = 1 / 3  # web of an accordion over the bar's side (a smith's write-up: about 10 mm in a 30 mm bar)
ROOT_SHARE = 0.6  # least root hole over the web (the same write-up: holes of 6 to 8 mm at a web of 10 mm)
_STIFF = 0.5  # web over the bar's side past which the bends stretch too far (from memory)


@dataclass(frozen=True)
class OnEnd(PointMap):
    """Pieces of a bar stood on end in a row: x before = at + sense z, z before = up - sense (x - middle of the piece).
    Exact inside pieces.

    borders of the pieces along the new bar [m] (pieces + 1); for each piece its place along the bar before (`at`) [m],
    the height in it of its middle (`up`) [m] and the sense it was tipped (+1 or -1). `welded`: the borders are welds.
    """

    borders: tuple[float, ...]
    at: tuple[float, ...]
    up: tuple[float, ...]
    sense: tuple[float, ...]
    welded: bool = True

    def _parts(self, x: Array) -> tuple[Ints, Array, Array, Array, Array]:
        """Piece of each point, and its place, height, sense and middle."""
        borders = np.array(self.borders)
        k = np.searchsorted(borders[1:-1].astype(x.dtype), x, side="right").astype(np.int32)
        middle = (0.5 * (borders[1:] + borders[:-1])).astype(x.dtype)
        return (
            k,
            np.array(self.at, x.dtype)[k],
            np.array(self.up, x.dtype)[k],
            np.array(self.sense, x.dtype)[k],
            middle[k],
        )

    def pull(self, x: Array, y: Array, z: Array) -> Pulled:
        k, at, up, sense, middle = self._parts(x)
        seam = to_nearest(x, np.array(self.borders[1:-1], x.dtype)) if self.welded and len(self.at) > 1 else None
        return Pulled(at + sense * z, y, up - sense * (x - middle), k, seam)

    def slope(self, points: Array) -> Array:
        sense = self._parts(points[0])[3]
        out = np.zeros((3, 3, points.shape[1]))
        out[0, 2], out[1, 1], out[2, 0] = sense, 1.0, -sense
        return out

    def push(self, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """The piece is found from x: pieces follow one another along the bar before."""
        at, borders = np.array(self.at), np.array(self.borders)
        k = np.abs(x[..., None] - at).argmin(-1)
        sense, middle = np.array(self.sense)[k], 0.5 * (borders[1:] + borders[:-1])[k]
        return middle + sense * (np.array(self.up)[k] - z), y, sense * (x - at[k])


class _Cut(NamedTuple):
    """How many pieces the bar gives, how far apart their middles are [m], and what is sawn between them [m]."""

    pieces: int
    pitch: float
    kerf: float


class EndGrain(Warm):
    """Crop the ends and bring the bar's end grain to its face; the new bar is as thick as the pieces.

    tiles: lengths of `segment`, all tipped the same way, mating faces ground, laid in a row; a weld follows. accordion:
    cuts from both sides every `segment`, legs of `leg` left between them, unfolded, so every second piece is tipped the
    other way; what the cuts and root holes take is trim. slices: one slice of `segment` is followed, the others are
    counted as trim. The stretch of an accordion's bends is not drawn.
    """

    do: Literal["end_grain"] = "end_grain"
    lays_up: ClassVar[bool] = True
    method: Literal["accordion", "tiles", "slices"] = Field(
        description='How the section comes to the face: unfolded like an accordion, cut into tiles, or one slice kept; example "tiles".'
    )
    segment: Length = Field(
        description='Length of one piece along the bar: of a tile, of a slice, or from cut to cut of an accordion; example "20 mm".'
    )
    leg: Length | None = Field(
        None,
        description='What an accordion\'s cuts leave standing between them; needed for an accordion alone. Left out, there is none; example "6 mm".',
    )

    @model_validator(mode="after")
    def _sizes(self) -> EndGrain:
        if self.segment <= 0:
            raise ValueError('segment: must be more than nothing, such as segment = "12 mm"')
        if self.leg is not None and self.method != "accordion":
            raise ValueError(f'leg: only an accordion leaves legs, and this is method = "{self.method}"; leave it out')
        if self.leg is not None and not 0 < self.leg < self.segment:
            raise ValueError(
                "leg: must be more than nothing and less than the segment, or there is no cut between the legs"
            )
        return self

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        if np.isfinite(bar.corner):
            raise refuse("the bar's corners are round; draw it square before its end is brought to the face")
        bar, lost = self.heated(bar, bench)
        bar, trimmed = pare(bar, left=bench.shop.trims[0], right=bench.shop.trims[1])
        lost = lost.plus(trim=trimmed)
        cut = self._cut(bar, bench.shop)
        if self.method == "accordion":
            return self._unfolded(bar, cut, lost, bench)
        lost = lost.plus(kerf=(cut.pieces - 1) * cut.kerf * bar.mass / bar.length)
        return self._tipped(bar, cut, lost, bench) if self.method == "tiles" else self._sliced(bar, cut, lost, bench)

    def _cut(self, bar: Bar, shop: Shop) -> _Cut:
        kerf = 0.0 if self.method == "accordion" else shop.kerf
        pieces = int((bar.length + kerf) / (self.segment + kerf) + 1e-9)
        if pieces < 1:
            raise refuse(
                "segment: the bar is {have} long after its trims and gives no piece of {want}; shorter segments "
                "or a longer bar",
                have=long(bar.length),
                want=long(self.segment),
            )
        return _Cut(pieces, self.segment + kerf, kerf)

    def _tipped(self, bar: Bar, cut: _Cut, lost: Lost, bench: Bench) -> Outcome:
        """Tiles: the upper face of each piece meets the lower face of the one before it."""
        clean, n = bench.shop.face_cleanup, cut.pieces
        top, bottom = clean * (np.arange(n) > 0), clean * (np.arange(n) < n - 1)
        if bar.thickness <= 2 * clean:
            raise refuse(
                "face_cleanup: grinding {clean} off each mating face leaves nothing of a bar {have} thick",
                clean=thin(clean),
                have=thin(bar.thickness),
            )
        mass = sum(
            pare(replace(bar, length=self.segment), bottom=b, top=t)[0].mass for b, t in zip(bottom, top, strict=True)
        )
        whole = bar.mass * n * self.segment / bar.length
        rest = bar.mass - whole - (n - 1) * cut.kerf * bar.mass / bar.length
        borders = np.r_[0.0, np.cumsum(bar.thickness - top - bottom)]
        by = OnEnd(tuple(borders - 0.5 * borders[-1]), _places(bar, cut), tuple(0.5 * (bottom - top)), (1.0,) * n)
        new = replace(
            bar,
            length=float(borders[-1]),
            thickness=self.segment,
            material=Worked(bar.material, by, OPEN if n > 1 else bench.number),
            welded=n == 1,
            layers_counted=bar.layers_counted,
            mean_density=mass / (borders[-1] * bar.width * self.segment),
            skins=bar.skins.stood(),
        )
        return Outcome(new, lost.plus(cleanup=whole - mass, trim=rest), notes=_meeting(bar) if n > 1 else ())

    def _unfolded(self, bar: Bar, cut: _Cut, lost: Lost, bench: Bench) -> Outcome:
        web = WEB_SHARE * bar.thickness if self.leg is None else self.leg
        if web >= self.segment:
            raise refuse(
                "segment: legs of {web}, a third of the bar, leave no room for cuts every {segment}; give longer "
                "segments, or a web",
                web=thin(web),
                segment=thin(self.segment),
            )
        n = cut.pieces
        borders = (np.arange(n + 1) - 0.5 * n) * bar.thickness
        by = OnEnd(
            tuple(borders), _places(bar, cut), (0.0,) * n, tuple(1.0 - 2.0 * (k % 2) for k in range(n)), welded=False
        )
        new = replace(bar, length=n * bar.thickness, thickness=web, material=Worked(bar.material, by, bench.number))
        new = replace(new, mean_density=bar.mass / bar.volume, skins=bar.skins.stood())
        return Outcome(new, lost.plus(trim=bar.mass - new.mass), notes=self._roots(bar, web))

    def _sliced(self, bar: Bar, cut: _Cut, lost: Lost, bench: Bench) -> Outcome:
        """The slice nearest the middle of the bar."""
        places = _places(bar, cut)
        at = min(places, key=abs)
        by = affine(np.array([[0, 0, 1], [0, 1, 0], [-1, 0, 0]], float), (at, 0.0, 0.0))
        new = replace(
            bar,
            length=bar.thickness,
            thickness=self.segment,
            material=worked(bar.material, by, bench.number),
            mean_density=bar.mass / bar.volume,
            skins=bar.skins.stood(),
        )
        sawn = (cut.pieces - 1) * cut.kerf * bar.mass / bar.length
        others = (
            (
                note(
                    "the bar gives {n} slices; one goes on, and the other {rest} are counted as trim here",
                    n=cut.pieces,
                    rest=cut.pieces - 1,
                ),
            )
            if cut.pieces > 1
            else ()
        )
        return Outcome(new, lost.plus(trim=bar.mass - sawn - new.mass), notes=others)

    def _roots(self, bar: Bar, web: float) -> tuple[Note, ...]:
        out = []
        hole = self.segment - web
        if hole < ROOT_SHARE * web:
            out.append(
                note(
                    "between legs of {web} only {hole} is left for the root holes: sharp roots shear and cannot "
                    "be welded again; leave {least} or more",
                    web=thin(web),
                    hole=thin(hole),
                    least=thin(ROOT_SHARE * web),
                )
            )
        if web > _STIFF * bar.thickness:
            out.append(
                note(
                    "legs of {web} in a bar {high} high are too stiff to unfold: the outside of the bends tears; "
                    "about a third of the bar is usual",
                    web=thin(web),
                    high=thin(bar.thickness),
                )
            )
        return tuple(out)


def _places(bar: Bar, cut: _Cut) -> tuple[float, ...]:
    """Middles of the pieces along the bar, the row of pieces centred in it [m]."""
    return tuple(float(v) for v in (np.arange(cut.pieces) - 0.5 * (cut.pieces - 1)) * cut.pitch)


def _meeting(bar: Bar) -> tuple[Note, ...]:
    """Warn where two layers of one steel meet."""
    if bar.laminate is None:
        return ()
    bottom, top = (bar.laminate.steels[k].name for k in bar.laminate.steel[[0, -1]])
    return (
        (note("{steel} meets {steel} where the tiles join: each seam shows as one bold line", steel=top),)
        if bottom == top
        else ()
    )
