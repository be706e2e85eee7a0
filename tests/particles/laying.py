"""Steps that cut, turn and lay: rigid motions of pieces, saw cuts, ground faces."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from tests.particles.block import Array, Block, pared, together

NOTHING = (0.0, 0.0)
ABOUT = {"x": np.diag([1.0, -1.0, -1.0]), "y": np.diag([-1.0, 1.0, -1.0]), "z": np.diag([-1.0, -1.0, 1.0])}
"""Half turns about the three axes."""
ROLL = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])  # a quarter about the length: the spine side comes up
TIP = np.array([[0.0, 0, -1], [0, 1, 0], [1, 0, 0]])  # a quarter about the width: the point's end comes up


def turned(block: Block, by: Array) -> Block:
    """The bar turned by a rotation that takes axes to axes."""
    length, width, thickness = (float(v) for v in np.abs(by) @ np.array(block.size))
    return replace(block, points=by @ block.points, size=(length, width, thickness))


def pieces(block: Block, length: float, first: float, pitch: float, count: int) -> list[Block]:
    """Lengths sawn out of a bar, the first beginning `first` from its low end, each in its own frame [m]."""
    out = []
    for k in range(count):
        middle = -0.5 * block.size[0] + first + k * pitch + 0.5 * length
        moved = block.at(block.points[0] - middle, block.points[1], block.points[2])
        out.append(moved.sized(length, *block.size[1:]))
    return out


def in_a_row(blocks: list[Block], axis: int) -> Block:
    """Blocks laid against one another along an axis, the first lowest."""
    sizes = np.array([b.size[axis] for b in blocks])
    middles = np.cumsum(sizes) - 0.5 * sizes - 0.5 * sizes.sum()
    unit = np.eye(3)[axis][:, None]
    laid = [replace(b, points=b.points + m * unit) for b, m in zip(blocks, middles, strict=True)]
    size = list(blocks[0].size)
    size[axis] = float(sizes.sum())
    return together(laid, (size[0], size[1], size[2]))


def restack(block: Block, over: list[bool], kerf: float, shop: Any, spacer: list[Block] | None = None) -> Block:
    """Pieces from the low end up, every `over` one turned over about its width, mating faces ground."""
    bar, n = pared(block, shop.trims, NOTHING, NOTHING), len(over)
    length, clean = (bar.size[0] - (n - 1) * kerf) / n, shop.face_cleanup
    pile: list[Block] = []
    for k, piece in enumerate(pieces(bar, length, 0.0, length + kerf, n)):
        lying = turned(piece, ABOUT["y"]) if over[k] else piece
        if k and spacer is not None:
            pile.append(spacer[k - 1].sized(length, bar.size[1], spacer[k - 1].size[2]))
        pile.append(pared(lying, NOTHING, NOTHING, (clean * (k > 0), clean * (k < n - 1))))
    return in_a_row(pile, 2)


def _turn(order: str, grid: int, column: int, row: int) -> Array:
    """How the piece of a column and row is turned from how it was cut."""
    if order == "same":
        return np.eye(3)
    if order == "mirror":
        return (ABOUT["z"] if column % 2 else np.eye(3)) @ (ABOUT["y"] if row % 2 else np.eye(3))
    if order == "quarter turned":
        return np.linalg.matrix_power(ROLL, (column + row) % 2)
    if grid == 3 and (column, row) == (1, 1):
        return np.eye(3)
    right, up = (column % 2, row % 2) if grid != 3 else (column - 1, row - 1)
    around = (
        [(-1, -1), (0, -1), (1, -1), (1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0)]
        if grid == 3
        else [(0, 0), None, (1, 0), None, (1, 1), None, (0, 1), None]
    )
    return np.linalg.matrix_power(ROLL, around.index((right, up)) // 2)


def grid_restack(block: Block, step: Any, shop: Any) -> Block:
    """Pieces from the low end laid row by row from below, each row from the edge side."""
    n, clean = step.grid, shop.face_cleanup
    bar = pared(block, shop.trims, NOTHING, NOTHING)
    if step.order in ("pinwheel", "quarter turned"):
        side = min(bar.size[1:])
        bar = pared(bar, NOTHING, *((0.5 * (s - side),) * 2 for s in bar.size[1:]))
    length = (bar.size[0] - (n * n - 1) * shop.kerf) / n**2
    cut = pieces(bar, length, 0.0, length + shop.kerf, n * n)
    rows = []
    for row in range(n):
        lying = []
        for column in range(n):
            piece = turned(cut[row * n + column], _turn(step.order, n, column, row))
            ground = [(clean * (k > 0), clean * (k < n - 1)) for k in (column, row)]
            lying.append(pared(piece, NOTHING, *ground))
        rows.append(in_a_row(lying, 1))
    return in_a_row(rows, 2)


def end_grain(block: Block, step: Any, shop: Any) -> Block:
    """Lengths stood on end in a row, the row of cuts in the middle of the bar."""
    bar, segment = pared(block, shop.trims, NOTHING, NOTHING), step.segment
    accordion = step.method == "accordion"
    kerf, clean = (0.0, 0.0) if accordion else (shop.kerf, shop.face_cleanup)
    n = int((bar.size[0] + kerf) / (segment + kerf) + 1e-9)
    first = 0.5 * (bar.size[0] - n * (segment + kerf) + kerf)
    cut = pieces(bar, segment, first, segment + kerf, n)
    if step.method == "slices":
        return turned(cut[(n - 1) // 2], TIP)
    if accordion:
        web = bar.size[2] / 3 if step.leg is None else step.leg
        tipped = [turned(p.sized(web, *p.size[1:]), TIP if k % 2 == 0 else TIP.T) for k, p in enumerate(cut)]
        return in_a_row(tipped, 0)
    ground = [
        pared(turned(p, TIP), (clean * (k > 0), clean * (k < n - 1)), NOTHING, NOTHING) for k, p in enumerate(cut)
    ]
    return in_a_row(ground, 0)


def miter(block: Block, step: Any, shop: Any) -> Block:
    """Two slabs along a slant cut; the upper half turned over about the line square to the cut."""
    gap = 0.5 * (shop.kerf if step.kerf is None else step.kerf) + shop.face_cleanup
    c, s = np.cos(step.angle), np.sin(step.angle)
    by = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])  # along the cut, across it
    slant = replace(block, points=by @ block.points)
    low, high, depth = _slab(block.size[0], block.size[1], step.angle, gap)
    out = []
    for half in (slant, replace(slant, points=ABOUT["y"] @ (ABOUT["x"] @ slant.points))):
        # the half turn about x and then y is one about the upright: the upper half seen as a lower one
        moved = half.at(half.points[0] - 0.5 * (low + high), half.points[1] + gap + 0.5 * depth, half.points[2])
        out.append(moved.sized(high - low, depth, block.size[2]))
    lower, upper = out
    return in_a_row([lower, turned(upper, ABOUT["x"])], 1)


def _slab(length: float, width: float, angle: float, gap: float) -> tuple[float, float, float]:
    """Both ends along the cut and the depth of the largest rectangle under it, by trying 200,000 depths [m]."""
    c, s = np.cos(angle), np.sin(angle)
    depth = np.linspace(0, 0.5 * (length * s + width * c) - gap, 200_001)
    ends = []
    for across in (np.full_like(depth, -gap), -gap - depth):
        ends.append((np.maximum((-0.5 * length + across * s) / c, (-0.5 * width - across * c) / s),
                     np.minimum((0.5 * length + across * s) / c, (0.5 * width - across * c) / s)))  # fmt: skip
    low, high = np.maximum(ends[0][0], ends[1][0]), np.minimum(ends[0][1], ends[1][1])
    best = int(np.argmax(depth * np.maximum(high - low, 0)))
    return float(low[best]), float(high[best]), float(depth[best])


def join(items: list[tuple[str, str | None]], bars: dict[str, Block], how: str, shop: Any) -> Block:
    """Bars cut up, turned, their mating faces ground, cut to the smallest, and laid on or beside one another."""
    names, cut = [name for name, _ in items], []
    for k, (name, flip) in enumerate(items):
        n, bar = names.count(name), bars[name]
        length = (bar.size[0] - (n - 1) * shop.kerf) / n
        piece = pieces(bar, length, 0.0, length + shop.kerf, n)[names[:k].count(name)]
        cut.append(turned(piece, {None: np.eye(3), "over": ABOUT["x"], "end for end": ABOUT["z"]}[flip]))
    along, across = (2, 1) if how == "layers" else (1, 2)
    least = [min(p.size[axis] for p in cut) for axis in range(3)]
    out = []
    for k, piece in enumerate(cut):
        off = [NOTHING] * 3
        off[0] = (0.5 * (piece.size[0] - least[0]),) * 2
        off[across] = (0.5 * (piece.size[across] - least[across]),) * 2
        off[along] = (shop.face_cleanup * (k > 0), shop.face_cleanup * (k < len(cut) - 1))
        out.append(pared(piece, *off))
    return in_a_row(out, along)
