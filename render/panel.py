"""One view drawn: the window it needs, its pixels as grey codes, and what lies over them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

from billet.bar.bar import Bar
from billet.base.errors import InputError
from billet.blade import Blade, Placement, Side
from billet.blade.geometry import extent
from render.etch import Look
from render.field import Scene, paint
from render.gloss import AXES, gloss
from render.light import BACKGROUND, Lit, encode, light
from render.request import Crop
from render.scene import Ready, prepare
from render.tang import STUB, tang_of
from render.views import Shift, View, Window, bar_view, blade_face, section, shown, size_of_bar, spine_edge

Array = NDArray[np.float64]
Bytes = NDArray[np.uint8]

ViewOf = Callable[[type[np.floating]], View]

_RUBBED = ("left", "right", "spine", "bar-face", "bar-side")  # views of surfaces rubbed along the length
_MARGIN = 0.004  # of table shown around a view, for its shadow [m]
_HATCH = (14, 2)  # spacing and width of the hatching where there is no metal [pixels at 2400]
_SHADOW = 0.30
_REDUCE = 4  # the shadow is soft and reckoned this much coarser


@dataclass(frozen=True, eq=False)
class Subject:
    """What is looked at: a bar, and the blade in it for views of the blade; at is the station of a section [m].

    shift: where the blade's mid-plane lies in the steel off its placement, as a function of (x, y) of its frame [m],
    for the faces of a blade that is ground unevenly; None where it is straight.
    """

    bar: Bar
    blade: Blade | None = None
    placement: Placement | None = None
    at: float = 0.0
    shift: Shift | None = None

    def view(self, name: str, window: Window, kind: type[np.floating]) -> View:
        """Return a view of the subject in a window."""
        if name.startswith("bar-"):
            return bar_view(self.bar, name, window, kind)
        assert self.blade is not None and self.placement is not None
        if name == "spine":
            return spine_edge(self.blade, self.placement, window, kind)
        if name in ("choil", "section"):
            return section(self.blade, self.placement, self.at, window, kind, name)
        side: Side = "right" if name == "right" else "left"
        return blade_face(self.blade, self.placement, side, window, kind, self.shift)

    def bounds(self, name: str) -> tuple[float, float, float, float]:
        """Return left, right, bottom and top of what a view shows, in its own axes [m]."""
        if name.startswith("bar-"):
            wide, high = size_of_bar(self.bar, name)
            return -wide / 2, wide / 2, -high / 2, high / 2
        assert self.blade is not None
        low, high = extent(self.blade)
        knife = shown(self.blade)
        stub = self.blade.design.heel.choil + (STUB if self.blade.design.tang.kind != "none" else 0.0)
        stub = knife.behind if self.blade.design.bolster else stub
        thick = (
            0.5 * self.blade.thickest_behind
            if self.blade.design.bolster
            else 0.5 * float(self.blade.spine_thickness(0.0))
        )
        if name == "spine":
            return -stub, self.blade.length, -thick, thick
        if name in ("choil", "section"):
            thick = max(0.5 * self.blade.section(self.at).thickest, 0.5 * float(self.blade.spine_thickness(0.0)))
            return -thick, thick, float(self.blade.edge_y(self.at)), float(self.blade.spine_y(self.at))
        return (-stub, self.blade.length, low, high) if name == "right" else (-self.blade.length, stub, low, high)

    def window(self, name: str, pixel: float) -> Window:
        """Return the window that shows a whole view with its margin."""
        left, right, bottom, top = self.bounds(name)
        cols, rows = (int(np.ceil((s + 2 * _MARGIN) / pixel)) for s in (right - left, top - bottom))
        return Window((0.5 * (left + right), 0.5 * (bottom + top)), pixel, cols, rows)

    def close_up(self, name: str, crop: Crop, width: int) -> Window:
        """Return the window of a crop that is `width` pixels wide. Raises InputError where nothing would be in it."""
        pixel = crop.width / width
        left, right, bottom, top = self.bounds(name)
        x = -crop.x if name == "left" else crop.x
        centre = (left + crop.x, bottom + crop.y) if name.startswith("bar-") else (x, crop.y)
        beside = abs(centre[0] - 0.5 * (left + right)) >= 0.5 * (right - left + crop.width)
        if beside or abs(centre[1] - 0.5 * (bottom + top)) >= 0.5 * (top - bottom + crop.height):
            raise InputError(
                f"--crop, --zoom: this piece lies beside all that the {name} view shows; look for it nearer"
            )
        return Window(centre, pixel, width, max(1, round(crop.height / pixel)))


@dataclass(frozen=True, eq=False)
class Panel:
    """A drawn view: grey codes (rows, columns), how far each is metal (0 to 255), the view, its scene, and the share
    the bar does not have.
    """

    codes: Bytes
    metal: Bytes
    view: View
    scene: Scene
    window: Window
    missing: float

    def place(self, name: str, at: tuple[int, int]) -> dict[str, Any]:
        """Where the view lies in a picture [px: left, top] and in the knife, for whoever asks what a pixel shows.

        x grows from the heel to the point whichever way it is seen.
        """
        window = self.window
        return {
            "view": name, "left_px": at[0], "top_px": at[1], "columns": window.cols, "rows": window.rows,
            "pixel_m": window.pixel, "left_m": window.left, "top_m": window.top,
        }  # fmt: skip


@dataclass(frozen=True, eq=False)
class Painted:
    """A view's brightness as the etch leaves it, before any light falls on it (rows, columns)."""

    name: str
    view: View
    scene: Scene
    window: Window
    brightness: NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Setting:
    """What stays when only the pattern moves: how much of each pixel is metal, how much of it steel or tang (0 to 255),
    what is seen of all that lies under it, and the light on it (rows, columns).
    """

    alpha: NDArray[np.float32]
    solid: Bytes
    under: NDArray[np.float32]
    lit: Lit


