"""What a ground face shows of the layers it cuts: the geometry behind line width, line count and core line.

Hand derivations from plain geometry. Angles are in radians, between the ground face and the layer planes.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def full_flat_half_angle(spine: ArrayLike, edge: ArrayLike, height: ArrayLike) -> Array:
    """Return the angle of one face of a full flat grind to the mid-plane [rad].

    theta = atan((s - e) / (2 h)), with s the spine thickness [m], e the edge thickness [m] and h the height [m].
    """
    s, e, h = np.asarray(spine), np.asarray(edge), np.asarray(height)
    return np.asarray(np.arctan((s - e) / (2 * h)), dtype=np.float64)


def magnification(angle: ArrayLike) -> Array:
    """Return how many times wider than its thickness a layer shows along the ground face [-].

    1 / sin(theta); 1 where the face cuts square through the layers, infinite where it runs along them.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(1 / np.sin(np.asarray(angle)), dtype=np.float64)


def lines_on_face(layers: ArrayLike, spine: ArrayLike, edge: ArrayLike, bar_thickness: ArrayLike) -> Array:
    """Return the layers that come out on one face of a symmetrical full flat grind [-].

    N (s - e) / (2 T): the face descends through (s - e) / 2 of a bar of thickness T [m] that holds N equal layers.
    """
    N, s, e, T = np.asarray(layers), np.asarray(spine), np.asarray(edge), np.asarray(bar_thickness)
    return np.asarray(N * (s - e) / (2 * T), dtype=np.float64)


def core_reveal(core: ArrayLike, spine: ArrayLike, edge: ArrayLike, height: ArrayLike) -> Array:
    """Return the height of bared core above the edge of a full flat grind, in side view [m].

    h (c - e) / (s - e), with c the core thickness [m]; nothing below c = e, the whole face above c = s.
    """
    c, s, e, h = np.asarray(core), np.asarray(spine), np.asarray(edge), np.asarray(height)
    return np.asarray(h * np.clip((c - e) / (s - e), 0, 1), dtype=np.float64)


def line_shift(offset: ArrayLike, angle: ArrayLike) -> Array:
    """Return how far a line moves over the face when the blade sits off the bar's mid-plane, in side view [m].

    delta / tan(theta), with delta the offset [m]: up on one face, down on the other.
    """
    return np.asarray(np.asarray(offset) / np.tan(np.asarray(angle)), dtype=np.float64)


def hollow_depth(chord: ArrayLike, wheel: ArrayLike) -> Array:
    """Return how deep a wheel hollows below the straight line between the ends of the hollow [m].

    R - sqrt(R^2 - b^2 / 4), with R half the wheel's diameter [m] and b the chord [m]; NaN where the chord is wider than
    the wheel. Written as (b^2 / 4) / (R + root), the same number without cancellation.
    """
    R, b = np.asarray(wheel) / 2, np.asarray(chord)
    with np.errstate(invalid="ignore"):
        return np.asarray((b**2 / 4) / (R + np.sqrt(R**2 - b**2 / 4)), dtype=np.float64)


def taper_angle(spine_heel: ArrayLike, spine_tip: ArrayLike, length: ArrayLike) -> Array:
    """Return the angle that distal taper adds along the blade on one face [rad]: atan((s_heel - s_tip) / (2 L))."""
    return full_flat_half_angle(spine_heel, spine_tip, length)
