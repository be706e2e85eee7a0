"""How much of every pixel the metal covers: a region between two curves over the columns, or over the rows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

FINE = 8  # places within a pixel at which the curves are known
_STEEP = 4  # pixels a curve may cross within one column before the whole column is worked through
_FAR = -1e9  # where a curve that is not there is taken to run


@dataclass(frozen=True, eq=False)
class Region:
    """The region between two curves.

    low, high (columns * FINE,): rows between which the metal lies, at evenly spaced places within the columns; low is
    the upper one in the picture. NaN where there is none. turned: the curves run over the rows instead, and bound the
    columns.
    """

    low: Array
    high: Array
    turned: bool = False

    def share(self, rows: slice, cols: slice) -> Floats | Literal[0, 1]:
        """Return the share of every pixel of a block that is metal, or a plain 0 or 1 where it is the same for all."""
        over, across = (rows, cols) if not self.turned else (cols, rows)
        fine = slice(across.start * FINE, across.stop * FINE)
        low, high = self._low[fine], self._high[fine]
        if np.all((high <= over.start) | (low >= over.stop)):
            return 0
        if np.all((low <= over.start) & (high >= over.stop)):
            return 1
        out = _above(high, over)
        out -= _above(low, over)
        return out.T if self.turned else out

    def empty(self, rows: slice, cols: slice) -> bool:
        """Tell whether a block holds no metal at all."""
        over, across = (rows, cols) if not self.turned else (cols, rows)
        fine = slice(across.start * FINE, across.stop * FINE)
        return bool(np.all((self._high[fine] <= over.start) | (self._low[fine] >= over.stop)))

    def whole(self, rows: int, cols: int) -> Floats:
        """Return the share of every pixel of the picture."""
        share = self.share(slice(0, rows), slice(0, cols))
        return np.full((rows, cols), share, np.float32) if isinstance(share, int) else share

    @cached_property
    def _low(self) -> Floats:
        gone = np.isnan(self.low) | np.isnan(self.high) | ~(self.high > self.low)
        return np.where(gone, _FAR, self.low).astype(np.float32)

    @cached_property
    def _high(self) -> Floats:
        return np.where(self._low == np.float32(_FAR), _FAR, self.high).astype(np.float32)


def _above(curve: Floats, rows: slice) -> Floats:
    """Share of every pixel that lies above a curve in the picture, (rows, columns); exact at each of the FINE places.

    Only the one or two pixels the curve runs through need a closer look, unless it is steep.
    """
    c = curve.reshape(-1, FINE)
    first, last = np.floor(c.min(axis=1)).astype(np.intp), np.ceil(c.max(axis=1)).astype(np.intp)
    out = (np.arange(rows.start, rows.stop)[:, None] < first).astype(np.float32)
    steep = last - first > _STEEP
    for step in range(_STEEP):
        row = first + step
        at = np.flatnonzero(~steep & (row < last) & (row >= rows.start) & (row < rows.stop))
        out[row[at] - rows.start, at] = np.clip(c[at] - row[at, None], 0, 1).mean(axis=1)
    if steep.any():
        start = np.arange(rows.start, rows.stop, dtype=np.float32)[:, None, None]
        out[:, steep] = np.clip(c[steep] - start, 0, 1).mean(axis=2)
    return out


def fine_places(count: int) -> Array:
    """Places at which the curves of a region are wanted, in pixels from the first border (count * FINE,)."""
    return (np.arange(count * FINE) + 0.5) / FINE
