"""The blade as a solid: every point of both faces, before or after the finish grind.

Blade frame: x = 0 at the heel, x = length at the point; y = 0 at the edge line at the heel, towards the spine; z = 0 at
the mid-plane. Seen edge down and tip away, the right face is +z and the left face -z.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from billet.base.errors import InputError
from billet.base.safe_files import named_file
from billet.blade.bevels import Profile, Side
from billet.blade.design import BladeDesign, State
from billet.blade.outline import Outline, read_points, shaped
from billet.blade.thickness import Taper, point_thickness
from billet.blade.transition import Front, flare, front_of, reach_of

Array = NDArray[np.float64]

_STEP = 1e-7  # half width of the central difference for slopes [m]
_DRAWN_TO = 0.01  # how far stated sizes may differ from those of a points file [-]
STEEL_DENSITY = 7850.0  # [kg/m3]; good to about 1 % for carbon and nickel tool steels, from memory


@dataclass(frozen=True)
class Placement:
    """Where the blade lies in the bar: heel and edge line in the bar frame, mid-plane from the bar's mid-plane [m]."""

    heel_x: float
    edge_y: float
    offset: float


@dataclass(frozen=True)
class Section:
    """A section across the blade: the contours of both faces as points (z, y) of shape (2, n), edge to spine [m]."""

    left: Array
    right: Array

    @property
    def thickest(self) -> float:
        """Return its greatest thickness [m]."""
        return float((self.right[0] - self.left[0]).max())

    @property
    def polygon(self) -> Array:
        """Return the closed polygon (z, y): up the right face and down the left, shape (2, 2n + 1) [m]."""
        return np.concatenate([self.right, self.left[:, ::-1], self.right[:, :1]], axis=1)


