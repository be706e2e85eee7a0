"""Twist: break the corners and wind the bar about its length. A later draw forges it square again."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator, Field

from billet.bar.bar import Bar, corner_share, worked
from billet.bar.outcome import Bench, Outcome
from billet.base.messages import Note, note, refuse, thin
from billet.forming.round_section import Wound, mass_a_length
from billet.steps.warm import Warm

Array = NDArray[np.floating[Any]]

MOST_SHEAR = 3.0  # skin shear past which a square bar tends to tear (common practice, no source)
MOST_TURNS = 500  # of a bar or a part of it; past anything that is wound, so a slip of the pen
_MOST_OBLONG = 1.25
_EASE, _MOST_EASE = 0.5, 0.1  # a reversal is eased over half a thickness each way, at most a tenth of a part


def _numbers(turns: object) -> object:
    each = turns if isinstance(turns, list | tuple) else [turns]
    if any(isinstance(one, bool) or not isinstance(one, int | float) for one in each):
        raise ValueError(
            f"found {turns!r}, wanted a bare number of turns, or a list of them for equal parts of the bar"
        )
    return turns


class Twist(Warm):
    """Twist the bar about its length; it stays round until it is drawn square.

    A right-handed twist leans like the thread of a common screw. The section with its corners broken is a superellipse
    of exponent 2/corners.
    """

    do: Literal["twist"] = "twist"
    takes_round: ClassVar[bool] = True
    turns: Annotated[float | tuple[float, ...], BeforeValidator(_numbers)] = Field(
        description="Full turns over the whole length, or a list of them over equal parts of it; negative ones wind the other way; example 6.5."
    )
    hand: Literal["right", "left"] = Field(
        "right",
        description='Which way it is wound: a right-handed twist leans like the thread of a common screw. Default "right"; example "left".',
    )
    corners: float = Field(
        0.4,
        ge=0.2,
        le=1.0,
        description="How far the corners are broken first: 0.2 almost square, 0.4 an eased octagon, 1 round. Default 0.4; example 1.0.",
    )

    def apply(self, bar: Bar, bench: Bench) -> Outcome:
        bar, lost = self.heated(bar, bench)
        corner = min(bar.corner, 2 / self.corners)
        by = self._wound(bar, corner)
        new = replace(
            bar,
            corner=corner,
            mean_density=_density(bar, corner),
            material=worked(bar.material, by, bench.number),
            skins=bar.skins.alike(),
        )
        return Outcome(new, lost.plus(trim=bar.mass - new.mass), notes=_notes(new, by))

    def _wound(self, bar: Bar, corner: float) -> Wound:
        turns = np.atleast_1d(np.array(self.turns, float)) * (1 if self.hand == "right" else -1)
        if not len(turns) or len(turns) > 64 or not np.isfinite(turns).all():
            raise refuse("turns: wanted a number of turns, or up to 64 of them for equal parts of the bar")
        if np.abs(turns).max() > MOST_TURNS:
            raise refuse(
                "turns: found {found}, and no bar is wound by more than {most} turns; it would be a slip of the pen",
                found=f"{np.abs(turns).max():.6g}",
                most=MOST_TURNS,
            )
        part = bar.length / len(turns)
        ease = min(_EASE * bar.thickness, _MOST_EASE * part)
        rates = part_rates(2 * np.pi * turns, part, ease)
        reversals = tuple(float(-0.5 * bar.length + part * (k + 1)) for k in range(len(turns) - 1))
        return Wound(
            0.5 * bar.width, 0.5 * bar.thickness, corner, -0.5 * bar.length, tuple(map(float, rates)), reversals, ease
        )


def part_rates(angles: Array, part: float, ease: float) -> Array:
    """Rates [rad/m] that wind each part of length `part` [m] by just its angle [rad] although the rate runs straight
    from one to the next over +-`ease` [m] about each boundary.
    """
    n = len(angles)
    give = ease / (4 * part)
    matrix = np.eye(n)
    for k in range(n - 1):
        matrix[[k, k + 1], [k, k + 1]] -= give
        matrix[[k, k + 1], [k + 1, k]] += give
    return np.asarray(np.linalg.solve(matrix, angles / part), np.float64)


def _density(bar: Bar, corner: float) -> float:
    """Mean density once the corners are broken, layer by layer; a worked bar keeps its own [kg/m3]."""
    if bar.laminate is None:
        return bar.mean_density
    return mass_a_length(bar.laminate, bar.width, corner) / (bar.width * bar.thickness * corner_share(corner))


def _notes(bar: Bar, by: Wound) -> tuple[Note, ...]:
    out = []
    if max(bar.width, bar.thickness) > _MOST_OBLONG * min(bar.width, bar.thickness):
        out.append(
            note(
                "the bar is {wide} by {thick}; a twist runs evenly only in a square bar, draw it square first",
                wide=thin(bar.width),
                thick=thin(bar.thickness),
            )
        )
    shear = skin_shear(by)
    if shear > MOST_SHEAR:
        out.append(
            note(
                "the skin is sheared by {shear}, and past {most} a square bar tends to tear; fewer turns, a "
                "thinner bar or rounder corners",
                shear=f"{shear:.1f}",
                most=f"{MOST_SHEAR:g}",
            )
        )
    return tuple(out)


def skin_shear(by: Wound) -> float:
    """Shear at the point of the outline farthest from the axis: rate times distance [1]."""
    angle = np.linspace(0, 0.5 * np.pi, 181)
    c, s = np.cos(angle) ** by.corner, np.sin(angle) ** by.corner
    far = np.hypot(by.half_width * np.cos(angle), by.half_thickness * np.sin(angle)) / (c + s) ** (1 / by.corner)
    return float(far.max() * np.abs(by.rates).max())
