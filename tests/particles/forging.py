"""Steps that move metal inside the bar: draw, twist, bulge, split, bevels and drawn-out ends, by flows and columns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from tests.particles.block import Array, Block, pared

Flow = Callable[[Array, Array], tuple[Array, Array]]
FINE = 20_001


def scaled(block: Block, step: Any, shop: Any, heats: int | None = None) -> Block:
    """The scale of a step's heats off all six faces; the shop's own figure."""
    if step.temperature is None:
        return block
    off = (shop.scale_per_heat * (step.heats if heats is None else heats),) * 2
    return pared(block, off, off, off) if off[0] else block


def gathered(values: Array, x: Array) -> Array:
    """Running sum of values over x by the trapezoid rule, from nothing."""
    return np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(x))])


def squared(block: Block) -> Block:
    """Between flat dies every upright column of a round bar keeps its metal and becomes as high as the rectangle."""
    if np.isinf(block.corner):
        return block
    a, b, n = 0.5 * block.size[1], 0.5 * block.size[2], block.corner
    angle = np.linspace(0, 0.5 * np.pi, FINE)
    across, high = np.sin(angle) ** (2 / n), np.cos(angle) ** (2 / n)  # the quarter outline, fine at both ends
    sums = gathered(high, across)
    share = np.sqrt(sums[-1])  # of the rectangle's sides over the round bar's: areas alike, proportions alike
    y, z = np.abs(block.points[1]) / a, block.points[2] / b
    place = np.interp(y, across, sums / sums[-1])
    column = np.maximum((1 - np.minimum(y, 1) ** n) ** (1 / n), 1e-9)
    moved = block.at(block.points[0], np.copysign(place, block.points[1]) * a * share, b * share * z / column)
    return replace(moved, size=(block.size[0], 2 * a * share, 2 * b * share), corner=float("inf"))


def to(block: Block, length: float, width: float, thickness: float) -> Block:
    """Drawn evenly to another size."""
    by = np.array([[length], [width], [thickness]]) / np.array(block.size)[:, None]
    return replace(block, points=by * block.points, size=(length, width, thickness))


def draw(block: Block, step: Any, shop: Any) -> Block:
    """Scale and the same ratio in every heat; the length follows from the volume."""
    assert not step.hot
    block = squared(block)
    begun = block.size
    for heat in range(1, step.heats + 1):
        block = scaled(block, step, shop, 1)
        volume = float(np.prod(block.size))
        share = heat / step.heats
        if step.free:
            thick = begun[2] ** (1 - share) * step.thickness**share
            wide = block.size[1] * (block.size[2] / thick) ** shop.spread
        else:
            end_t = step.thickness or volume / (step.length * step.width)
            end_w = step.width or volume / (step.length * end_t)
            thick, wide = begun[2] ** (1 - share) * end_t**share, begun[1] ** (1 - share) * end_w**share
        block = to(block, volume / (wide * thick), wide, thick)
    return block


def carried(y: Array, z: Array, flow: Flow, time: float | Array, steps: int) -> tuple[Array, Array]:
    """Points carried along a flow by Heun's third-order rule."""
    h = time / steps
    for _ in range(steps):
        a, b = flow(y, z)
        c, d = flow(y + h / 3 * a, z + h / 3 * b)
        e, f = flow(y + 2 * h / 3 * c, z + 2 * h / 3 * d)
        y, z = y + 0.25 * h * (a + 3 * e), z + 0.25 * h * (b + 3 * f)
    return y, z


def wound(turns: Array, length: float, ease: float) -> tuple[Array, Array]:
    """Places along the bar from its low end [m] and the angle there [rad]: equal parts, each wound by its own angle,
    the rate running straight from one to the next within `ease` of the border.
    """
    n, part = len(turns), length / len(turns)
    x = np.linspace(0, length, FINE)
    ramps = [np.clip((x - part * (k + 1) + ease) / (2 * ease), 0, 1) for k in range(n - 1)]
    shares = [a - b for a, b in zip([np.ones_like(x), *ramps], [*ramps, np.zeros_like(x)], strict=True)]
    sums = [gathered(s, x) for s in shares]
    ends = np.array([[np.interp(part * (j + 1), x, s) - np.interp(part * j, x, s) for s in sums] for j in range(n)])
    rates = np.linalg.solve(ends, 2 * np.pi * turns)
    return x, sum(r * s for r, s in zip(rates, sums, strict=True))


