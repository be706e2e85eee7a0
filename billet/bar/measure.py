"""What can be said about a bar at any step: its layers, steels and carbon.

A laminar bar is measured exactly. A worked bar is sampled at scattered points through its metal, each traced back to its
layer; a share is then good to about one in two hundred.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar, Joined, Material, Worked
from billet.bar.carbon_remaining import SOUND, carbon_left, under_faces
from billet.bar.laminate import Laminate
from billet.bar.maps import Affine, Layers
from billet.bar.trace import cell_of, layers_crossed, trace
from billet.metal.decarburisation import depth_in_profile
from billet.steel.library import ELEMENTS, Steel

Array = NDArray[np.float64]

SAMPLES = 16_384
_CARBON = ELEMENTS.index("C")
SOFT, HALF = 0.92, 0.50  # shares of the mean carbon the metal was bought with that bound the soft skin
CLAD = 0.10  # of the bar from which on a lean outer layer is a jacket: soft as bought, it has no skin to lose


@dataclass(frozen=True)
class Measures:
    """Figures of one row. None where a figure has no meaning: single layers cannot be told apart after the flat order is gone.

    `carbon` is the mean now, `carbon_had` [wt%] that of the same metal as bought: soft skins are counted from it.
    """

    distinct: int | None
    mean_layer: float | None
    thinnest_layer: float | None
    layers_per_m: float | None
    lines_per_m: float | None
    shares: dict[str, float]
    carbon: float
    carbon_had: float
    carbon_deviation: float
    alloy_deviation: float
    soft_skin: float | None
    half_carbon: float | None
    outer_bottom: dict[str, float | str] | None
    outer_top: dict[str, float | str] | None
    start: tuple[float, float] = (0.0, 0.0)

    @property
    def carbon_contrast(self) -> float | None:
        """Root mean square deviation of carbon between the layers, inside the soft skin, over the plates' as laid; None when they had none."""
        return self.carbon_deviation / self.start[0] if self.start[0] > 1e-9 else None

    @property
    def alloy_contrast(self) -> float | None:
        """The same for all other elements together."""
        return self.alloy_deviation / self.start[1] if self.start[1] > 1e-9 else None


def measure(bar: Bar) -> Measures:
    """Measure a bar."""
    return _of_laminate(bar.laminate) if bar.laminate is not None else _of_worked(bar)


def _of_laminate(lam: Laminate) -> Measures:
    layers = lam.layer_thickness
    had = _bought(lam)
    faces = hard_faces(lam, SOFT * had)
    skins = [max((depth_in_profile(*face, share * had) for face in faces), default=None) for share in (SOFT, HALF)]
    skin = min(skins[0] or 0.0, 0.45 * lam.total)
    deviations = lam.deviation(skin=skin)
    laid = lam.deviation_as_laid(skin)
    return Measures(
        distinct=lam.distinct,
        mean_layer=lam.total / lam.distinct,
        thinnest_layer=float(layers.min()),
        layers_per_m=lam.distinct / lam.total,
        lines_per_m=None,
        shares=lam.shares(),
        carbon=float(lam.mean()[_CARBON]),
        carbon_had=had,
        carbon_deviation=deviations[0],
        alloy_deviation=deviations[1],
        soft_skin=None if skins[0] is None else min(skins[0], 0.5 * lam.total),
        half_carbon=None if skins[1] is None else min(skins[1], 0.5 * lam.total),
        outer_bottom={"steel": lam.steels[lam.steel[0]].name, "left_m": float(layers[0])},
        outer_top={"steel": lam.steels[lam.steel[-1]].name, "left_m": float(layers[-1])},
        start=laid,
    )


def _bought(lam: Laminate) -> float:
    """Mean carbon [wt%] of the metal of a laminate as it was bought: what burns out of it does not lower it."""
    carbon = np.array([s.carbon for s in lam.steels])[lam.steel]
    mass = lam.thickness * lam.density
    return float(mass @ carbon / mass.sum())