@dataclass(frozen=True)
class Blade:
    """A blade in a state: finished, or as it goes into hardening.

    ``shape`` left out is that of the design's shape. Raises InputError when a hollow would cut under the thickness of
    the edge, or a convex face would stand proud of the spine.
    """

    design: BladeDesign
    state: State = "finished"
    shape: Outline | None = None

    def __post_init__(self) -> None:
        if self.shape is None:
            if self.design.points is not None:
                raise InputError(f'The outline "{self.design.points}" has not been read yet; use read_blade.')
            shape = shaped(self.design.shape, self.design.length, self.design.heel_height)
            object.__setattr__(self, "shape", shape)
        if self.shape is not None and self.shape.heel_radius != self.design.heel.radius:
            object.__setattr__(self, "shape", replace(self.shape, heel_radius=self.design.heel.radius))
        _check_faces(self)

    def in_state(self, state: State) -> "Blade":
        """Return the same blade finished, or as it goes into hardening."""
        return replace(self, state=state)

    @property
    def length(self) -> float:
        """Return the length from heel to point [m]."""
        return self.design.length

    @property
    def behind(self) -> float:
        """Return what the blade has behind its heel: nothing; `whole` has the rest of the knife."""
        return 0.0

    def edge_y(self, x: ArrayLike) -> Array:
        """Return where the edge runs [m]."""
        return self._outline.edge_y(x)

    def spine_y(self, x: ArrayLike) -> Array:
        """Return where the spine runs [m]."""
        return self._outline.spine_y(x)

    def height(self, x: ArrayLike) -> Array:
        """Return the height between edge and spine [m]."""
        return self.spine_y(x) - self.edge_y(x)

    def outline(self, n: int = 400) -> Array:
        """Return the closed outline as points of the blade frame, shape (2, 2n + 1) [m]."""
        return self._outline.polygon(n)

    def inside(self, x: ArrayLike, y: ArrayLike) -> NDArray[np.bool_]:
        """Tell which points lie in the outline."""
        return self._outline.inside(x, y)

    @property
    def _outline(self) -> Outline:
        assert self.shape is not None
        return self.shape

    @cached_property
    def taper(self) -> Taper:
        """Return the spine thickness over x."""
        spine, edge, tip_at = self.design.spine.at(self.state), self.design.edge.at(self.state), self.design.tip_at
        at_tip, at_end = self.height(self.length - tip_at), self.height(self.length)
        three = (spine.heel, spine.middle, spine.tip)
        end = point_thickness(three, edge, tip_at, self.length, float(at_end / at_tip))
        return Taper(*three, end, tip_at, self.length)

    def spine_thickness(self, x: ArrayLike) -> Array:
        """Return the thickness at the spine [m]."""
        return self.taper(x)

    def edge_thickness(self, x: ArrayLike) -> Array:
        """Return the thickness at the edge, before sharpening [m]."""
        return np.full(np.shape(x), self.design.edge.at(self.state))

    def half(self, x: ArrayLike, y: ArrayLike, side: Side) -> Array:
        """Return the distance from the mid-plane to the face on a side [m], NaN outside the outline.

        Negative where the face lies beyond the mid-plane, as the ground face of a chisel does near its edge.
        """
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        return np.where(self.inside(x, y), self._half(x, y, side), np.nan)

    def thickness(self, x: ArrayLike, y: ArrayLike) -> Array:
        """Return the thickness of the blade [m], NaN outside the outline."""
        return self.half(x, y, "left") + self.half(x, y, "right")

    @property
    def thickest_behind(self) -> float:
        """Return the thickness of the thickest of heel, bolster and tang [m]."""
        bolster = self.design.bolster.thickness if self.design.bolster else 0.0
        return max(self.taper.heel, bolster, self.design.tang.size(self.taper.heel)[2])

    @cached_property
    def front(self) -> Front | None:
        """Return the block the blade thickens towards; None where the bevels run out behind the heel."""
        return front_of(self.design, self.taper.heel, float(self.spine_y(0.0)))

    def _half(self, x: Array, y: Array, side: Side) -> Array:
        """Return `half` without the mask: y is held between edge and spine."""
        return self.face_half(x, y, side)

    def face_half(self, x: Array, y: Array, side: Side, at: Array | None = None) -> Array:
        """Return the distance of a face from the mid-plane [m] over any place: y is held between edge and spine.

        ``at`` is where the place lies along the knife, for places behind the heel whose section is that of the heel.
        """
        height = self.height(x)
        with np.errstate(invalid="ignore", divide="ignore"):
            w = np.where(height > 0, np.clip((y - self.edge_y(x)) / height, 0, 1), 1.0)
        return self._half_at(x, w, height, side, at)

    def ground_half(self, x: Array, y: Array, side: Side) -> Array:
        """Return `face_half` as it would be without plunge or bolster [m]."""
        height = self.height(x)
        with np.errstate(invalid="ignore", divide="ignore"):
            w = np.where(height > 0, np.clip((y - self.edge_y(x)) / height, 0, 1), 1.0)
        return self._bevel_at(x, w, height, side)

    def _half_at(self, x: Array, w: Array, height: Array, side: Side, at: Array | None = None) -> Array:
        """Return the distance to the face at the share w of the local height [m], transition included."""
        half = self._bevel_at(x, w, height, side)
        plunge = self.design.plunge
        if self.front is None or plunge is None:
            return half
        along = x if at is None else at
        return half + flare(self.front, plunge.wheel, along, self.edge_y(x) + w * height, half)

    def _bevel_at(self, x: Array, w: Array, height: Array, side: Side) -> Array:
        """Return the distance to the ground face alone [m]."""
        return self._profile(side)(w, height, *self._ends(x, side))

    def _profile(self, side: Side) -> Profile:
        edge, spine = self._ends(np.zeros(()), side)
        return Profile(self.design.bevel.face(side), self.design.heel_height, float(spine - edge))

    def _ends(self, x: Array, side: Side) -> tuple[Array, Array]:
        """Return the distances of a face from the mid-plane at the edge and at the spine [m].

        Beside an unground face, which is one plane at half the heel's thickness, all taper lies on the other.
        """
        edge, spine, plane = self.edge_thickness(x), self.spine_thickness(x), np.full(np.shape(x), self.taper.heel / 2)
        bevel = self.design.bevel
        if bevel.face(side).kind == "unground":
            return plane, plane
        if "unground" in (bevel.left.kind, bevel.right.kind):
            return edge - plane, spine - plane
        return edge / 2, spine / 2

    def angle(self, x: ArrayLike, y: ArrayLike, side: Side) -> Array:
        """Return the angle between a face and the mid-plane [rad], distal taper included; NaN outside the outline."""
        return np.arctan(np.hypot(*self.slope(x, y, side)))

    def slope(self, x: ArrayLike, y: ArrayLike, side: Side) -> tuple[Array, Array]:
        """Return how fast `half` grows along x and along y [-], by central differences; NaN outside the outline.

        Within a ten-thousandth of a millimetre of the border the differences are one-sided.
        """
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        inside = self.inside(x, y)
        west, east = np.maximum(x - _STEP, 0.0), np.minimum(x + _STEP, self.length)
        along = (self._half(east, y, side) - self._half(west, y, side)) / (east - west)
        low, high = np.maximum(y - _STEP, self.edge_y(x)), np.minimum(y + _STEP, self.spine_y(x))
        with np.errstate(invalid="ignore", divide="ignore"):
            up = (self._half(x, high, side) - self._half(x, low, side)) / (high - low)
        return np.where(inside, along, np.nan), np.where(inside, up, np.nan)

    def section(self, x: float, n: int = 201) -> Section:
        """Return the section across the blade at x, as the choil shows it at x = 0; seen from the heel, right is +z."""
        breaks = {w for side in _SIDES for w in self.design.bevel.face(side).breaks(self.design.heel_height)}
        w = np.union1d(np.linspace(0, 1, n), sorted(breaks))
        here, height = np.full(w.shape, x), np.full(w.shape, float(self.height(x)))
        y = self.edge_y(x) + w * height
        left, right = (self._half_at(here, w, height, side) for side in _SIDES)
        return Section(np.stack([-left, y]), np.stack([right, y]))

    def placement(self, bar_length: float | None = None, bar_width: float | None = None) -> Placement:
        """Return where the blade lies in the bar; centred, unless the design says where heel or edge lie.

        Centred means the knife with bolster and tang in the bar's length, and its outline in the bar's width. Raises
        InputError when the design's ``heel_at`` or ``edge_at`` needs a bar size that was not given.
        """
        design, behind = self.design, handle_length(self.design)
        heel_x = (behind - self.length) / 2
        if design.beside is not None:
            heel_x = design.beside[0] + behind - design.beside[1] / 2
        low, high = extent(self)
        edge_y = -(low + high) / 2
        if design.heel_at is not None:
            heel_x = design.heel_at - _known(bar_length, "heel_at", "length") / 2
        if design.edge_at is not None:
            edge_y = design.edge_at - _known(bar_width, "edge_at", "width") / 2
        return Placement(heel_x, edge_y, design.offset)

    def face_points(self, x: ArrayLike, y: ArrayLike, side: Side, placement: Placement | None = None) -> Array:
        """Return the points of a face over (x, y) of the blade frame, in the bar frame, shape (3, n) [m].

        x and y broadcast and are flattened; z is NaN outside the outline.
        """
        at = placement or self.placement()
        x, y = (part.ravel() for part in np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float)))
        half = self.half(x, y, side)
        return np.stack([x + at.heel_x, y + at.edge_y, at.offset + (half if side == "right" else -half)])

    @property
    def transition_ends(self) -> tuple[float, ...]:
        """Return where the heel's radius and the transition end [m], farthest at the spine and at the edge."""
        ends = [self.design.heel.radius] if self.design.heel.radius else []
        if self.front is not None and self.design.plunge is not None:
            halves = [self.design.edge.at(self.state) / 2, self.taper.heel / 2]
            rises = [self.front.half - h for h in halves]
            ends += [self.front.x + float(reach_of(r, self.design.plunge.wheel)) for r in rises] + [self.front.x]
        return tuple(e for e in ends if 0 < e < self.length)

    def volume(self) -> float:
        """Return the volume of the blade without tang and bolster [m3].

        Gauss-Legendre in both directions, split where the taper or a face has a kink: exact to about 1e-6.
        """
        breaks = {w for side in _SIDES for w in self.design.bevel.face(side).breaks(self.design.heel_height)}
        x, dx = _nodes(np.array(sorted({*self.taper.stations, *self.transition_ends})), 96)
        w, dw = _nodes(np.array(sorted(breaks)), 12)
        here, share = np.meshgrid(x, w, indexing="ij")
        height = self.height(here)
        thick = self._half_at(here, share, height, "left") + self._half_at(here, share, height, "right")
        return float(dx @ (thick * height) @ dw)

    def mass(self, density: float = STEEL_DENSITY) -> float:
        """Return the mass of the blade without tang and bolster [kg], for a density [kg/m3]."""
        return self.volume() * density


