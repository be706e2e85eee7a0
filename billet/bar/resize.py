"""Bars made smaller by grinding and cropping, or forged to another size of the same volume."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from billet.bar.bar import Bar, Laminar, corner_share, worked
from billet.bar.hand import fresh, hand_of, seen
from billet.bar.maps import moved, stretch
from billet.bar.outcome import Bench
from billet.bar.profile import Profile
from billet.bar.sizes import Size, pared
from billet.base.messages import long, refuse, thin

_NOTHING = 1e-9  # [m]


def pare(
    bar: Bar,
    *,
    bottom: float = 0.0,
    top: float = 0.0,
    sides: float = 0.0,
    left: float = 0.0,
    right: float = 0.0,
    near: float = 0.0,
) -> tuple[Bar, float]:
    """Take metal off a bar: depths [m] from bottom and top face, from each side, from the left (-x) and right (+x) end;
    `near` [m] is how much more than `sides` comes off the edge side (-y), and less off the other.

    Returns the bar and the mass taken [kg]. Raises `RefusedError` when nothing would be left.
    """
    length, width, thickness = pared(Size(bar.length, bar.width, bar.thickness), bottom, top, sides, left, right)
    for size, had, what in (
        (length, bar.length, "length"),
        (width, bar.width, "width"),
        (thickness, bar.thickness, "thickness"),
    ):
        if size <= 1e-9 * had:
            raise refuse(
                "nothing is left of the bar: {taken} would come off a {what} of {had}; start with more metal or take off less",
                taken=thin(had - size),
                what=what,
                had=thin(had),
            )
    if bar.profile is not None:
        return _pared_profile(bar, bar.profile, bottom, top, sides, left, right)
    share = corner_share(bar.corner)
    if bar.laminate is not None:
        laminate, areal = bar.laminate.skimmed(bottom, top)
        laminate = replace(laminate, thickness=laminate.thickness * (thickness / laminate.total))
        taken = share * (
            areal * bar.length * bar.width + laminate.areal_mass * (bar.length * bar.width - length * width)
        )
        shift = (0.5 * (left - right), near, 0.5 * (bottom - top))
        material = Laminar(laminate, seen(bar.waves, shift=shift))
        density = laminate.areal_mass / laminate.total
        return replace(
            bar, length=length, width=width, thickness=thickness, material=material, mean_density=density
        ), taken
    off_centre = moved((left - right) / 2, near, (bottom - top) / 2)
    material_after = worked(bar.material, off_centre) if near or left != right or bottom != top else bar.material
    skins = bar.skins.cut(bottom, top, sides)
    new = replace(bar, length=length, width=width, thickness=thickness, material=material_after, skins=skins)
    return new, (bar.volume - new.volume) * bar.mean_density


def _pared_profile(
    bar: Bar, profile: Profile, bottom: float, top: float, sides: float, left: float, right: float
) -> tuple[Bar, float]:
    """Take metal off a bar that is drawn out in part: off every part alike."""
    try:
        pared = profile.pared(bottom + top, sides, left, right)
    except ValueError:
        through, across = min(profile.thickness), min(profile.width)
        what, taken, had = max(
            ("thickness", bottom + top, through), ("width", 2 * sides, across), key=lambda one: one[1] / one[2]
        )
        raise refuse(
            "nothing is left of the drawn-out part: {taken} would come off a {what} of {had}; start with more metal or take off less",
            taken=thin(taken),
            what=what,
            had=thin(had),
        ) from None
    placed = pared.centred()
    shift = moved(pared.x[0] - placed.x[0], pared.middle[0] - placed.middle[0], (bottom - top) / 2)
    length, width, thickness = placed.box
    new = replace(
        bar,
        length=length,
        width=width,
        thickness=thickness,
        material=worked(bar.material, shift),
        profile=placed,
        skins=bar.skins.cut(bottom, top, sides),
    )
    return new, (bar.volume - new.volume) * bar.mean_density


def reshape(bar: Bar, length: float, width: float, thickness: float, number: int = 0) -> Bar:
    """Forge a bar to new sizes [m] of the same volume; a laminate only changes its thickness, anything else gets an affine map."""
    if bar.laminate is not None:
        back = (bar.length / length, bar.width / width, bar.thickness / thickness)
        material = Laminar(bar.laminate.to(thickness), seen(bar.waves, back))
        return replace(bar, length=length, width=width, thickness=thickness, material=material)
    by = stretch(length / bar.length, width / bar.width, thickness / bar.thickness)
    skins = bar.skins.scaled(width / bar.width, thickness / bar.thickness)
    return replace(
        bar, length=length, width=width, thickness=thickness, material=worked(bar.material, by, number), skins=skins
    )


def handled(bar: Bar, bench: Bench, before: float) -> Bar:
    """A bar after a draw from a thickness `before` [m], with what the shop's dies or hammers left in its layers."""
    shop = bench.shop
    hand = hand_of(shop.hand, shop.hand_strength, bar.name, bench.number, bar.length, bar.width, bar.thickness, before)
    if hand is None:
        return bar
    if isinstance(bar.material, Laminar):
        return replace(bar, material=replace(bar.material, waves=(*bar.waves, fresh(hand))))
    return replace(bar, material=worked(bar.material, hand, bench.number))


def check_positive(value: float, what: str) -> None:
    """Refuse a size that is zero, or smaller than some atoms."""
    if not np.isfinite(value) or value < _NOTHING:
        raise refuse("the {what} must be more than nothing, found {found}", what=what, found=long(value))