def jackets(lam: Laminate, level: float) -> list[Steel | None]:
    """The steel of the bottom and of the top layer where it is a jacket, else None: at least a tenth of the laminate
    and bought with less carbon than `level` [wt%].
    """
    outer = ((lam.steels[lam.steel[end]], float(lam.layer_thickness[end])) for end in (0, -1))
    return [s if s.carbon < level and thick >= CLAD * lam.total else None for s, thick in outer]


def hard_faces(lam: Laminate, level: float) -> list[tuple[Array, Array]]:
    """Cells (n,) [m] and carbon (n,) [wt%] from each face inwards that is no jacket, and so can have a soft skin."""
    carbon = lam.composition[:, _CARBON]
    inwards = ((lam.thickness, carbon), (lam.thickness[::-1], carbon[::-1]))
    return [face for face, jacket in zip(inwards, jackets(lam, level), strict=True) if jacket is None]


@dataclass(frozen=True)
class SteelInBar:
    """One steel of a bar as it is now: share by mass [-] and mean composition by mass (elements,) [wt%]."""

    steel: Steel
    share: float
    composition: Array


def by_steel(bar: Bar) -> list[SteelInBar]:
    """Each steel of a bar with its share and what diffusion has made of it, the soft skins left out where the bar is laminar."""
    if bar.laminate is not None:
        lam = bar.laminate
        skin = _skin(lam)
        depth = lam.edges - lam.edges[0]
        inside = np.maximum(np.minimum(depth[1:], depth[-1] - skin) - np.maximum(depth[:-1], skin), 0.0)
        return _grouped([(s, lam.steel == k) for k, s in enumerate(lam.steels)], inside * lam.density, lam.composition)
    points = points_in(bar)
    composition, density, steel, beneath = _sampled(bar, points)
    known = list(dict.fromkeys(s for leaf in bar.leaves for s in leaf.steels))
    return _grouped([(s, steel == s.name) for s in known], np.where(beneath, density, 0.0), composition)


def _grouped(steels: list[tuple[Steel, NDArray[np.bool_]]], mass: Array, composition: Array) -> list[SteelInBar]:
    whole, out = float(mass.sum()), []
    for steel, mine in steels:
        part = float(mass[mine].sum())
        if part > 1e-9 * whole:
            out.append(SteelInBar(steel, part / whole, mass[mine] @ composition[mine] / part))
    return out


@cache
def _cloud() -> Array:
    """Scattered points in the unit cube (3, SAMPLES), the same every time: a Latin hypercube, even along each axis and without a
    rhythm that grooves or layers could fall in with.
    """
    rng = np.random.default_rng(7)
    return np.stack([(rng.permutation(SAMPLES) + rng.random(SAMPLES)) / SAMPLES for _ in range(3)]) - 0.5


def points_in(bar: Bar) -> Array:
    """Scattered points (3, n) evenly through the bar's metal [m]."""
    if bar.profile is not None:
        along, across, through = _cloud()
        x = bar.profile.where((along + 0.5) * bar.profile.volume)
        width, thickness, middle = bar.profile.at(x)
        return np.stack([x, middle + across * width, through * thickness])
    points = _cloud() * np.array([[bar.length], [bar.width], [bar.thickness]])
    return points[:, bar.contains(points)]


def _of_worked(bar: Bar) -> Measures:
    points = points_in(bar)
    composition, density, names, beneath = _sampled(bar, points)
    fresh = _as_bought(bar, names)
    shares = {str(n): float(density[names == n].sum() / density.sum()) for n in dict.fromkeys(names)}
    sound = beneath & (carbon_left(bar, points) >= SOUND)
    now, laid = (_deviations(c[sound] if sound.any() else c) for c in (composition, fresh))
    carbon, had = (float(density @ c[:, _CARBON] / density.sum()) for c in (composition, fresh))
    skins = [max(depth_in_profile(h, c, share * had) for h, c in under_faces(bar)) for share in (SOFT, HALF)]
    deep = _middle(bar)
    distinct = _through_the_middle(bar, deep) if _in_order(bar.material) else None
    return Measures(
        distinct=distinct,
        mean_layer=None if distinct is None else 2 * deep / distinct,
        thinnest_layer=None,
        layers_per_m=None if distinct is None else distinct / (2 * deep),
        lines_per_m=_lines(bar),
        shares=shares,
        carbon=carbon,
        carbon_had=had,
        carbon_deviation=now[0],
        alloy_deviation=now[1],
        soft_skin=skins[0],
        half_carbon=skins[1],
        outer_bottom=None,
        outer_top=None,
        start=laid,
    )