def paint_view(
    subject: Subject, name: str, window: Window, look: Look, workers: int = 1, kept: Ready | None = None,
    *, quick: ViewOf | None = None,
) -> Painted:  # fmt: skip
    """Trace a view back to its layers; `quick` gives the view of a picture that follows the hand."""
    made = quick or (lambda kind: subject.view(name, window, kind))
    view, scene = prepare(subject.bar, look, made, window, kept, quick=quick is not None)
    return Painted(name, view, scene, window, paint(scene, workers))


def setting_of(subject: Subject, view: View, name: str, window: Window, *, shadow: bool = True) -> Setting:
    """Make ready all about a view that its pattern does not change."""
    alpha = view.region.whole(window.rows, window.cols)
    behind = tang_of(subject.blade, name, window) if subject.blade is not None and name in ("left", "right") else None
    solid = alpha if behind is None else np.maximum(alpha, behind[0])
    under = _table(solid, window) if shadow else np.full(alpha.shape, BACKGROUND, np.float32)
    if behind is not None:
        under += behind[0] * (behind[1] - under)
    under *= 1 - alpha
    lit = Lit(window.pixel, view.edge, view.spine, gloss_of(view, subject, name), name in _RUBBED)
    return Setting(alpha, (solid * 255).astype(np.uint8), under, lit)


def light_view(subject: Subject, painted: Painted, setting: Setting, look: Look) -> Panel:
    """Light a painted view and lay it on the table."""
    view, window, alpha = painted.view, painted.window, setting.alpha
    lit = light(painted.brightness, look, setting.lit)
    missing = _missing(subject.bar, view, alpha)
    if missing is not None:
        lit[missing] = _strokes(*np.nonzero(missing))
    lit *= alpha
    lit += setting.under
    share = 0.0 if missing is None else float(missing.sum() / max(1.0, float(alpha.sum())))
    return Panel(encode(lit), setting.solid, view, painted.scene, window, share)


def gloss_of(view: View, subject: Subject, name: str) -> NDArray[np.float32] | None:
    """Return the light on every pixel of a view, as its surface leans; None for a section, which is looked at flat."""
    if name not in _RUBBED:
        return None
    left, right, bottom, top = subject.bounds(name)
    return gloss(view.surface, AXES[name], top - bottom, right - left)


def _table(alpha: NDArray[np.float32], window: Window) -> NDArray[np.float32]:
    """The table under the knife with its soft shadow, which falls away from the light."""
    small = np.asarray(Image.fromarray((alpha * 255).astype(np.uint8)).reduce(_REDUCE), np.float32) / 255
    reach = min(0.0011 / window.pixel, 0.006 * window.cols) / _REDUCE
    wide = np.pad(small, 1)
    dark = gaussian_filter(np.roll(wide, (round(0.8 * reach) + 1, round(0.3 * reach)), (0, 1)), min(reach, 40))[
        1:-1, 1:-1
    ]
    full = Image.fromarray(dark).resize((window.cols, window.rows), Image.Resampling.BILINEAR)
    return np.float32(BACKGROUND) * (1 - np.float32(_SHADOW) * np.asarray(full, np.float32))


def _missing(bar: Bar, view: View, alpha: NDArray[np.float32]) -> NDArray[np.bool_] | None:
    """Pixels of the view that lie outside the bar's metal; None when all are inside.

    A bar's own views show what there is. A pixel of a blade is missing when all four of its corners are: one the bar's
    border runs through is metal in part.
    """
    if view.name.startswith("bar-"):
        return None
    rows, cols = alpha.shape
    grid = view.surface.grid(slice(0, rows), slice(0, cols))
    hair = 1 + 1e-5
    if bar.profile is not None:
        width, thickness, middle = bar.profile.at(grid[0])
        beyond = 2 * np.abs(grid[0]) > hair * bar.length
        beyond = beyond | (2 * np.abs(grid[1] - middle) > hair * width) | (2 * np.abs(grid[2]) > hair * thickness)
    elif np.isinf(bar.corner):
        sizes = (0.5 * hair * s for s in (bar.length, bar.width, bar.thickness))
        outer = [(a > s) | (a < -s) for a, s in zip(grid, sizes, strict=True) if a.max() > s or a.min() < -s]
        beyond = np.any(np.broadcast_arrays(*outer), axis=0) if outer else np.zeros((1, 1), bool)
    else:
        x, y, z = (2 * np.abs(a) / s for a, s in zip(grid, (bar.length, bar.width, bar.thickness), strict=True))
        beyond = (x > hair) | (y**bar.corner + z**bar.corner > hair)
    if not beyond.any():
        return None
    lattice = np.broadcast_to(beyond, (rows + 1, cols + 1))
    outside = lattice[:-1, :-1] & lattice[:-1, 1:] & lattice[1:, :-1] & lattice[1:, 1:] & (alpha > 0)
    return outside if outside.any() else None


def hatched(rows: int, cols: int) -> NDArray[np.float32]:
    """Return slanted strokes on pale ground, for where no metal is."""
    return _strokes(*np.indices((rows, cols)))


def _strokes(row: NDArray[np.intp], col: NDArray[np.intp]) -> NDArray[np.float32]:
    return np.where((row + col) % _HATCH[0] < _HATCH[1], np.float32(0.25), np.float32(0.62))
