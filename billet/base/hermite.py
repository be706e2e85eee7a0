"""Piecewise cubic curves through points with given slopes, and the slopes that never overshoot.

Small and quick to load: a blade's outline and taper need no more, and they are drawn at every start.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Hermite:
    """A cubic between every two nodes (n,), with values and slopes at them; beyond the ends the outer cubics go on."""

    nodes: Array
    values: Array
    slopes: Array

    def __call__(self, at: ArrayLike, order: int = 0) -> Array:
        """Values (order 0) or slopes (order 1) at places."""
        at = np.asarray(at, dtype=float)
        k = np.clip(np.searchsorted(self.nodes, at, side="right") - 1, 0, len(self.nodes) - 2)
        h = self.nodes[k + 1] - self.nodes[k]
        t = (at - self.nodes[k]) / h
        rise = (self.values[k + 1] - self.values[k]) / h
        first, last = self.slopes[k], self.slopes[k + 1]
        bend, twist = 3 * rise - 2 * first - last, first + last - 2 * rise
        if order == 1:
            return np.asarray(first + t * (2 * bend + 3 * t * twist))
        return np.asarray(self.values[k] + h * t * (first + t * (bend + t * twist)))


def hermite(nodes: ArrayLike, values: ArrayLike, slopes: ArrayLike) -> Hermite:
    """A `Hermite` from sequences."""
    return Hermite(*(np.asarray(a, dtype=float) for a in (nodes, values, slopes)))


def through(nodes: ArrayLike, values: ArrayLike) -> Hermite:
    """A curve through points that rises and falls only as they do.

    Slopes are weighted harmonic means of the neighbouring chords', none where those change sign; at the ends the
    three-point slope, cut to what keeps the shape (Fritsch and Butland 1984, SIAM J. Sci. Stat. Comput. 5, 300).
    """
    x, y = np.asarray(nodes, dtype=float), np.asarray(values, dtype=float)
    h, chord = np.diff(x), np.diff(y) / np.diff(x)
    if len(x) == 2:
        return Hermite(x, y, np.repeat(chord, 2))
    before, after = chord[:-1], chord[1:]
    one, other = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (one + other) / (one / before + other / after)
    inner = np.where(before * after > 0, mean, 0.0)
    ends = (_end(h[0], h[1], chord[0], chord[1]), _end(h[-1], h[-2], chord[-1], chord[-2]))
    return Hermite(x, y, np.concatenate([[ends[0]], inner, [ends[1]]]))


def _end(near: float, far: float, chord: float, beyond: float) -> float:
    slope = ((2 * near + far) * chord - near * beyond) / (near + far)
    if np.sign(slope) != np.sign(chord):
        return 0.0
    return 3 * chord if np.sign(chord) != np.sign(beyond) and abs(slope) > 3 * abs(chord) else float(slope)
