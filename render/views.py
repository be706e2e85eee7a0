"""The views: which surface through the bar a picture shows, seen from where.

Nothing is ever mirrored: every view is a true look from outside along one axis, so (right in the picture) x (up in the
picture) points at the eye. Seen edge down and tip away, the right face is +z; looking at the right face from its own
side the tip lies to the right, at the left face to the left.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.bar.bar import Bar
from billet.bar.profile import Profile
from billet.blade import Blade, Placement, Side
from billet.blade.handle import Whole, kinks
from render.coverage import Region, fine_places
from render.surface import Along, Coordinate, Surface, fitted, fixed, ramp

Array = NDArray[np.float64]
Kind = type[np.floating]
Shift = Callable[[Array, Array], Array]

VIEWS = ("left", "right", "spine", "choil", "section", "bar-face", "bar-side", "bar-end")

THIN = ("spine", "choil", "section")
"""Views drawn with their thickness widened."""

_SHARPENED = np.radians(15.0)  # angle of the sharpened edge a side; common practice, no source
_SPINE_BAND = 0.16e-3  # bare metal shown along the eased spine [m]
_INSIDE = 1e-7  # bar faces are looked at this deep, so that rounding never looks past the metal [m]


@dataclass(frozen=True)
class Window:
    """The part of a view a picture shows: its centre [m] in the view's own right and up axes, its size in pixels.

    pixel: size along the right axis [m]; up: along the up axis, where a thin section is drawn wider than it is.
    """

    centre: tuple[float, float]
    pixel: float
    cols: int
    rows: int
    up: float | None = None

    @property
    def rise(self) -> float:
        """Size of a pixel along the up axis [m]."""
        return self.pixel if self.up is None else self.up

    @property
    def left(self) -> float:
        """Right-axis coordinate of the left border [m]."""
        return self.centre[0] - 0.5 * self.cols * self.pixel

    @property
    def top(self) -> float:
        """Up-axis coordinate of the upper border [m]."""
        return self.centre[1] + 0.5 * self.rows * self.rise


@dataclass(frozen=True, eq=False)
class View:
    """A surface in a window, the metal's region on it, and bands of bare metal along edge and spine."""

    name: str
    surface: Surface
    region: Region
    edge: Region | None = None
    spine: Region | None = None


def blade_face(
    blade: Blade, at: Placement, side: Side, window: Window, kind: Kind = np.float32, shift: Shift | None = None
) -> View:
    """Return a face of the blade from its own side: the view's right axis is +x for the right face and -x for the left,
    up is +y.

    The window is in the blade's frame turned to the view. shift: how far the mid-plane lies off its placement at
    (x, y) [m].
    """
    sign = 1.0 if side == "right" else -1.0
    p, n = window.pixel, window.cols

    def along(col: Array) -> Array:
        return sign * (window.left + col * p)

    def row_of(y: Array) -> Array:
        return (window.top - y) / p

    knife = shown(blade)
    corners = along(np.arange(n + 1.0))
    held = np.clip(corners, -knife.behind, blade.length)
    low, high = knife.edge_y(held), knife.spine_y(held)
    borders = row_of(_borders(blade, held, side, low, high))

    def depth(row: Array) -> Array:
        y = np.clip(window.top - row * p, *_just_inside(knife, held))
        x = np.broadcast_to(held, row.shape)
        aside = 0.0 if shift is None else shift(x, y)
        return at.offset + aside + sign * knife.half(x, y, side)

    surface = Surface(
        ramp(sign * window.left + at.heel_x, sign * p, n, "col", kind),
        ramp(window.top + at.edge_y, -p, window.rows, "row", kind),
        fitted(depth, borders, kind),
        window.rows,
        n,
        kind,
    )
    fine = along(fine_places(n))
    on = (fine >= -knife.behind) & (fine <= blade.length)
    edge, spine = (
        row_of(np.where(on, f(np.clip(fine, -knife.behind, blade.length)), np.nan))
        for f in (knife.edge_y, knife.spine_y)
    )
    sharp = np.where(fine >= 0, edge, np.nan)
    return View(
        side,
        surface,
        Region(spine, edge),
        Region(np.maximum(sharp - _sharpened(blade) / p, spine), sharp),
        Region(spine, np.minimum(spine + _SPINE_BAND / p, edge)),
    )