_SIDES: tuple[Side, Side] = ("left", "right")


def read_blade(design: BladeDesign, folder: Path, state: State = "finished") -> Blade:
    """Return the blade of a design whose ``points`` file lies in a folder.

    The outline is brought exactly to the design's length and heel height. Raises InputError when they differ from the
    file's by more than 1 %.
    """
    if design.points is None:
        return Blade(design, state)
    drawn = read_points(named_file(folder, design.points))
    for name, found, stated in (
        ("length", drawn.length, design.length),
        ("heel_height", drawn.height, design.heel_height),
    ):
        if abs(found - stated) > _DRAWN_TO * stated:
            raise InputError(
                f'The outline "{design.points}" has a {name} of {found * 1e3:.1f} mm, the recipe says '
                f"{stated * 1e3:.1f} mm; correct the one that is wrong."
            )
    sx, sy = design.length / drawn.length, design.heel_height / drawn.height
    edge, spine = (tuple((x * sx, y * sy) for x, y in curve) for curve in (drawn.edge, drawn.spine))
    return Blade(design, state, Outline(edge, spine, drawn.curve))


def handle_length(design: BladeDesign) -> float:
    """Return what lies behind the heel: neck, bolster and tang [m]."""
    return design.behind


def extent(blade: Blade) -> tuple[float, float]:
    """Return the lowest edge and the highest spine [m]."""
    x = np.linspace(0.0, blade.length, 1025)
    return float(blade.edge_y(x).min()), float(blade.spine_y(x).max())


