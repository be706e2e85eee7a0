"""Layers thinner than carbon's diffusion length in a hold: carbon is solved on blocks of cells, the alloy spreads
exactly.

Resolving carbon in each of a hundred thousand layers would cost much and change nothing: inside a block a sixth of the
diffusion length high it is level in activity. Every other element spreads as a Gaussian, the exact answer for a
constant diffusivity, applied to cumulative contents so that nothing is gained or lost.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from billet.metal.limits import ELEMENTS, Array
from billet.metal.mesh import merge
from billet.metal.partition import ALLOY_MAX, GUNNARSON, rich_alloy_log
from billet.metal.solve import Boundary, Schedule, diffusion_lengths, level_carbon

Starts = NDArray[np.intp]

_CARBON, _CHROMIUM = ELEMENTS.index("C"), ELEMENTS.index("Cr")
BLOCK, BLOCK_AT_FACE = (
    1 / 6,
    1 / 10,
)  # height of a block in carbon diffusion lengths, and within two of them of an open face
THICK = 1 / 4  # from this share of the diffusion length on, a layer's boundaries are boundaries of blocks
GRID = 1 / 3  # pitch of the grid on which an element spreads, in widths of its Gaussian
MOST_GRID = 400_000
_ALL_LEVEL = 2.0  # width over the whole stack from which nothing but the mean is left, to 1 in 10^8
MANY_BLOCKS = 1500  # from here on, blocks that are alike are joined
_ALIKE = (5e-4, 2e-3, 5e-2)  # carbon [wt%], 1/Gamma and chromium [wt%] of blocks that are alike
_KEPT = 6.0  # diffusion lengths below an open face in which blocks stay apart


class Blocks(NamedTuple):
    """Blocks of cells: the first cell of each (m,), their `thickness` [m], `carbon`, `chromium` [wt%] and `gamma`."""

    starts: Starts
    thickness: Array
    carbon: Array
    gamma: Array
    chromium: Array


def alloy_factor(composition: Array) -> Array:
    """Gamma [1] of cells (n, elements) [wt%], as `billet.metal.partition.capped_alloy_factor`, for contents known to be
    sound.
    """
    alloy, log = np.zeros(len(composition)), np.zeros(len(composition))
    for column in range(len(ELEMENTS)):
        if column != _CARBON:
            alloy += composition[:, column]
        if GUNNARSON[column]:
            log += GUNNARSON[column] * composition[:, column]
    over = alloy > ALLOY_MAX
    if over.any():
        log[over] = rich_alloy_log(composition[over])
    return np.asarray(np.exp(np.log(10.0) * log))


def carbon_on_blocks(
    thickness: Array,
    composition: Array,
    layer: Array,
    schedule: Schedule,
    left: Boundary | None,
    right: Boundary | None,
) -> Array:
    """Carbon (n,) [wt%] of cells after a schedule of (temperature [K], seconds) holds, conserved but for what left by
    the faces.

    `thickness` (n,) [m], `composition` (n, elements) [wt%], `layer` (n,) thickness [m] of the layer each cell is in.
    Cells keep their thickness: the caller takes away what the boundaries' recession ate. Inside a block carbon ends at
    equal activity.
    """
    length, gamma = float(diffusion_lengths(schedule)[_CARBON]), alloy_factor(composition)
    edges = np.concatenate([[0.0], np.cumsum(thickness)])
    reach = (_reach(left), _reach(right))
    blocks = _blocks(edges, composition, gamma, _starts(edges, layer, length, reach), length, reach)
    after, _ = level_carbon(blocks.thickness, blocks.carbon, blocks.gamma, blocks.chromium, schedule, (left, right))
    tops = np.append(edges[blocks.starts[1:]], edges[-1])
    middle = 0.5 * (edges[1:] + edges[:-1])
    activity = np.interp(middle, tops - 0.5 * blocks.thickness, after * blocks.gamma) / gamma
    held = np.add.reduceat(thickness * activity, blocks.starts)
    factor = np.divide(after * blocks.thickness, held, out=np.zeros(len(held)), where=held > 0.0)
    return activity * np.repeat(factor, np.diff(np.append(blocks.starts, len(thickness))))


def _reach(face: Boundary | None) -> float | None:
    """How far a face recedes [m], None where it is sealed."""
    return None if face is None else face.recession_m


def _starts(edges: Array, layer: Array, length: float, reach: tuple[float | None, float | None]) -> Starts:
    """First cells of the blocks: a new one every sixth of a diffusion length, finer near open faces, and at thick
    layers.
    """
    total = edges[-1]
    places, density = [0.0, total], [1 / BLOCK]
    for side, eaten in enumerate(reach):
        if eaten is not None and eaten + 2 * length < 0.5 * total:
            near = eaten + 2 * length
            places = [0.0, near, *places[1:]] if side == 0 else [*places[:-1], total - near, total]
            density = [1 / BLOCK_AT_FACE, *density] if side == 0 else [*density, 1 / BLOCK_AT_FACE]
    counted = np.concatenate([[0.0], np.cumsum(np.diff(places) * density)]) / length
    number = np.interp(0.5 * (edges[1:] + edges[:-1]), places, counted).astype(np.int64)
    thick = np.maximum(layer[1:], layer[:-1]) > THICK * length
    new = (number[1:] != number[:-1]) | ((layer[1:] != layer[:-1]) & thick)
    for eaten, cut in zip(reach, (reach[0] or 0.0, total - (reach[1] or 0.0)), strict=True):
        at = int(np.searchsorted(edges, cut - 1e-6 * total))
        if eaten and 0 < at < len(edges) - 1:
            new[at - 1] = True
    return np.flatnonzero(np.concatenate([[True], new]))


def _blocks(
    edges: Array,
    composition: Array,
    gamma: Array,
    starts: Starts,
    length: float,
    reach: tuple[float | None, float | None],
) -> Blocks:
    """Contents of the blocks: carbon and chromium their means, Gamma that of a block with one activity; alike ones
    joined.
    """
    thickness = np.diff(edges)
    size = np.diff(np.append(edges[starts], edges[-1]))
    content = [
        np.add.reduceat(thickness * v, starts) / size
        for v in (composition[:, _CARBON], 1 / gamma, composition[:, _CHROMIUM])
    ]
    table = np.stack(content, axis=1)
    if len(starts) > MANY_BLOCKS:
        foot, total = edges[starts], edges[-1]
        kept = np.zeros(len(starts), bool)
        for eaten, depth in zip(reach, (foot, total - foot), strict=True):
            kept |= (eaten is not None) & (depth < (eaten or 0.0) + _KEPT * length)
        apart = np.cumsum(kept | np.concatenate([[False], kept[:-1]]))
        joined = merge(size, table, apart, _ALIKE)
        starts, size, table = starts[joined.parent], joined.thickness, joined.composition
    return Blocks(starts, size, table[:, 0], 1 / table[:, 1], table[:, 2])


def spread(thickness: Array, content: Array, length: float) -> Array:
    """An element's content (n,) [wt%] after spreading with diffusion length sqrt(integral of D dt) [m] between sealed
    faces.

    A point source becomes a Gaussian of standard deviation sqrt(2) times the length; what the two remappings to and
    from the grid spread by themselves is taken off it.
    """
    width, total = np.sqrt(2.0) * length, float(thickness.sum())
    if width > _ALL_LEVEL * total:
        return np.full(len(content), np.einsum("i,i->", thickness, content) / total)
    count = int(np.clip(total / (GRID * width), 8, MOST_GRID))
    pitch = total / count
    if width < pitch:
        return content
    edges = np.concatenate([[0.0], np.cumsum(thickness)])
    inside = np.concatenate([[0.0], np.cumsum(thickness * content)])
    grid = np.linspace(0.0, edges[-1], count + 1)
    own = np.sqrt((width / pitch) ** 2 - 1 / 6)
    even = gaussian_filter1d(
        np.diff(_below(grid, edges, inside, content)) / pitch, own, mode="reflect", radius=int(np.ceil(5 * own))
    )
    after = np.interp(edges, grid, np.concatenate([[0.0], np.cumsum(even) * pitch]))
    return np.diff(after) / thickness


def _below(height: Array, edges: Array, inside: Array, content: Array) -> Array:
    """Content under evenly spaced heights (m,) [wt% m] of cells with `edges` (n + 1,) and `inside` under each of them.

    Within a cell the content runs straight, by the harmonic mean of the slopes to its neighbours (van Leer): none where
    they differ in sign, so plates stay sharp and nothing overshoots.
    """
    if len(content) > len(height):  # cells finer than the grid
        return np.interp(height, edges, inside)
    size, pitch = np.diff(edges), height[-1] / (len(height) - 1)
    upto = np.minimum(np.ceil(edges[1:] / pitch).astype(np.intp), len(height))
    upto[-1] = len(height)
    cell = np.repeat(np.arange(len(content)), np.diff(upto, prepend=0))
    place = np.clip((height - edges[cell]) / size[cell], 0.0, 1.0)
    straight = content[cell] - (0.5 * _rise(size, content))[cell] * (1.0 - place)
    return np.asarray(inside[cell] + size[cell] * place * straight)


def _rise(size: Array, content: Array) -> Array:
    """How much the content rises within each cell (n,) [wt%]."""
    step = np.diff(content)
    slope = step / (0.5 * (size[1:] + size[:-1]))
    left, right = np.concatenate([[0.0], slope]), np.concatenate([slope, [0.0]])
    alike = left * right > 0.0
    mean = np.divide(2.0 * left * right, left + right, out=np.zeros(len(size)), where=alike)
    most = 2.0 * np.minimum(np.abs(np.concatenate([[0.0], step])), np.abs(np.concatenate([step, [0.0]])))
    return np.clip(mean * size, -most, most)
