"""A slow function of the columns of a picture, reckoned in a few of them and carried between by cubics.

What a press leaves in the layers changes over centimetres along the bar, and a picture asks for it in every tenth of a
millimetre. Where the face rises steeply through thin pieces it changes faster; so half-way between the columns it is
reckoned again in some rows, and where the cubic misses by more than a micrometre there, every column is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Slow = Callable[[Array, Array, Array], Array]

CLOSE = 1e-6
"""What the cubics may miss by where they are tried [m]."""

_TAPS = 4
_LEAST = 4  # columns a step, below which nothing is gained
_EVERY = 8  # of the rows are tried


def between_columns(slow: Slow, x: Array, y: Array, z: Array, far: float) -> Array:
    """Return `slow(x, y, z)` [m] over a grid: x (1, columns) even or nearly, y (rows, 1), z (rows, columns); nodes at
    most `far` [m] apart.
    """
    count = x.shape[1]
    apart = abs(float(x[0, -1] - x[0, 0])) / max(count - 1, 1)
    step = int(far / apart) if apart > 0 else 0
    if step < _LEAST or count < (_TAPS + 1) * step:
        return slow(x, y, z)
    nodes = np.unique(np.append(np.arange(0, count, step), count - 1))
    found = slow(x[:, nodes], y, z[:, nodes])
    out = _carried(found, nodes, np.arange(count))
    missed = _missed(slow, x, y, z, nodes, found)
    if len(missed):
        out[:, missed] = slow(x[:, missed], y, z[:, missed])
    return out


def _carried(found: Array, nodes: NDArray[np.intp], at: NDArray[np.intp]) -> Array:
    """Lagrange's cubic through the four nodes about each column."""
    first = np.clip(np.searchsorted(nodes, at, side="right") - 2, 0, len(nodes) - _TAPS)
    places = nodes[first + np.arange(_TAPS)[:, None]].astype(float)
    columns = np.ascontiguousarray(found.T)  # whole columns are moved at once
    out: Array = np.zeros((len(at), len(found)), found.dtype)
    for k in range(_TAPS):
        others = [j for j in range(_TAPS) if j != k]
        weight = np.prod([(at - places[j]) / (places[k] - places[j]) for j in others], axis=0)
        term = columns.take(first + k, axis=0)
        term *= weight.astype(found.dtype)[:, None]
        out += term
    return out.T


def _missed(slow: Slow, x: Array, y: Array, z: Array, nodes: NDArray[np.intp], found: Array) -> NDArray[np.intp]:
    """Columns the cubics do not hold."""
    middles = (nodes[1:] + nodes[:-1]) // 2
    some = slice(_EVERY // 2, None, _EVERY) if len(z) > _EVERY else slice(None)
    true = slow(x[:, middles], y[some], z[some][:, middles])
    off = np.abs(_carried(found[some], nodes, middles) - true).max(axis=0) > CLOSE
    return np.flatnonzero(np.repeat(off, np.diff(nodes)))
