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


def line_shift(offset: ArrayLike, angle: ArrayLike) -> Array:
    """Return how far a line moves over the face when the blade sits off the bar's mid-plane, in side view [m].

    delta / tan(theta), with delta the offset [m]: up on one face, down on the other.
    """
    return np.asarray(np.asarray(offset) / np.tan(np.asarray(angle)), dtype=np.float64)
