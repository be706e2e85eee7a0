"""Restack and fold: cut the bar and lay the pieces on one another."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from billet.bar.bar import Bar, Joined, Laminar, Material, Worked, corner_share, worked
from billet.bar.decarb_layer import Buried, Skins, buried
from billet.bar.hand import Waves, seen
from billet.bar.hand import laid_up as piled
from billet.bar.laminate import OPEN, Laminate, plate, stacked
from billet.bar.maps import Layers, affine
from billet.bar.outcome import Bench, Lost, Outcome
from billet.bar.resize import pare
from billet.bar.sizes import laid_up, piece_length
from billet.base.errors import InputError
from billet.base.fields import Repeats
from billet.base.messages import Note, long, note, refuse, thin
from billet.steel.plate import read_plate
from billet.steps.draw import Draw
from billet.steps.step import Step
from billet.steps.weld import Weld

_BOLD = 1.3  # times a steel's usual layer from which a doubled one stands out (judgement, no source)


class Cycle(Step):
    """A restack or fold that may carry its own weld and draw, and be repeated as a whole."""

    lays_up: ClassVar[bool] = True
    stacks_loose: ClassVar[bool] = True
    weld: Weld | None = Field(
        None,
        description='The weld that follows, as a table of its own. Left out, give the weld as the next step; example { temperature = "1150 C", soak = "8 min", heats = 2 }.',
    )
    draw: Draw | None = Field(
        None,
        description='The draw that follows the weld, as a table of its own. Left out, the bar stays as thick as it was laid up; example { thickness = "12 mm", width = "45 mm", temperature = "1100 C", soak = "3 min", heats = 2 }.',
    )
    times: Repeats = Field(
        1, description="How often the whole step is done, weld and draw with it. Default 1; example 3."
    )

    def unfolded(self) -> tuple[Step, ...]:
        alone = self.model_copy(update={"weld": None, "draw": None, "times": 1})
        once = [alone, *(step for step in (self.weld, self.draw) if step is not None)]
        return tuple(once) * self.times


class Restack(Cycle):
    """Crop the ends, cut into equal pieces, grind the mating faces and stack them.

    flip = "alternate" turns every second piece over about its width. A spacer is a plate laid between the pieces.
    """

    do: Literal["restack"] = "restack"
    pieces: int = Field(
        ge=2, le=100, strict=True, description="How many equal pieces the bar is cut into, 2 to 100; example 4."
    )
    flip: Literal["none", "alternate"] = Field(
        "none",
        description='Whether every second piece is turned over about its width. Default "none"; example "alternate".',
    )
    spacer: str | None = Field(
        None,
        description='A plate laid between the pieces, written as in a stack. Left out, there is none; example "15N20 0.8 mm".',
    )

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        turned = tuple(self.flip == "alternate" and k % 2 == 1 for k in range(self.pieces))
        return lay_up(bar, bench, turned, bench.shop.kerf, self._laid_between(bench))

    def _laid_between(self, bench: Bench) -> Laminate | None:
        if self.spacer is None:
            return None
        try:
            return plate(*read_plate(self.spacer, bench.steels or {}, "spacer"))
        except InputError as error:
            raise refuse("{why}", why=str(error)) from None


class Fold(Cycle):
    """Score the bar across the middle and fold it over. The upper half lies upside down: the same face meets itself."""

    do: Literal["fold"] = "fold"

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        return lay_up(bar, bench, (False, True), 0.0, None)


def lay_up(bar: Bar, bench: Bench, turned: tuple[bool, ...], kerf: float, spacer: Laminate | None) -> Outcome:
    """Cut a bar into as many pieces as `turned` is long and lay them up, piece 0 (from the -x end) lowest."""
    pieces, shop = len(turned), bench.shop
    bar, trimmed = pare(bar, left=shop.trims[0], right=shop.trims[1])
    length = piece_length(bar.length, pieces, kerf)
    if length <= 0:
        raise refuse(
            "pieces: the bar is {have} long after its trims, and {pieces} pieces with {kerf} of kerf between them need more; cut fewer pieces or start longer",
            have=long(bar.length),
            pieces=pieces,
            kerf=long(kerf),
        )
    if bar.thickness <= (2 if pieces > 2 else 1) * shop.face_cleanup:
        raise refuse(
            "face_cleanup: grinding {clean} off each mating face leaves nothing of a bar {have} thick; restack while it is thicker, or clean up less",
            clean=thin(shop.face_cleanup),
            have=thin(bar.thickness),
        )
    sawn = (pieces - 1) * kerf * bar.mass / bar.length
    parts = [_piece(bar, length, k, pieces, over, shop.face_cleanup) for k, over in enumerate(turned)]
    cleaned = bar.mass * (pieces * length / bar.length) - sum(p.mass for p in parts)
    material = (
        _laminar(bar, parts, turned, length, kerf, spacer)
        if bar.laminate is not None
        else _layered(bar, parts, turned, length, kerf, shop.face_cleanup, spacer)
    )
    return _finish(bar, parts, turned, length, material, spacer, Lost(kerf=sawn, cleanup=cleaned, trim=trimmed))


def _piece(bar: Bar, length: float, k: int, pieces: int, over: bool, clean: float) -> Bar:
    """Piece k with its mating faces ground, not yet turned."""
    low, high = clean * (k > 0), clean * (k < pieces - 1)
    bottom, top = (high, low) if over else (low, high)
    cut = replace(bar, length=length)
    return pare(cut, bottom=bottom, top=top)[0]


def _laminar(
    bar: Bar, parts: list[Bar], turned: tuple[bool, ...], length: float, kerf: float, spacer: Laminate | None
) -> Material:
    """A laminar bar stays one laminate; the seams are open joints in it."""
    laminates: list[Laminate] = []
    waves: list[tuple[Waves, float]] = []
    at = _along(bar, len(parts), length, kerf)
    for k, (part, over) in enumerate(zip(parts, turned, strict=True)):
        assert part.laminate is not None
        if spacer is not None and k > 0:
            laminates.append(spacer)
            waves.append(((), spacer.total))
        sign = -1.0 if over else 1.0
        waves.append((seen(part.waves, (sign, 1.0, sign), (at[k], 0.0, 0.0)), part.thickness))
        laminates.append(part.laminate.turned_over() if over else part.laminate)
    return Laminar(stacked(laminates), piled(waves))


def _along(bar: Bar, pieces: int, length: float, kerf: float) -> NDArray[np.float64]:
    """Where the middles of the pieces lay along the bar [m]."""
    return np.asarray(-0.5 * bar.length + 0.5 * length + np.arange(pieces) * (length + kerf))


def _layered(
    bar: Bar,
    parts: list[Bar],
    turned: tuple[bool, ...],
    length: float,
    kerf: float,
    clean: float,
    spacer: Laminate | None,
) -> Material:
    """A worked bar gets a map that jumps at the seams, or a join when plates lie between the pieces."""
    pieces = len(parts)
    at = _along(bar, pieces, length, kerf)
    up = np.array([_lift(k, pieces, over, clean) for k, over in enumerate(turned)])
    heights = np.array([p.thickness for p in parts])
    if spacer is None:
        faces = np.r_[0.0, np.cumsum(heights)]
        by = Layers(tuple(faces - 0.5 * faces[-1]), turned, tuple(at), tuple(up))
        return Worked(bar.material, by, OPEN, _buried(faced(parts, turned), heights))
    materials: list[Material] = []
    thick: list[float] = []
    skins: list[Skins] = []
    for k, over in enumerate(turned):
        if k:
            materials.append(Laminar(spacer))
            thick.append(spacer.total)
            skins.append(Skins())
        sign = -1.0 if over else 1.0
        materials.append(worked(bar.material, affine(np.diag([sign, 1.0, sign]), (at[k], 0.0, up[k]))))
        thick.append(heights[k])
        skins.append(faced(parts, turned)[k])
    faces = np.r_[0.0, np.cumsum(thick)]
    return Joined(tuple(materials), "z", tuple(faces - 0.5 * faces[-1]), OPEN, _buried(skins, np.array(thick)))


def faced(parts: list[Bar], turned: tuple[bool, ...]) -> list[Skins]:
    """The skins of the pieces as they lie."""
    return [part.skins.tipped() if over else part.skins for part, over in zip(parts, turned, strict=True)]


def _buried(skins: list[Skins], heights: NDArray[np.float64]) -> tuple[Buried, ...]:
    """The skins that meet in each weld, lowest first; they may spread to the middles of the pieces."""
    meeting = zip(pairwise(skins), pairwise(0.5 * heights), strict=True)
    return tuple(buried(low.top, high.bottom, reach) for (low, high), reach in meeting)


def _lift(k: int, pieces: int, over: bool, clean: float) -> float:
    """Height of a ground piece's centre in the bar it was cut from [m]."""
    low, high = clean * (k > 0), clean * (k < pieces - 1)
    bottom, top = (high, low) if over else (low, high)
    return 0.5 * (bottom - top)