def _known(size: float | None, key: str, which: str) -> float:
    if size is None:
        raise InputError(f"{key} is measured from the bar, so the {which} of the bar must be known.")
    return size


def _nodes(breaks: Array, order: int) -> tuple[Array, Array]:
    """Return Gauss-Legendre nodes and weights over consecutive intervals."""
    node, weight = np.polynomial.legendre.leggauss(order)
    half = np.diff(breaks)[:, None] / 2
    return (breaks[:-1, None] + half * (node + 1)).ravel(), (half * weight).ravel()


def _check_faces(blade: Blade) -> None:
    """Refuse a hollow under the thickness of the edge and a convex face proud of the spine."""
    w, x = np.meshgrid(np.linspace(0, 1, 101), np.linspace(0, blade.length * 0.995, 101))
    height = blade.height(x)
    for side in _SIDES:
        half = blade._bevel_at(x, w, height, side)
        edge, spine = blade._ends(x, side)
        short, proud = edge - half, half - np.maximum(spine, edge)
        if not np.all(np.isfinite(half)) or np.max(short) > 1e-9:
            at = float(x.flat[int(np.argmax(np.nan_to_num(short, nan=np.inf)))]) * 1e3
            raise InputError(
                f"blade: the {side} bevel would be ground thinner than the edge {at:.0f} mm from the heel "
                f"{'at hardening' if blade.state == 'hardening' else 'when finished'}; "
                "take a larger wheel, a lower hollow or a thicker spine."
            )
        if np.max(proud) > 1e-9:
            at = float(x.flat[int(np.argmax(proud))]) * 1e3
            raise InputError(
                f"blade: the {side} bevel would bulge past the spine {at:.0f} mm from the heel; "
                "take a smaller amount or a larger radius."
            )
