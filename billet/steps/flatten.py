"""Flatten: what all reliefs have in common. A step builds the hollows; here they are cut or pressed in, and the bar is
made flat again.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from billet.bar.bar import Bar, worked
from billet.bar.laminate import Laminate
from billet.bar.maps import PointMap
from billet.bar.outcome import Bench, Outcome
from billet.base.fields import Length
from billet.base.messages import Note, long, note, refuse, thin
from billet.forming.planar_flow import NotSpreadError
from billet.forming.relief_flattening import CutAcross, FlatSheet, Means, PressedAcross, means_of, sampled
from billet.forming.relief_shapes import Grooves, Hollows
from billet.steps.warm import Warm

Array = NDArray[np.floating[Any]]
Made = Literal["cut", "pressed"]

_ROUNDING = 1 + 1e-9
_MOST_HOLLOWS = 20_000  # on one face; more are a slip of the pen, and nobody has made them


class Relieved(Warm):
    """Base of the steps that put a relief on the faces and take it off again."""

    thickness_after: Length | None = Field(
        None,
        description='Thickness of the bar once it is flat again. Left out, the most at which no hollow stays; example "4 mm".',
    )

    def carve(self, bar: Bar, bench: Bench, hollows: Hollows, made: Made, *, one_sided: bool) -> Outcome:
        """Heat the bar, put the hollows in and make it flat."""
        if np.isfinite(bar.corner):
            raise refuse("the bar's corners are round and a relief needs flat faces; draw the bar square first")
        many = hollows.many(bar.length, bar.width)
        if many > _MOST_HOLLOWS:
            raise refuse(
                "about {many} hollows would be on a face of {long} by {wide}; make them larger or further apart",
                many=f"{many:,.0f}",
                long=long(bar.length),
                wide=long(bar.width),
            )
        bar, lost = self.heated(bar, bench)
        mean = means_of(hollows, bar.length, bar.width)
        limit = _limit(bar, mean, made, one_sided)
        flat = limit.clean if self.thickness_after is None else self.thickness_after
        _check(flat, limit)
        plane = 0.5 * (flat - bar.thickness) if one_sided else 0.0
        by = _map(bar, hollows, made, flat, plane, mean, solve=bench.diffuse)
        new = _after(bar, by, flat, limit.column, made, bench)
        kept = _kept(bar, hollows, made, flat, plane)
        if kept is not None:
            new = replace(new, mean_density=kept / new.volume)
        lost = lost.plus(grinding=bar.mass - new.mass)
        return Outcome(new, lost, notes=(*_left(flat, limit), *fold_notes(hollows, mean)))


class _Limit(NamedTuple):
    """clean: greatest thickness after at which no hollow remains; column: mean height of the columns; made how."""

    clean: float
    column: float
    made: Made


def _limit(bar: Bar, mean: Means, made: Made, one_sided: bool) -> _Limit:
    if mean.deepest_both >= bar.thickness:
        raise refuse(
            "depth: the hollows go {deep} into a bar {have} thick and would cut it in two; make them shallower",
            deep=thin(mean.deepest_both),
            have=thin(bar.thickness),
        )
    if made == "cut":
        return _Limit(bar.thickness - mean.deepest_both, bar.thickness - mean.top - mean.bottom, made)
    over = [0.5 * bar.thickness + m - d for m, d in ((mean.top, mean.deepest_top), (mean.bottom, mean.deepest_bottom))]
    clean = bar.thickness + mean.top - mean.deepest_top if one_sided else 2 * min(over)
    if clean <= 0:
        raise refuse(
            "depth: nothing flat is left under dies that press {deep} into a bar {have} thick; press less deep",
            deep=thin(mean.deepest_top),
            have=thin(bar.thickness),
        )
    return _Limit(clean, bar.thickness, made)


def _check(flat: float, limit: _Limit) -> None:
    """Refuse a thickness after that would need metal from nowhere."""
    if flat <= 0:
        raise refuse("thickness_after: the thickness after must be more than nothing")
    if flat > limit.column * _ROUNDING:
        raise refuse(
            "thickness_after: {want} after is more than the bar has, {have} on the mean once the relief is in; ask for "
            "{clean} or less",
            want=thin(flat),
            have=thin(limit.column),
            clean=thin(limit.clean),
        )


def _map(bar: Bar, hollows: Hollows, made: Made, flat: float, plane: float, mean: Means, solve: bool) -> PointMap:
    """The way back; `solve` tells at once whether the metal can be spread, else the first point traced does."""
    if isinstance(hollows, Grooves):
        if made == "cut":
            return CutAcross(hollows, bar.thickness, flat)
        return PressedAcross(hollows, bar.thickness, (mean.top, mean.bottom), plane)
    by = FlatSheet(hollows, made, bar.length, bar.width, bar.thickness, flat, plane)
    if not solve:
        return by
    try:
        by.pull(*np.zeros((3, 1)))
    except NotSpreadError:
        raise refuse(
            "depth: this relief is too deep or too steep to be made flat ({deep} in {have}); make it shallower or "
            "wider",
            deep=thin(mean.deepest_both),
            have=thin(bar.thickness),
        ) from None
    return by


def _after(bar: Bar, by: PointMap, flat: float, column: float, made: Made, bench: Bench) -> Bar:
    """The flat bar: forged longer, or ground thinner."""
    length, ground = bar.length * column / flat if made == "cut" else bar.length, 0.5 * (bar.thickness - flat)
    return replace(
        bar,
        length=length,
        thickness=flat,
        material=worked(bar.material, by, bench.number),
        mean_density=bar.mass / bar.volume,
        skins=bar.skins.scaled(1.0, flat / column) if made == "cut" else bar.skins.cut(ground, ground),
    )


def _kept(bar: Bar, hollows: Hollows, made: Made, flat: float, plane: float) -> float | None:
    """Mass left [kg], layer by layer; None for a bar whose layers are no longer flat."""
    if bar.laminate is None:
        return None
    d, half = sampled(hollows, bar.length, bar.width), 0.5 * bar.thickness
    if made == "cut":
        low, high, share = d.bottom - half, half - d.top, np.ones(1)
    else:
        foot = d.bottom - d.bottom.mean() - half
        share = (half + d.top.mean() - d.top - foot) / bar.thickness
        low, high = ((plane + s * 0.5 * flat - foot) / share - half for s in (-1, 1))
    return float((share * (_below(bar.laminate, high) - _below(bar.laminate, low))).mean()) * bar.length * bar.width


def _below(laminate: Laminate, z: Array) -> Array:
    """Mass under a unit of face below a height, the outer layers going on for ever [kg/m2]."""
    mass = np.r_[0.0, np.cumsum(laminate.thickness * laminate.density)]
    edges = laminate.edges
    outside = np.minimum(z - edges[0], 0) * laminate.density[0] + np.maximum(z - edges[-1], 0) * laminate.density[-1]
    return np.interp(z, edges, mass) + outside


def _left(flat: float, limit: _Limit) -> tuple[Note, ...]:
    """Warn of hollows that stay."""
    if flat <= limit.clean * _ROUNDING:
        return ()
    if limit.made == "cut":
        return (
            note(
                "hollows remain: the thinnest column is {thin} and the bar is left {flat} thick; forge to {thin} "
                "or less",
                thin=thin(limit.clean),
                flat=thin(flat),
            ),
        )
    return (
        note(
            "hollows remain up to {deep} deep when ground to {flat}, and are counted as if they were full; grind "
            "to {clean} or less",
            deep=thin(0.5 * (flat - limit.clean)),
            flat=thin(flat),
            clean=thin(limit.clean),
        ),
    )


def fold_notes(hollows: Hollows, mean: Means) -> tuple[Note, ...]:
    """Warn of walls that fold over: hollows closer than twice their depth, or deeper than they are wide (trade rule, no
    source).
    """
    deepest = max(mean.deepest_top, mean.deepest_bottom)
    apart = getattr(hollows, "pitch", getattr(hollows, "spacing", None))
    out = []
    if apart is not None and apart < 2 * deepest:
        out.append(
            note(
                "the hollows are {apart} apart and {deep} deep; closer than twice their depth, their walls fold "
                "over into cold shuts",
                apart=thin(apart),
                deep=thin(deepest),
            )
        )
    if apart is not None and hollows.mark > apart * _ROUNDING:
        out.append(
            note(
                "the hollows are {wide} wide and {apart} apart and run into one another",
                wide=thin(hollows.mark),
                apart=thin(apart),
            )
        )
    if hollows.mark < deepest and apart is not None:
        out.append(
            note(
                "the hollows are {wide} wide and {deep} deep; deeper than they are wide, they fold shut",
                wide=thin(hollows.mark),
                deep=thin(deepest),
            )
        )
    return tuple(out)
