"""What one heat does to a bar: scale eats its faces while its layers even out."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Joined, Laminar, Material, Worked, corner_share, rebuilt
from billet.bar.carbon_remaining import mean_composition
from billet.bar.decarb_layer import Buried, Skin, Skins
from billet.bar.laminate import Laminate
from billet.bar.layer_thinning import steepness
from billet.bar.measure import points_in
from billet.bar.outcome import Bench, Lost
from billet.bar.resize import pare
from billet.heating.decarb_diffusion import Fire, heated_seam, heated_skin
from billet.heating.layer_diffusion import even_out
from billet.metal.carbon_diffusion import carbon_in_austenite_agren_1986
from billet.metal.heat_through import likely_seconds, share_of_rise
from billet.metal.solve import CARBON_MOVES_ABOVE_K

Array = NDArray[np.float64]

_DEEPEST = 6e-3  # skins are followed down to here [m]
_USUAL_CARBON = 0.6  # [wt%] at which the share of the heating-up is told; it hardly depends on it
_PLACES = 512  # at which the thinning of the layers of a worked bar is looked at


def one_heat(bar: Bar, bench: Bench, temperature: float, seconds: float) -> tuple[Bar, Lost]:
    """One heat at a temperature [K], held for `seconds` [s] after the core is up, in the bench's shop.

    All six faces lose the same depth of metal to scale; the layers even out meanwhile, and while the bar comes up.
    """
    depth = float(bench.shop.scale_depth(temperature, seconds, min(bar.width, bar.thickness), bench.scale_factor))
    if not bench.diffuse or 2 * depth >= min(bar.thickness, bar.width):
        bar, taken = pare(bar, bottom=depth, top=depth, sides=depth, left=depth, right=depth)
        return bar, Lost(scale=taken)
    held = seconds + coming_up(temperature, min(bar.width, bar.thickness))
    fire = Fire(temperature, held, depth, bench.shop.decarb)
    return _worked(bar, fire) if bar.laminate is None else _laminar(bar, bar.laminate, fire)


def coming_up(temperature: float, thickness: Any) -> Any:
    """The seconds at a heat [K] that count for as much diffusion of carbon as coming up to it does, in a bar this thick
    [m], float or array. Alloying elements, which need more heat, are told a little too much.
    """
    return _share_of_rise(temperature) * likely_seconds(thickness)


@cache
def _share_of_rise(temperature: float) -> float:
    if temperature <= CARBON_MOVES_ABOVE_K:
        return 0.0
    return share_of_rise(
        temperature, lambda T: carbon_in_austenite_agren_1986(_USUAL_CARBON, T) * (T > CARBON_MOVES_ABOVE_K)
    )


def _laminar(bar: Bar, laminate: Laminate, fire: Fire) -> tuple[Bar, Lost]:
    """A laminar bar carries its skins in its laminate."""
    depth = fire.recession
    laminate, areal = even_out(laminate, *fire)
    from_faces = areal * bar.length * bar.width * corner_share(bar.corner)
    density = laminate.areal_mass / laminate.total
    bar = replace(bar, material=Laminar(laminate, bar.waves), thickness=laminate.total, mean_density=density)
    bar, taken = pare(bar, sides=depth, left=depth, right=depth)
    return bar, Lost(scale=from_faces + taken)


def _worked(bar: Bar, fire: Fire) -> tuple[Bar, Lost]:
    """The leaves of a worked bar level sealed, as long as their thinning makes it; its skins burn out and its welds
    fade.
    """
    mean, depth = mean_composition(bar, points_in(bar)[:, :_PLACES]), fire.recession
    skins = burnt(bar, fire, mean)
    hot = replace(bar, material=levelled(bar, fire, mean))
    new, taken = pare(hot, bottom=depth, top=depth, sides=depth, left=depth, right=depth)
    return replace(new, skins=skins), Lost(scale=taken)


def burnt(bar: Bar, fire: Fire, composition: Array) -> Skins:
    """The skins of a bar after a heat; sides that were alike stay alike."""
    known: dict[tuple[int, float], Skin] = {}

    def one(skin: Skin, size: float) -> Skin:
        key = (id(skin), min(0.5 * size, _DEEPEST))
        if key not in known:
            known[key] = heated_skin(skin, fire, composition, key[1])
        return known[key]

    return Skins(*(one(s, size) for s, size in zip(bar.skins, [bar.thickness] * 2 + [bar.width] * 2, strict=True)))


def levelled(bar: Bar, fire: Fire, composition: Array) -> Material:
    """The material of a worked bar after a heat: every leaf and weld for the time that, at its own thickness, levels as
    much.

    Fo = D t / h^2 with h the layer as it lies in the bar, its thickness in the leaf times the mean local thinning; so
    the leaf is held t over thinning squared.
    """
    points = points_in(bar)[:, :_PLACES]
    steep = steepness(bar, points)
    leaf_after: dict[int, Laminate] = {}
    seam_after: dict[tuple[int, float], Buried] = {}

    def leaf(laminate: Laminate) -> Laminate:
        if id(laminate) not in leaf_after:
            longer = fire.seconds * steep.leaf.get(id(laminate), steep.mean) ** 2
            leaf_after[id(laminate)] = even_out(laminate, fire.temperature, longer)[0].to(laminate.total)
        return leaf_after[id(laminate)]

    def seams(node: Worked | Joined) -> tuple[Buried, ...]:
        longer = fire.seconds * steep.weld.get(id(node), 1.0) ** 2
        for seam in node.buried:
            if (id(seam), longer) not in seam_after:
                held = Fire(fire.temperature, longer)
                seam_after[id(seam), longer] = heated_seam(seam, held, composition)
        return tuple(seam_after[id(seam), longer] for seam in node.buried)

    return rebuilt(bar.material, leaf, seams)


def heats(bar: Bar, bench: Bench, temperature: float, seconds: float, count: int) -> tuple[Bar, Lost]:
    """Several heats one after the other; the scale falls off between them and starts afresh."""
    lost = Lost()
    for _ in range(count):
        bar, more = one_heat(bar, bench, temperature, seconds)
        lost = lost.plus(scale=more.scale)
    return bar, lost