def twist(block: Block, step: Any, shop: Any) -> Block:
    """Corners broken to a superellipse; then every section turns as a flow whose lines are outlines like the section's.

    The flow of H = A g^2 / 2 pi, A the section's area and g = 1 its outline, sweeps equal areas in equal times and goes
    round once in 2 pi.
    """
    block = scaled(block, step, shop)
    n = min(block.corner, 2 / step.corners)
    length, a, b = block.size[0], 0.5 * block.size[1], 0.5 * block.size[2]
    inside = np.abs(block.points[1] / a) ** n + np.abs(block.points[2] / b) ** n <= 1
    block = block.only(inside)
    angle = np.linspace(0, 0.5 * np.pi, FINE)
    area = 4 * a * b * gathered(np.cos(angle) ** (2 / n), np.sin(angle) ** (2 / n))[-1]
    hand = 1 if step.hand == "right" else -1
    turns = hand * np.atleast_1d(np.array(step.turns, float))
    at, ahead = wound(turns, length, min(0.5 * block.size[2], 0.1 * length / len(turns)))

    def flow(y: Array, z: Array) -> tuple[Array, Array]:
        u, v = np.abs(y / a), np.abs(z / b)
        # dH/dy = A/2pi d(g^2)/dy, g^2 = (u^n + v^n)^(2/n)
        common = area / np.pi * (u**n + v**n + 1e-300) ** (2 / n - 1)
        return -common * np.copysign(v ** (n - 1), z) / b, common * np.copysign(u ** (n - 1), y) / a

    by = np.interp(block.points[0] + 0.5 * length, at, ahead)
    y, z = carried(block.points[1], block.points[2], flow, by, int(160 * np.abs(by).max() / (2 * np.pi)) + 40)
    return replace(block.at(block.points[0], y, z), corner=n)


def _eighth(block: Block) -> Block:
    """A square outline turned by an eighth inside itself: every point goes half an edge on along its own small square."""
    a, b = 0.5 * block.size[1], 0.5 * block.size[2]
    u, v = block.points[1] / a, block.points[2] / b
    g = np.maximum(np.maximum(np.abs(u), np.abs(v)), 1e-300)
    p, q = u / g, v / g
    # along the unit square from its lower right corner, right-handed: right edge 0..2, top 2..4, left 4..6, bottom 6..8
    along = np.where(p >= 1, 1 + q, np.where(q >= 1, 3 - p, np.where(p <= -1, 5 - q, 7 + p)))
    along = (along + 1) % 8
    right = np.interp(along, [0, 2, 4, 6, 8], [1, 1, -1, -1, 1])
    up = np.interp(along, [0, 2, 4, 6, 8], [-1, 1, 1, -1, -1])
    return block.at(block.points[0], right * g * a, up * g * b)


def bulge(block: Block, step: Any, shop: Any) -> Block:
    """The flow of psi = amount y (1 - 4 y^2/W^2) z (1 - 4 z^2/H^2) for one unit of time."""
    block = scaled(block, step, shop)
    if step.section == "bias":
        block = _eighth(block)
    _, wide, high = block.size

    def flow(y: Array, z: Array) -> tuple[Array, Array]:
        side, top = 4 * y * y / wide**2, 4 * z * z / high**2
        return y * (1 - side) * (1 - 3 * top), -z * (1 - top) * (1 - 3 * side)

    y, z = carried(block.points[1], block.points[2], flow, float(step.amount), 200)
    return block.at(block.points[0], y, z)


def split(block: Block, step: Any, shop: Any) -> Block:
    """The wedge drags each half along by drag (1 - s)^2; the cut faces are cleaned and the ends of its way dressed."""
    block = scaled(block, step, shop)
    across, down = (1, 2) if step.along == "width" else (2, 1)
    new = block.points.copy()
    aside = np.abs(new[across])
    new[down] += 0.5 * step.drag - step.drag * np.maximum(1 - aside / step.reach, 0) ** 2
    new[across] -= np.copysign(shop.face_cleanup, new[across])
    size = list(block.size)
    size[across] -= 2 * shop.face_cleanup
    size[down] -= step.drag
    kept = aside >= shop.face_cleanup
    return replace(block, points=new).only(kept).sized(*size)
