"""What a ground face shows of the layers it cuts, from plain geometry by hand; angles in radians to the layer planes."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def magnification(angle: ArrayLike) -> Array:
    """Return how many times wider than its thickness a layer shows along the ground face [-].

    1 / sin(theta); 1 where the face cuts square through the layers, infinite where it runs along them.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(1 / np.sin(np.asarray(angle)), dtype=np.float64)


def core_reveal(core: ArrayLike, spine: ArrayLike, edge: ArrayLike, height: ArrayLike) -> Array:
    """Return the height of bared core above the edge of a full flat grind, in side view [m].

    h (c - e) / (s - e), with c the core thickness [m]; nothing below c = e, the whole face above c = s.
    """
    c, s, e, h = np.asarray(core), np.asarray(spine), np.asarray(edge), np.asarray(height)
    return np.asarray(h * np.clip((c - e) / (s - e), 0, 1), dtype=np.float64)
