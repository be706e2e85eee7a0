"""The two steps that forge towards a knife: bevels forged by a share, and an end drawn out beside a block."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np

from tests.particles.block import Array, Block
from tests.particles.forging import gathered, scaled

MANY = 4001


@dataclass(frozen=True)
class Sections:
    """Places along a bar [m], its volume up to each [m3], and width, thickness and the middle of the width there [m]."""

    x: Array
    volume: Array
    width: Array
    thickness: Array
    middle: Array

    def of(self, volume: Array) -> tuple[Array, Array, Array, Array]:
        """Place, width, thickness and middle where so much volume lies behind."""
        x = np.interp(volume, self.volume, self.x)
        return x, *(np.interp(x, self.x, values) for values in (self.width, self.thickness, self.middle))


def sections(knots: list[tuple[float, float, float, float]]) -> Sections:
    """Sections through (place, width, thickness, middle), easing from one to the next by 3u^2 - 2u^3."""
    u = np.linspace(0, 1, MANY)
    ease = u * u * (3 - 2 * u)
    rows = []
    for a, b in pairwise(knots):
        rows.append([a[0] + u * (b[0] - a[0]), *(p + ease * (q - p) for p, q in zip(a[1:], b[1:], strict=True))])
    x, width, thickness, middle = np.concatenate(rows, axis=1)
    return Sections(x, gathered(width * thickness, x), width, thickness, middle)


def _scaled(block: Block, step: Any, shop: Any) -> Block:
    """The scale of a step's heats off a bar that is drawn out in part: off every section and both ends alike."""
    off = shop.scale_per_heat * step.heats
    knots = [(x, w - 2 * off, t - 2 * off, m) for x, w, t, m in block.profile]
    (low, *first), (high, *last) = knots[0], knots[-1]
    knots = [(low + off, *first), *knots[1:-1], (high - off, *last)]
    here, (x, y, z) = sections(knots), block.points
    w, t, m = (np.interp(x, here.x, values) for values in (here.width, here.thickness, here.middle))
    inside = (2 * np.abs(y - m) <= w) & (2 * np.abs(z) <= t) & (x >= knots[0][0]) & (x <= knots[-1][0])
    return replace(block.only(inside), profile=knots)


def draw_out(block: Block, step: Any, shop: Any) -> Block:
    """One end drawn to another section: what lies behind a section lies behind it afterwards, what is in it is scaled."""
    block = _scaled(block, step, shop) if block.profile else scaled(block, step, shop)
    length, wide, thick = block.size
    if step.end == "handle":  # seen from the other end, the knife's back still on the same side
        block = replace(block, points=block.points * np.array([[-1.0], [1], [1]]))
    knots = block.profile or [(-0.5 * length, wide, thick, 0.0), (0.5 * length, wide, thick, 0.0)]
    if step.end == "handle" and block.profile:
        knots = [(-x, *rest) for x, *rest in reversed(knots)]
    old = sections(knots)
    w, t, m = knots[-1][1:]
    aside = {"middle": 0.0, "spine": 0.5, "edge": -0.5}[step.level] * (w - step.width)
    start = knots[-2][0] + step.keep
    stop = start + step.transition
    known = [*knots[:-1], (start, w, t, m), (stop, step.width, step.thickness, m + aside)]
    rest = old.volume[-1] - sections(known).volume[-1]
    end = stop + rest / (step.width * step.thickness)
    knots = [*known, (end, step.width, step.thickness, m + aside)]
    new = sections(knots)
    x, y, z = block.points
    behind = np.interp(x, old.x, old.volume)
    at, *here = new.of(behind)
    _, *was = old.of(behind)
    moved = [at, here[2] + here[0] / was[0] * (y - was[2]), here[1] / was[1] * z]
    if step.end == "handle":
        moved[0] = -moved[0]
        knots = [(-x, *rest) for x, *rest in reversed(knots)]
    sides = [s * 0.5 * k[1] + k[3] for k in knots for s in (-1, 1)]
    box = knots[-1][0] - knots[0][0], max(sides) - min(sides), max(k[2] for k in knots)
    dx, dy = 0.5 * (knots[0][0] + knots[-1][0]), 0.5 * (max(sides) + min(sides))
    placed = [(k[0] - dx, k[1], k[2], k[3] - dy) for k in knots]
    return replace(block.at(moved[0] - dx, moved[1] - dy, moved[2]), size=box, profile=placed)


