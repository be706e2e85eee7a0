"""What a plan shows on the ground face: lines, their widths, how dark it is, and the pattern's own figures.

Everything is traced along single lines over the face, by the same code that draws the picture; nothing is rendered.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from billet.bar.bar import Bar
from billet.bar.crossed import Crossed, crossed
from billet.blade import Blade, Side

Array = NDArray[np.float64]
PLACES = {"heel": 0.06, "middle": 0.5, "tip": 0.85}  # share of the length from the heel
_UP, _ALONG = 4001, 6001  # points traced over the height and along the blade
_MARGIN = 1e-4  # of the height, left out at edge and spine
_MARK = 0.25  # a swing of so much of the largest counts as a rung, a star or a drop; judgement
_NEAR = 0.15e-3  # [m] a seam nearer than this to the middle plane lies in the cutting edge; judgement
SIDES: tuple[Side, Side] = ("left", "right")


@dataclass(frozen=True)
class Station:
    """One line on one face: from edge to spine, or along the blade at a share of its height.

    place, side; height [m], or the length of the line along; lines: borders of steel crossed; median: width of a usual line as drawn [m], None with
    fewer than three lines; widest: the boldest line over a usual one, the stretching of grind and pattern taken out;
    bands: lines bolder than asked; dark: share of the height that is the dark steel; core: height [m] up to which the
    core shows.
    """

    place: str
    side: Side
    height: float
    lines: int
    median: float | None
    widest: float
    bands: int
    dark: float
    core: float | None

    @property
    def lines_per_m(self) -> float:
        """Lines over a length of the height [1/m]."""
        return self.lines / self.height


@dataclass(frozen=True)
class Face:
    """All stations of both faces, and the pattern's own figures by name (SI)."""

    stations: tuple[Station, ...]
    pattern: dict[str, float] = field(default_factory=dict)
    edge_seam: bool = False

    @property
    def widest(self) -> float:
        """The boldest line anywhere over a usual one there."""
        return max(s.widest for s in self.stations)

    @property
    def bands(self) -> int:
        """Lines bolder than asked, on the worst line traced."""
        return max(s.bands for s in self.stations)

    @property
    def dark(self) -> float:
        """Share of the dark steel over both faces."""
        weight = np.array([s.height for s in self.stations])
        return float(weight @ np.array([s.dark for s in self.stations]) / weight.sum())

    def at(self, place: str, side: Side = "right") -> Station:
        """One station."""
        return next(s for s in self.stations if s.place == place and s.side == side)


def judge(bar: Bar, blade: Blade, dark: str, pattern: str, most: float) -> Face:
    """Trace the faces of a blade in a bar: `dark` names the dark steel, `most` is the widest line allowed, in times a
    usual one.
    """
    found = [_up(bar, blade, place, side, dark, most) for side in SIDES for place in PLACES]
    lie_flat = pattern in ("laminate", "clad")
    if not lie_flat:
        found += [_across(bar, blade, share, side, dark, most) for side in SIDES for share in (0.2, 0.4, 0.6, 0.8)]
    return Face(tuple(found), _own(bar, blade, pattern, found), _edge_seam(bar, blade))


def _up(bar: Bar, blade: Blade, place: str, side: Side, dark: str, most: float) -> Station:
    """A line from edge to spine."""
    x = PLACES[place] * blade.length
    low, high = float(blade.edge_y(x)), float(blade.height(x))
    share = np.linspace(_MARGIN, 1 - _MARGIN, _UP)
    points = blade.face_points(np.full(_UP, x), low + high * share, side, blade.placement(bar.length, bar.width))
    return _station(crossed(bar, points), share * high, place, side, dark, most)


def _across(bar: Bar, blade: Blade, share: float, side: Side, dark: str, most: float) -> Station:
    """A line along the blade, for patterns whose lines cross it."""
    x, met = _along(bar, blade, share, side)
    return _station(met, x, f"{share:g} up", side, dark, most)


def _station(met: Crossed, at: Array, place: str, side: Side, dark: str, most: float) -> Station:
    change, high = met.changes, float(np.ptp(at))
    widths, extents = _runs(met, at)
    usual, drawn = _usual(met, extents), _usual(met, widths)
    bold = extents / usual if usual else np.zeros(len(extents))
    bold = bold[~met.core[np.r_[0, change + 1]]]
    outside = ~met.core
    number = met.names.index(dark) if dark in met.names else -1
    core = float(at[change[0]]) if len(change) and met.core[0] else None
    return Station(
        place,
        side,
        high,
        len(change),
        drawn,
        float(bold.max(initial=0.0)),
        int(np.count_nonzero(bold > most)),
        float(np.mean(met.steel[outside] == number)) if outside.any() else 0.0,
        core,
    )


def _runs(met: Crossed, at: Array) -> tuple[Array, Array]:
    """Every run of one steel: its width as drawn [m], and how much of its laminate it goes through [m]."""
    starts = np.r_[0, met.changes + 1]
    step = np.abs(np.diff(met.z))
    step[(met.key[1:] != met.key[:-1]) | (met.leaf[1:] != met.leaf[:-1])] = 0.0
    turned = np.r_[False, (np.diff(met.z)[1:] * np.diff(met.z)[:-1]) < 0, False]
    path = np.r_[0.0, np.cumsum(step)]
    ends = np.r_[starts[1:], len(at) - 1]
    extents = path[ends] - path[starts]
    for k in np.unique(np.searchsorted(starts, np.flatnonzero(turned), side="right") - 1):
        mine = slice(starts[k], ends[k] + 1)  # a line that turns back goes through its layer once
        jumps = np.r_[0, np.flatnonzero(np.diff(met.key[mine])) + 1]
        parts = np.split(met.z[mine], jumps[1:])
        extents[k] = sum(float(np.ptp(p)) for p in parts)
    return at[ends] - at[starts], extents