def _sharpened(blade: Blade) -> float:
    """Height of the sharpened edge on a face [m]; a blade that is not finished has none."""
    if blade.state != "finished":
        return 0.0
    return 0.5 * float(blade.edge_thickness(0.0)) / float(np.tan(_SHARPENED))


class Knife(Protocol):
    """What a face is drawn of: the blade alone, or the whole knife."""

    @property
    def behind(self) -> float: ...
    def edge_y(self, x: ArrayLike) -> Array: ...
    def spine_y(self, x: ArrayLike) -> Array: ...
    def half(self, x: ArrayLike, y: ArrayLike, side: Side) -> Array: ...


def shown(blade: Blade) -> Knife:
    """Return what of a knife is drawn as metal: all of an integral one, else the blade and its neck."""
    if blade.design.bolster is not None:
        return Whole(blade)
    return Whole(blade, neck_only=True) if blade.design.heel.choil else blade


def _borders(blade: Blade, x: Array, side: Side, low: Array, high: Array) -> Array:
    """Heights between which a face is smooth in every column, from the top of the picture down."""
    heel = np.maximum(x, 0.0)
    foot, top = blade.edge_y(heel), blade.spine_y(heel)
    shares = sorted(set(blade.design.bevel.face(side).breaks(blade.design.heel_height)))
    found = [foot + w * (top - foot) for w in shares]
    if blade.front is not None and blade.design.plunge is not None:
        found += [*kinks(blade, x, side)]
    inner = np.sort(np.clip(np.stack(found), low, high), axis=0)
    inner[0], inner[-1] = low, high
    return inner[::-1]


def _just_inside(blade: Knife, x: Array) -> tuple[Array, Array]:
    """Heights between which a face is defined, a hair within the outline."""
    low, high = blade.edge_y(x), blade.spine_y(x)
    hair = np.minimum(1e-9, 0.25 * (high - low))
    return low + hair, high - hair


def spine_edge(blade: Blade, at: Placement, window: Window, kind: Kind = np.float32) -> View:
    """Return the spine from above: right is +x (tip to the right), up is -z (the left face on top)."""
    n, p, rise = window.cols, window.pixel, window.rise
    knife = shown(blade)
    x = window.left + np.arange(n + 1.0) * p
    held = np.clip(x, -knife.behind, blade.length)
    surface = Surface(
        ramp(window.left + at.heel_x, p, n, "col", kind),
        Along("col", (at.edge_y + knife.spine_y(held) - _INSIDE).astype(kind)),
        ramp(at.offset - window.top, rise, window.rows, "row", kind),
        window.rows,
        n,
        kind,
    )
    fine = window.left + fine_places(n) * p
    on = (fine >= -knife.behind) & (fine <= blade.length)
    place = np.clip(fine, -knife.behind, blade.length)
    top = _just_inside(knife, place)[1]
    left, right = (np.where(on, knife.half(place, top, s), np.nan) for s in ("left", "right"))
    return View("spine", surface, Region((window.top - left) / rise, (window.top + right) / rise))


def section(
    blade: Blade, at: Placement, x: float, window: Window, kind: Kind = np.float32, name: str = "section"
) -> View:
    """Return the section across the blade at x from the heel, seen from the handle: right is +z (the right face), up is
    +y.
    """
    p, rise, m = window.pixel, window.rise, window.rows
    surface = Surface(
        fixed(x + at.heel_x, kind),
        ramp(window.top + at.edge_y, -rise, m, "row", kind),
        ramp(window.left + at.offset, p, window.cols, "col", kind),
        m,
        window.cols,
        kind,
    )
    y = window.top - fine_places(m) * rise
    on = (y >= blade.edge_y(x)) & (y <= blade.spine_y(x))
    held = np.clip(y, *_just_inside(blade, np.asarray(x)))
    left, right = (np.where(on, blade.half(np.full_like(held, x), held, s), np.nan) for s in ("left", "right"))
    return View(name, surface, Region((-left - window.left) / p, (right - window.left) / p, turned=True))