def _finish(
    bar: Bar,
    parts: list[Bar],
    turned: tuple[bool, ...],
    length: float,
    material: Material,
    spacer: Laminate | None,
    lost: Lost,
) -> Outcome:
    """The bar of the laid-up pieces, its counts and its warnings."""
    pieces = len(parts)
    share = corner_share(bar.corner)
    spacers = 0 if spacer is None else pieces - 1
    added = spacers * (0.0 if spacer is None else spacer.areal_mass) * length * bar.width * share
    thickness = laid_up(
        bar.thickness, pieces, bar.thickness - parts[0].thickness, 0.0 if spacer is None else spacer.total
    )
    counted = bar.layers_counted * pieces + spacers
    volume = length * bar.width * thickness * share
    mass = sum(p.mass for p in parts) + added
    lying = faced(parts, turned)
    new = replace(
        bar,
        length=length,
        thickness=thickness,
        material=material,
        layers_counted=counted,
        welded=False,
        mean_density=mass / volume,
        skins=lying[0]._replace(top=lying[-1].top),
    )
    return Outcome(new, lost, added, _meeting_notes(parts, turned, spacer))


def _usual(laminate: Laminate, name: str) -> float:
    """Thickness of the middlemost of a steel's layers inside a laminate [m]; of its faces when it has none inside."""
    steels = [laminate.steels[k].name for k in laminate.steel[laminate.starts]]
    inside = [t for s, t in zip(steels[1:-1], laminate.layer_thickness[1:-1], strict=True) if s == name]
    return float(np.median(inside or [t for s, t in zip(steels, laminate.layer_thickness, strict=True) if s == name]))