def _usual(met: Crossed, sizes: Array) -> float | None:
    """A usual line: the mean of the median over the lines of each steel, cores and cut ends left out."""
    starts = np.r_[0, met.changes + 1]
    if len(starts) < 3:
        return None
    steel, whole = met.steel[starts][1:-1], ~met.core[starts][1:-1]
    inner = sizes[1:-1]
    medians = [float(np.median(inner[(steel == k) & whole])) for k in np.unique(steel[whole])]
    return float(np.mean(medians)) if medians else None


def _edge_seam(bar: Bar, blade: Blade) -> bool:
    """Whether a weld plane of the last restack lies in the cutting edge."""
    from billet.bar.trace import seams

    x = np.linspace(0.1, 0.8, 9) * blade.length
    at = blade.placement(bar.length, bar.width)
    points = np.stack([x + at.heel_x, blade.edge_y(x) + at.edge_y, np.full(len(x), at.offset)])
    last = max(seams(bar.material, points), key=lambda seam: seam.step, default=None)
    return last is not None and bool(np.all(np.abs(last.distance) < _NEAR))


def _own(bar: Bar, blade: Blade, pattern: str, stations: list[Station]) -> dict[str, float]:
    """The figures of one pattern."""
    makers = {"ladder": _ladder, "raindrop": _raindrop, "twist": _stars, "multi-bar": _stars}
    if pattern in makers:
        return makers[pattern](bar, blade)
    if pattern in ("feather", "accordion", "w"):
        return _crossing(bar, blade, pattern)
    if pattern == "clad":
        cores = {f"core_at_{s.place}_m": s.core for s in stations if s.side == "right" and s.core is not None}
        return {k: float(v) for k, v in cores.items() if v is not None}
    return {}


def _along(bar: Bar, blade: Blade, share: float, side: Side = "right") -> tuple[Array, Crossed]:
    """A line along the blade at a share of its height, from heel to near the tip."""
    x = np.linspace(0.04, 0.8, _ALONG) * blade.length
    y = blade.edge_y(x) + share * blade.height(x)
    return x, crossed(bar, blade.face_points(x, y, side, blade.placement(bar.length, bar.width)))


def _layer(bar: Bar) -> float:
    """Mean thickness [m] of a layer in its laminate."""
    return float(np.mean([leaf.total / leaf.distinct for leaf in bar.leaves if leaf.distinct > 1] or [1.0]))


def _swings(z: Array) -> tuple[int, float]:
    """Humps of a height along a line, and its swing from low to high [m], the slow slope of the grind taken out."""
    place = np.linspace(-1, 1, len(z))
    flat = z - np.polynomial.Polynomial.fit(place, z, 3)(place)
    low, high = np.percentile(flat, (2, 98))
    swing = float(high - low)
    above, humps = False, 0
    for v in flat[:: max(1, len(flat) // 3000)]:
        if not above and v > low + (0.5 + _MARK / 2) * swing:
            above, humps = True, humps + 1
        elif above and v < low + (0.5 - _MARK / 2) * swing:
            above = False
    return humps, swing


def _ladder(bar: Bar, blade: Blade) -> dict[str, float]:
    """Rungs per length, and how many layers each opens, half way up."""
    x, met = _along(bar, blade, 0.5)
    rungs, swing = _swings(met.z)
    return {"rungs": float(rungs), "rungs_per_m": rungs / float(np.ptp(x)), "layers_opened": swing / _layer(bar)}


def _raindrop(bar: Bar, blade: Blade) -> dict[str, float]:
    """Rings in a drop: the deepest of a dense net of lines, in layers; and drops met on a line half way up."""
    deepest, drops, length = 0.0, 0, 1.0
    for share in (0.3, 0.4, 0.5, 0.6, 0.7):
        x, met = _along(bar, blade, share)
        many, swing = _swings(met.z)
        deepest = max(deepest, swing)
        if share == 0.5:
            drops, length = many, float(np.ptp(x))
    return {"rings_per_drop": deepest / _layer(bar), "drops_per_m": drops / length}


def _stars(bar: Bar, blade: Blade) -> dict[str, float]:
    """Turns of the layers over along the blade: a wound bar shows one star in each half turn where the face comes near
    its axis. `near_axis` tells how near the face comes at the edge, 0 on the axis and 1 at the skin.
    """
    best, length, side = 0, 1.0, bar.thickness / 2
    for share in (0.12, 0.3, 0.5, 0.7):
        x, met = _along(bar, blade, share)
        turned = np.diff(np.sign(np.diff(met.z)[np.diff(met.z) != 0]))
        best, length = max(best, int(np.count_nonzero(turned))), float(np.ptp(x))
    depth = float(np.abs(blade.half(np.array([0.5 * blade.length]), blade.edge_y(0.5 * blade.length), "right"))[0])
    return {"stars": float(best), "stars_per_m": best / length, "near_axis": depth / side}


def _crossing(bar: Bar, blade: Blade, pattern: str) -> dict[str, float]:
    """Lines met along the blade, a third up, and how many standing pieces it crosses: two make one W."""
    x, met = _along(bar, blade, 0.3)
    per = len(met.changes) / float(np.ptp(x))
    if pattern == "feather":
        return {"barbs_per_m": per}
    if pattern == "accordion":
        jumps = np.count_nonzero(np.diff(met.key))
        return {"lines_per_m": per, "segments": float(jumps + 1)}
    pieces = float(np.count_nonzero(np.diff(met.key)) + 1)
    return {"lines_per_m": per, "ws_per_m": pieces / 2 / float(np.ptp(x))}