def _sampled(bar: Bar, points: Array) -> tuple[Array, Array, NDArray[np.object_], NDArray[np.bool_]]:
    """Composition (n, elements), density (n,) and name of the steel (n,) at points (3, n), and whether each lies beneath
    the soft skins its layers took along when the bar was first worked.
    """
    n = points.shape[1]
    sample = trace(bar.material, points[0], points[1], points[2])
    leaf, z = np.broadcast_to(sample.leaf, n), np.broadcast_to(sample.z, n)
    composition, density, names = np.empty((n, len(ELEMENTS))), np.empty(n), np.empty(n, object)
    beneath = np.ones(n, bool)
    for k, laminate in enumerate(bar.leaves):
        mine = np.flatnonzero(leaf == k)
        cell = cell_of(laminate, z[mine])
        composition[mine], density[mine] = laminate.composition[cell], laminate.density[cell]
        names[mine] = np.array([s.name for s in laminate.steels], object)[laminate.steel[cell]]
        beneath[mine] = np.abs(z[mine]) <= 0.5 * laminate.total - _skin(laminate)
    composition[:, _CARBON] *= carbon_left(bar, points)
    return composition, density, names, beneath if beneath.any() else np.ones(n, bool)


def _skin(lam: Laminate) -> float:
    """Depth of the soft skin to leave out at either face of a laminate [m], short of its middle."""
    return min(_of_laminate(lam).soft_skin or 0.0, 0.45 * lam.total)


def _as_bought(bar: Bar, names: NDArray[np.object_]) -> Array:
    """Composition (n, elements) [wt%] of the steels of these names (n,), as they were bought."""
    known = {s.name: s.composition for leaf in bar.leaves for s in leaf.steels}
    return np.array([known[n] for n in names])


def _deviations(composition: Array) -> tuple[float, float]:
    variance = composition.var(axis=0)
    return float(np.sqrt(variance[_CARBON])), float(np.sqrt(np.delete(variance, _CARBON).sum()))


def _in_order(material: Material) -> bool:
    """Tell whether the layers still lie on one another: every map has kept their order, and no bar lies beside another."""
    if isinstance(material, Worked):
        kept = getattr(material.map, "keeps_order", isinstance(material.map, Layers) or _upright(material.map))
        return bool(kept) and _in_order(material.parent)
    if isinstance(material, Joined):
        return material.axis == "z" and all(_in_order(part) for part in material.parts)
    return True


def _upright(by: object) -> bool:
    return isinstance(by, Affine) and abs(by.matrix[2][2]) > 0 and by.matrix[2][0] == by.matrix[2][1] == 0


def _middle(bar: Bar) -> float:
    """Half the height of the metal in the middle of the bar; less than half its thickness once it is forged to shape [m]."""
    if bar.profile is not None:
        return 0.5 * float(bar.profile.at(np.zeros(1))[1][0])
    z = np.linspace(0, 0.5 * bar.thickness * (1 - 1e-9), 2001)
    return float(z[bar.contains(np.stack([0 * z, 0 * z, z]))].max())


def _through_the_middle(bar: Bar, deep: float) -> int:
    y = 0.0 if bar.profile is None else float(bar.profile.at(np.zeros(1))[2][0])
    return layers_crossed(bar, np.array([0.0, y, -deep]), np.array([0.0, y, deep]), 40_001)


def _lines(bar: Bar) -> float | None:
    """Lines met per metre along the middle of the top face, just under the skin [1/m]; None where the face is no plane."""
    if bar.profile is not None:
        return None
    high = 0.5 * bar.thickness * (1 - 1e-6)
    ends = 0.49 * bar.length
    return layers_crossed(bar, np.array([-ends, 0.0, high]), np.array([ends, 0.0, high]), 20_001) / (2 * ends)