def bar_view(bar: Bar, name: str, window: Window, kind: Kind = np.float32) -> View:
    """Return a bar's upper face (right +x, up +y), edge side (right +x, up +z) or handle end (right -y, up +z).

    A round bar shows the half of its skin that is turned to the eye.
    """
    if bar.profile is not None:
        return _profile_view(bar.profile, name, window, kind)
    deep = [0.5 * s - _INSIDE for s in (bar.length, bar.width, bar.thickness)]
    p, n, m = window.pixel, window.cols, window.rows
    across, up = ramp(window.left, p, n, "col", kind), ramp(window.top, -p, m, "row", kind)
    coordinates = {
        "bar-face": (across, up, _skin(bar.corner, up, deep[1], deep[2], kind)),
        "bar-side": (across, _skin(bar.corner, up, deep[2], -deep[1], kind), up),
        "bar-end": (fixed(-deep[0], kind), ramp(-window.left, -p, n, "col", kind), up),
    }[name]
    wide, high = size_of_bar(bar, name)
    fine = window.left + fine_places(n) * p
    low, top = _border(bar, name)(fine, 0.5 * wide, 0.5 * high)
    return View(name, Surface(*coordinates, m, n, kind), Region((window.top - top) / p, (window.top - low) / p))


def _profile_view(profile: Profile, name: str, window: Window, kind: Kind) -> View:
    """The same of a bar drawn out in part: its skin follows its sections; on the handle end its own section is seen."""
    p, n, m = window.pixel, window.cols, window.rows
    across, up = ramp(window.left, p, n, "col", kind), ramp(window.top, -p, m, "row", kind)
    corner, fine = window.left + np.arange(n + 1.0) * p, window.left + fine_places(n) * p
    along = fine if name != "bar-end" else np.full(fine.shape, profile.x[0])
    width, thickness, middle = profile.at(along)
    on = (fine >= profile.x[0]) & (fine <= profile.x[-1])
    w, t, mid = profile.at(corner)
    coordinates: tuple[Coordinate, Coordinate, Coordinate]
    if name == "bar-face":
        coordinates = (across, up, Along("col", (0.5 * t - _INSIDE).astype(kind)))
        low, top = middle - 0.5 * width, middle + 0.5 * width
    elif name == "bar-side":
        coordinates = (across, Along("col", (mid - 0.5 * w + _INSIDE).astype(kind)), up)
        low, top = -0.5 * thickness, 0.5 * thickness
    else:
        coordinates = (fixed(profile.x[0] + _INSIDE, kind), ramp(-window.left, -p, n, "col", kind), up)
        on = np.abs(-fine - middle) <= 0.5 * width
        low, top = -0.5 * thickness, 0.5 * thickness
    low, top = (np.where(on, v, np.nan) for v in (low, top))
    return View(name, Surface(*coordinates, m, n, kind), Region((window.top - top) / p, (window.top - low) / p))


def _skin(corner: float, up: Along, half: float, rise: float, kind: Kind) -> Along:
    """How far from the middle the skin turned to the eye lies, row by row [m]: level on a square bar, `rise` at the
    middle of a round one whose border is `half` from it.
    """
    if np.isinf(corner):
        return fixed(rise, kind)
    share = np.clip(np.abs(up.values.astype(float)) / half, 0.0, 1.0)
    return Along("row", (rise * (1 - share**corner) ** (1 / corner)).astype(kind))


def size_of_bar(bar: Bar, name: str) -> tuple[float, float]:
    """Return how wide and high a bar shows in a view [m]."""
    return {
        "bar-face": (bar.length, bar.width),
        "bar-side": (bar.length, bar.thickness),
        "bar-end": (bar.width, bar.thickness),
    }[name]


def _border(bar: Bar, name: str) -> Callable[[Array, float, float], tuple[Array, Array]]:
    """Lower and upper border over the picture's right axis: a rectangle, or on the end the superellipse of broken
    corners.
    """

    def border(at: Array, wide: float, high: float) -> tuple[Array, Array]:
        share = np.abs(at) / wide
        top = np.where(share <= 1, high, np.nan)
        if name == "bar-end" and np.isfinite(bar.corner):
            with np.errstate(invalid="ignore"):
                top = high * (1 - share**bar.corner) ** (1 / bar.corner)
        return -top, top

    return border