def forge_bevels(block: Block, step: Any, shop: Any, blade: Any) -> Block:
    """Every column of the bar ends as high as the bar's thickness and the knife's there, mixed by the share.

    Along the bar the metal stretches by the mean of bar over column across its width, to the power `lengthen`, the same
    over a section; across it by what keeps the column's volume.
    """
    block = scaled(block, step, shop)
    length, width, thick = block.size
    plan = _plan(length, width, thick, step.share, step.lengthen, blade)
    new_x = np.interp(block.points[0], plan.old_x, plan.x)
    new_y = _where(new_x, block.points[1], plan.x, plan.y, plan.old_y)
    at = blade.placement(*plan.size[:2])
    stand, mid = _columns(new_x, new_y, blade, at, thick, step.share, pairwise=True)
    return replace(block.at(new_x, new_y, mid + block.points[2] * stand / thick), size=plan.size)


@dataclass(frozen=True, eq=False)
class Plan:
    """Old x over x (nx), old y over x and y (nx, ny), and the size of the box round the forging [m]."""

    x: Array
    y: Array
    old_x: Array
    old_y: Array
    size: tuple[float, float, float]


@lru_cache(maxsize=1)
def _plan(length: float, width: float, thick: float, share: float, lengthen: float, blade: Any) -> Plan:
    x, y = (np.linspace(-0.5, 0.5, 1601) * size * 3 for size in (length, width))
    size = (length, width)
    for _ in range(30):
        high, middle = _columns(x, y, blade, blade.placement(*size), thick, share)
        half, along = _reach(high / thick, y, width, lengthen)
        sums = gathered(1 / along, x)
        sums -= np.interp(0.0, x, sums)
        ends = np.linspace(0, 1.5 * length, 20_001)
        end = float(np.interp(length, np.interp(ends, x, sums) - np.interp(-ends, x, sums), ends))
        inside = np.abs(x) <= end
        was, size = size, (2 * end, 2 * float(np.append(half[inside], np.interp([-end, end], x, half)).max()))
        if np.hypot(size[0] - was[0], size[1] - was[1]) < 1e-9:
            break
    rows = np.cumsum(0.5 * (high[:, 1:] + high[:, :-1]), axis=1) * (y[1] - y[0])
    across = np.pad(rows, ((0, 0), (1, 0))) / thick * along[:, None]
    sides = [np.interp(h, y, row) + np.interp(-h, y, row) for h, row in zip(half, across, strict=True)]
    across -= 0.5 * np.array(sides)[:, None]
    tall = float((high + 2 * np.abs(middle))[inside].max())
    return Plan(x, y, sums - np.interp(-end, x, sums) - 0.5 * length, across, (*size, tall))


def _columns(x: Array, y: Array, blade: Any, at: Any, thick: float, share: float, pairwise: bool = False) -> Any:
    """Height of the forged columns, and of their middles over the bar's [m]; the knife is held beyond its outline."""
    u = np.clip(x - at.heel_x, 0, blade.length * (1 - 1e-9))
    low, high = blade.edge_y(u), blade.spine_y(u)
    if not pairwise:
        u, y, low, high = u[:, None], y[None, :], low[:, None], high[:, None]
    v = np.clip(y - at.edge_y, low + 1e-9 * (high - low), high - 1e-9 * (high - low))
    u, v = np.broadcast_arrays(u, v)
    left, right = blade.half(u, v, "left"), blade.half(u, v, "right")
    knife = np.minimum(left + right + 2 * blade.design.allow.face, thick)
    return (1 - share) * thick + share * knife, 0.5 * share * (right - left)


def _reach(share: Array, y: Array, width: float, lengthen: float) -> tuple[Array, Array]:
    """Half the width each section ends with, and how much it stretches along [m, 1]."""
    half = y[y > 0]
    step = y[1] - y[0]
    sums = np.concatenate([np.zeros((len(share), 1)), np.cumsum(0.5 * (share[:, 1:] + share[:, :-1]), 1) * step], 1)
    middle = len(y) // 2
    within = sums[:, middle + 1 :] - sums[:, middle - 1 :: -1]
    mean = within / (2 * half)
    held = 2 * half * mean ** (1 - lengthen)  # width of the bar before that comes to lie within
    out = np.array([np.interp(width, h, half) for h in held])
    return out, np.array([np.interp(o, half, m) for o, m in zip(out, mean, strict=True)]) ** -lengthen


def _where(new_x: Array, old_y: Array, x: Array, y: Array, across: Array) -> Array:
    """The y at which the table of old y over (x, new y) has the value, by halving."""
    i = np.clip(((new_x - x[0]) / (x[1] - x[0])).astype(int), 0, len(x) - 2)
    part = (new_x - x[i]) / (x[1] - x[0])
    low, high = np.zeros(len(new_x), int), np.full(len(new_x), len(y) - 1)

    def old(j: Array) -> Array:
        return (1 - part) * across[i, j] + part * across[i + 1, j]

    while (high - low > 1).any():
        mid = (low + high) // 2
        over = old(mid) > old_y
        low, high = np.where(over, low, mid), np.where(over, mid, high)
    below, above = old(low), old(high)
    return y[low] + (old_y - below) / (above - below) * (y[high] - y[low])
