"""Very thin layers in a hold: far thinner than carbon's diffusion length, so that carbon is level in activity from layer to layer.

Resolving each of a hundred thousand layers would cost much and change nothing: carbon is solved on blocks of many layers and
shared out at equal activity inside each; every other element spreads as a Gaussian, which is the exact answer for a constant
diffusivity, applied to cumulative contents so that nothing is gained or lost.
"""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d

from billet.metal.limits import ELEMENTS, Array
from billet.metal.mesh import refine
from billet.metal.partition import capped_alloy_factor
from billet.metal.solve import Boundary, Schedule, diffuse, diffusion_lengths

_CARBON = ELEMENTS.index("C")
BLOCK = 1 / 6  # size of a block in carbon diffusion lengths
GRID = 1 / 4  # pitch of the grid on which an element spreads, in widths of its Gaussian
MOST_GRID = 400_000
_NEGLIGIBLE = 1e-3  # [wt%] a spread of contents nobody could measure


def diffuse_thin(thickness: Array, composition: Array, schedule: Schedule, left: Boundary, right: Boundary) -> Array:
    """Composition (n, elements) [wt%] of a stack (n,) [m] of very thin layers after a schedule of (temperature [K], seconds) holds.

    For layers under about a quarter of carbon's diffusion length. Cells keep their thickness: the caller takes away what the
    boundaries' recession ate. Carbon is conserved block by block, the other elements exactly.
    """
    lengths = diffusion_lengths(schedule)
    out = composition.copy()
    for column in range(1, len(ELEMENTS)):
        if np.ptp(composition[:, column]) > _NEGLIGIBLE:
            out[:, column] = spread(thickness, composition[:, column], lengths[column])
    out[:, _CARBON] = _carbon(thickness, out, schedule, lengths, left, right)
    return out


def spread(thickness: Array, content: Array, length: float) -> Array:
    """An element's content (n,) [wt%] after spreading with diffusion length sqrt(integral of D dt) [m] between sealed faces.

    A point source becomes a Gaussian of standard deviation sqrt(2) times the length.
    """
    width, total = np.sqrt(2.0) * length, float(thickness.sum())
    count = int(np.clip(total / (GRID * width), 8, MOST_GRID))
    pitch = total / count
    if width < pitch:
        return content
    edges = np.concatenate([[0.0], np.cumsum(thickness)])
    inside = np.concatenate([[0.0], np.cumsum(thickness * content)])
    grid = np.linspace(0.0, edges[-1], count + 1)
    even = gaussian_filter1d(np.diff(np.interp(grid, edges, inside)) / pitch, width / pitch, mode="reflect")
    after = np.interp(edges, grid, np.concatenate([[0.0], np.cumsum(even) * pitch]))
    return np.diff(after) / thickness


def _carbon(thickness: Array, composition: Array, schedule: Schedule, lengths: Array, left: Boundary, right: Boundary) -> Array:
    """Carbon (n,) [wt%]: solved on blocks, then shared out at equal activity."""
    edges = np.concatenate([[0.0], np.cumsum(thickness)])
    block = (0.5 * (edges[1:] + edges[:-1]) / (BLOCK * lengths[_CARBON])).astype(np.int64)
    starts = np.flatnonzero(np.concatenate([[True], block[1:] != block[:-1]]))
    size = np.add.reduceat(thickness, starts)
    mean = np.add.reduceat(thickness[:, np.newaxis] * composition, starts, axis=0) / size[:, np.newaxis]
    mesh = refine(size, mean, np.arange(len(size)), lengths, open_faces=(True, True), recession=(left.recession_m, right.recession_m))
    after = diffuse(mesh.thickness, mesh.composition, schedule, left=left, right=right)
    activity = after.composition[:, _CARBON] * capped_alloy_factor(mesh.composition)
    places = np.cumsum(mesh.thickness) - 0.5 * mesh.thickness
    shared = np.interp(0.5 * (edges[1:] + edges[:-1]), places, activity) / capped_alloy_factor(composition)
    wanted = np.add.reduceat(mesh.thickness * after.composition[:, _CARBON], np.searchsorted(mesh.parent, np.arange(len(size))))
    return shared * np.repeat(wanted / np.add.reduceat(thickness * shared, starts), np.diff(np.append(starts, len(thickness))))