def _meeting_notes(parts: list[Bar], turned: tuple[bool, ...], spacer: Laminate | None) -> tuple[Note, ...]:
    """Warn where layers of one steel meet, piece on piece or piece on spacer, and will show as one bold layer; faces
    ground so thin that they make no more than one do not.
    """
    whole = parts[0].laminate
    if whole is None:
        return ()
    ends = []
    for part, over in zip(parts, turned, strict=True):
        assert part.laminate is not None
        faces = [
            (part.laminate.steels[part.laminate.steel[i]].name, float(part.laminate.layer_thickness[i]))
            for i in (0, -1)
        ]
        ends.append(faces[::-1] if over else faces)
    laid = () if spacer is None else ((spacer.steels[spacer.steel[0]].name, spacer.total),)
    remedy = (
        "a spacer plate of the other steel prevents it"
        if spacer is None
        else "lay a spacer of the other steel, or cap the stack with it"
    )
    for (_, below), (above, _) in pairwise(ends):
        for steel, thick in _met((below, *laid, above)):
            if thick > _BOLD * _usual(whole, steel):
                return (
                    note(
                        "{steel} meets {steel} where the pieces join: each seam shows as one bold layer; {remedy}",
                        steel=steel,
                        remedy=remedy,
                    ),
                )
    return ()


def _met(seam: tuple[tuple[str, float], ...]) -> list[tuple[str, float]]:
    """Steel and thickness [m] of every run of one steel across a seam, lowest first."""
    runs = [(steel, [t for _, t in run]) for steel, run in groupby(seam, key=lambda face: face[0])]
    return [(steel, sum(thick)) for steel, thick in runs if len(thick) > 1]
