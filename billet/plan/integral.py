"""An integral knife is forged from a block: how large it must be, and the steps that draw blade and tang out of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from billet.bar.profile import Profile
from billet.base.shop import Shop
from billet.blade.geometry import STEEL_DENSITY, Blade, extent
from billet.plan.recipe_text import INCH, furnace, heat, length, minutes, up

THIN = (1e-4, INCH / 200)  # steps of a thickness [m], metric and imperial
RULE = (5e-4, INCH / 32)  # steps of what is measured with a rule [m]
_SIDES = 2.0e-3  # left on each side of blade, bolster and tang [m]; judgement
_FACES = 0.5e-3  # left on each face of blade and tang over the grinding allowance, for warp [m]; judgement
_SHOULDER = 0.010  # transition to the tang [m]; judgement
_STEEPEST = 1.05  # transition over the drop of a face, so that the shoulder does not fold; from memory, unverified
_KELVIN, _SECONDS = 1338.15, 180.0  # of a forging heat; common practice, no source
_HEATS = (6, 2)  # blade, tang
Heat = tuple[float, float, int]  # [K], [s], times


@dataclass(frozen=True)
class Block:
    """A block [m] with what scale takes, the steps as plain data of a recipe, and how thick they leave the blade [m]."""

    length: float
    width: float
    thickness: float
    steps: tuple[dict[str, str | int], ...]
    blade: float

    @property
    def mass(self) -> float:
        """Weight [kg]."""
        return self.length * self.width * self.thickness * STEEL_DENSITY


def block_of(
    blade: Blade, shop: Shop, units: str = "metric", later: Sequence[Heat] = (), factor: float = 1.0
) -> Block | None:
    """The block for a blade with a bolster, its design's reserve in hand; None without a bolster.

    Blade and tang at their sections plus allowances, the transitions between, and the bolster's length. `later` are the
    heats after the forging; the scale of every heat after a face has its size is added to it, `factor` times the law's.
    """
    design, hard = blade.design, blade.in_state("hardening")
    bolster = design.bolster
    if bolster is None:
        return None
    face = 2 * (design.allow.face + _FACES)
    forging = furnace(_KELVIN, units)
    heats = [(forging, _SECONDS, _HEATS[0]), (forging, _SECONDS, _HEATS[1]), *later]
    lost = [n * shop.scale_depth(at, held, bolster.thickness, factor) for at, held, n in heats]
    whole, scale = sum(lost), sum(lost[1:])
    wide, thick = (
        up(v + 2 * whole, units, RULE) for v in (bolster.width + 2 * _SIDES, bolster.thickness + 2 * design.allow.face)
    )
    low, high = extent(hard)
    blade_wide = up(high - low + 2 * (_SIDES + scale), units, RULE)
    blade_thick = up(hard.taper.heel + face + 2 * scale, units, THIN)
    transition = max(_STEEPEST * (thick - blade_thick) / 2, design.heel.choil)
    ahead = (1 + design.reserve) * design.length
    volume = ahead * blade_wide * blade_thick
    volume += Profile((0, transition), (wide, blade_wide), (thick, blade_thick), (0, 0)).volume
    tang_long, tang_wide, tang_thick = design.tang.size(hard.taper.heel)
    tang_wide, tang_thick = min(tang_wide + 2 * _SIDES, wide), min(tang_thick + face, thick)
    behind = 0.0
    if tang_long:
        shoulder = max(_SHOULDER, _STEEPEST * (thick - tang_thick) / 2)
        behind = (1 + design.reserve) * tang_long * tang_wide * tang_thick
        behind += Profile((0, shoulder), (wide, tang_wide), (thick, tang_thick), (0, 0)).volume
    kept = up(bolster.length + _SIDES, units)
    keep = up(kept + behind / (wide * thick), units)
    forge: dict[str, str | int] = {"temperature": heat(forging, units), "soak": minutes(_SECONDS)}
    steps: list[dict[str, str | int]] = [
        {
            "do": "draw_out", "keep": length(keep, units), "thickness": length(blade_thick, units),
            "width": length(blade_wide, units), "transition": length(up(transition, units, RULE), units), "level": "spine",
            **forge, "heats": _HEATS[0],
        }
    ]  # fmt: skip
    if tang_long:
        steps.append(
            {
                "do": "draw_out", "end": "handle", "keep": length(kept, units), "thickness": length(up(tang_thick, units, THIN), units),
                "width": length(up(tang_wide, units, RULE), units), "transition": length(up(shoulder, units, RULE), units),
                **forge, "heats": _HEATS[1],
            }
        )  # fmt: skip
    long = up(keep + volume / (wide * thick) + 2 * whole, units)
    return Block(long, wide, thick, tuple(steps), blade_thick)
