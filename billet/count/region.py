"""Which part of a picture is layered: where brightness changes strongly in one direction, as layers do and a bench,
lettering, cloth or noise does not.

The picture is parted into cells; in each the structure tensor is summed, and what counts is the difference of its
eigenvalues, in which changes without a direction cancel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from skimage.filters import threshold_otsu
from skimage.measure import label, regionprops
from skimage.morphology import closing, disk, opening

from billet.count.orient import SIZES, gradient_products, halved

Array = NDArray[np.float64]
CELL_PX = 4
ROWS = 512  # of a picture worked on at once, so that a large one needs little memory
RIM = 16  # rows of overlap, beyond the reach of the band pass
# Set by trial on synthetic photographs (no source).
SPREAD_CELLS = 2.0
MOST_OUTSIDE = 0.4  # of the strength inside; above that the picture has no background to tell from
LEAST_CELLS = 30


@dataclass(frozen=True, eq=False)
class Region:
    """The layered part of a picture: mask of cells (rows, columns), a cell's side [px], direction of the layers [rad]
    from the picture's rows toward its foot.
    """

    mask: NDArray[np.bool_]
    cell_px: float
    angle: float

    def points(self) -> Array:
        """Middles (2, n) of its cells, x and y [px]."""
        rows, columns = np.nonzero(self.mask)
        return np.asarray((np.stack([columns, rows]) + 0.5) * self.cell_px - 0.5, dtype=np.float64)

    def cut_from(self, image: Array) -> Array:
        """The upright rectangle of the picture (h, w) that holds it."""
        (left, top), (right, foot) = (self.points().min(axis=1), self.points().max(axis=1))
        half = self.cell_px / 2
        return image[
            round(top - half + 0.5) : round(foot + half + 1), round(left - half + 0.5) : round(right + half + 1)
        ]

    @property
    def share(self) -> float:
        """Share of the picture it covers."""
        return float(self.mask.mean())


def layered_region(image: Array) -> Region | None:
    """The largest layered part of the grey picture (h, w); None when nothing is layered or all of it is alike."""
    sums, size = _most_telling(image)
    if min(sums.shape[1:]) < 4:
        return None
    local = np.stack([gaussian_filter(s, SPREAD_CELLS, mode="nearest") for s in sums])
    strength = np.sqrt(np.hypot(local[0] - local[1], 2 * local[2]))
    if not np.ptp(strength) > 0:
        return None
    mask = opening(closing(strength > threshold_otsu(strength), disk(2)), disk(2))
    parts = regionprops(label(mask))
    if not parts:
        return None
    largest = max(parts, key=lambda part: part.area)
    if largest.area < LEAST_CELLS:
        return None
    mine = np.zeros_like(mask)
    top, left, foot, right = largest.bbox
    mine[top:foot, left:right] = largest.image_filled
    if not _stands_out(strength, mine):
        return None
    jxx, jyy, jxy = local[:, mine].sum(axis=1)
    across = 0.5 * np.arctan2(2 * jxy, jxx - jyy)
    return Region(mine, CELL_PX * 2.0**size, float(across - np.copysign(np.pi / 2, across)))


def _stands_out(strength: Array, mask: NDArray[np.bool_]) -> bool:
    """Whether the rest of the picture is plainly less layered than the masked part."""
    return bool(mask.all() or np.median(strength[~mask]) < MOST_OUTSIDE * np.median(strength[mask]))


def _most_telling(image: Array) -> tuple[Array, int]:
    """Structure tensor sums (3, rows, columns) by cells at the size (0 the picture itself, 1 halved ...) that tells the
    layers best.
    """
    found = []
    for size in range(SIZES):
        if min(image.shape) < 6 * CELL_PX:
            break
        sums = by_cells(image)
        jxx, jyy, jxy = sums.sum(axis=(1, 2))
        telling = np.hypot(jxx - jyy, 2 * jxy) / max(np.sqrt(jxx + jyy), 1e-30) * 2.0**size
        found.append((float(telling), size, sums))
        image = halved(image)
    if not found:
        return np.zeros((3, 0, 0)), 0
    _, size, sums = max(found, key=lambda f: f[0])
    return sums, size


def by_cells(image: Array) -> Array:
    """Structure tensor [Jxx, Jyy, Jxy] of the picture (h, w) summed over cells of CELL_PX: (3, h // CELL_PX, w //
    CELL_PX).
    """
    h, w = (n // CELL_PX * CELL_PX for n in image.shape)
    parts = []
    for top in range(0, h, ROWS):
        foot = min(top + ROWS, h)
        above = min(RIM, top)
        piece = gradient_products(image[top - above : foot + RIM])[:, above : above + foot - top, :w]
        cells = piece.reshape(3, (foot - top) // CELL_PX, CELL_PX, w // CELL_PX, CELL_PX)
        parts.append(cells.sum(axis=(2, 4)))
    return np.concatenate(parts, axis=1)
