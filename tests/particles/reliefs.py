"""Hollows in the faces, cut and forged flat or pressed and ground flat.

Cut: what lies in a hollow is gone, every column keeps its metal and comes to stand as high as the flat bar, spreading in
the plane. Pressed: columns are squeezed between dies whose relief stands where the metal ends up; then a plane is cut.
The spreading is the one of least effort, x -> x + grad phi with det(I + D2 phi) = height of the column over the mean
(Brenier 1991, Comm. Pure Appl. Math. 44, 375: the optimal transport of a density; from memory), no metal crossing the
border. It is found here by Newton's method on a five-point grid with a sparse direct solver.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.sparse import bmat, diags, identity, kron
from scipy.sparse.linalg import spsolve

from tests.particles.block import Array, Block
from tests.particles.forging import gathered, scaled

Face = Callable[[Array, Array], Array]
Round = tuple[float, float, float, float]
"""One round mark: x, y, radius, depth [m]."""
SOFT = 8  # exponent of the soft maximum where drilled dimples overlap
CELL = 0.2e-3


def grooves(step: Any, length: float) -> tuple[Face, Face]:
    """Depth of the top and the bottom face: raised cosines across the bar, the middle of the bar a land."""
    first = {"staggered": (0.25, -0.25), "opposed": (0.5, 0.5), "top": (0.5, None)}[step.faces]

    def face(at: float | None) -> Face:
        def depth(x: Array, y: Array) -> Array:
            if at is None:
                return np.zeros_like(x + y)
            off = np.mod(x - at * step.pitch + 0.5 * step.pitch, step.pitch) - 0.5 * step.pitch
            wide = np.abs(off) < 0.5 * step.groove
            return 0.5 * step.depth * (1 + np.cos(2 * np.pi * off / step.groove)) * wide + 0 * y

        return depth

    return face(first[0]), face(first[1])


def dimples(marks: Iterable[Round]) -> Face:
    """Dimples of depth (1 - r^2/R^2)^2; where they overlap the deeper wins, softly."""
    kept = list(marks)

    def depth(x: Array, y: Array) -> Array:
        total = np.zeros_like(x + y)
        for at_x, at_y, radius, deep in kept:
            inside = np.maximum(1 - ((x - at_x) ** 2 + (y - at_y) ** 2) / radius**2, 0)
            total = total + (deep * inside**2 * 1e3) ** SOFT
        return 1e-3 * total ** (1 / SOFT)

    return depth


def blows(marks: Iterable[Round], deepest: float) -> Face:
    """Blows of weight (1 - r^2/R^2)^3 one after another: each takes its share of what the earlier ones left proud."""
    kept = list(marks)

    def depth(x: Array, y: Array) -> Array:
        proud = np.ones_like(x + y)
        for at_x, at_y, radius, deep in kept:
            inside = np.maximum(1 - ((x - at_x) ** 2 + (y - at_y) ** 2) / radius**2, 0)
            proud = proud * (1 - deep / deepest * inside**3)
        return deepest * (1 - proud)

    return depth


def pictured(grey: Array, length: float, width: float, depth: float, shift: float) -> Face:
    """A grey picture (rows from the +y side, 0 black to 1 white) repeated over the face; black is deep, its walls eased
    by a bell of half the depth, done here in its waves.
    """
    dark = (1 - grey).T[:, ::-1]
    nx, ny = dark.shape
    fx, fy = np.fft.fftfreq(nx, length / nx)[:, None], np.fft.fftfreq(ny, width / ny)[None, :]
    eased = np.fft.ifft2(np.fft.fft2(dark) * np.exp(-0.5 * (np.pi * depth) ** 2 * (fx**2 + fy**2))).real
    wide = np.pad(eased, 8, mode="wrap")
    x = (np.arange(-8, nx + 8) + 0.5) * length / nx - 0.5 * length
    y = (np.arange(-8, ny + 8) + 0.5) * width / ny - 0.5 * width
    spline = RectBivariateSpline(x, y, wide)

    def deep(a: Array, b: Array) -> Array:
        a, b = np.broadcast_arrays(a - shift, b)
        folded = [np.mod(v + 0.5 * size, size) - 0.5 * size for v, size in ((a, length), (b, width))]
        return depth * np.maximum(spline.ev(*folded), 0)

    return deep


def level(x: Array, y: Array) -> Array:
    """A face without hollows."""
    return np.zeros_like(x + y)


@dataclass(frozen=True)
class Sheet:
    """Column heights and hollows on the middles of even cells, with the potential's slopes there."""

    x: Array
    y: Array
    top: Array
    bottom: Array


def _sheet(faces: tuple[Face, Face], length: float, width: float) -> Sheet:
    nx, ny = (max(16, round(size / CELL)) for size in (length, width))
    x = (np.arange(nx) + 0.5) * length / nx - 0.5 * length
    y = (np.arange(ny) + 0.5) * width / ny - 0.5 * width
    top, bottom = (face(x[:, None], y[None, :]) for face in faces)
    return Sheet(x, y, top, bottom)


def _second(n: int, h: float) -> Any:
    """Second difference on cell middles, mirrored at both borders."""
    main = np.full(n, -2.0)
    main[[0, -1]] = -1.0
    return diags([np.ones(n - 1), main, np.ones(n - 1)], [-1, 0, 1]) / h**2


def _first(n: int, h: float) -> Any:
    """Central difference on cell middles, mirrored at both borders."""
    main = np.zeros(n)
    main[0], main[-1] = -1.0, 1.0
    return diags([-np.ones(n - 1), main, np.ones(n - 1)], [-1, 0, 1]) / (2 * h)


def potential(ratio: Array, length: float, width: float) -> Array:
    """phi on cell middles with det(I + D2 phi) = ratio over its mean, level across the border; found once."""
    return _potential(ratio.tobytes(), ratio.shape, length, width)


@lru_cache(maxsize=2)
def _potential(data: bytes, shape: tuple[int, int], length: float, width: float) -> Array:
    nx, ny = shape
    ratio = np.frombuffer(data).reshape(shape)
    hx, hy = length / nx, width / ny
    xx = kron(_second(nx, hx), identity(ny)).tocsr()
    yy = kron(identity(nx), _second(ny, hy)).tocsr()
    xy = kron(_first(nx, hx), _first(ny, hy)).tocsr()
    r = (ratio / ratio.mean()).ravel()
    ones = np.ones((nx * ny, 1))
    phi, slack = np.zeros(nx * ny), 0.0
    for _ in range(30):
        a, b, c = xx @ phi, yy @ phi, xy @ phi
        miss = np.append((1 + a) * (1 + b) - c**2 - r - slack, phi.sum())
        if np.abs(miss[:-1]).max() < 1e-10:
            break
        slope = diags(1 + b) @ xx + diags(1 + a) @ yy - diags(2 * c) @ xy
        whole = bmat([[slope, -ones], [ones.T, None]], format="csc")
        move = spsolve(whole, -miss)
        phi, slack = phi + move[:-1], slack + move[-1]
    else:
        raise AssertionError("the spreading was not found")
    return phi.reshape(nx, ny)


def _slopes(phi: Array, sheet: Sheet, length: float, width: float) -> tuple[Any, Any]:
    """The two slopes of phi anywhere: a bicubic spline through phi mirrored at the borders."""
    pad = 6
    wide = np.pad(phi, pad, mode="symmetric")
    dx, dy = sheet.x[1] - sheet.x[0], sheet.y[1] - sheet.y[0]
    x = np.concatenate([sheet.x[0] - dx * np.arange(pad, 0, -1), sheet.x, sheet.x[-1] + dx * np.arange(1, pad + 1)])
    y = np.concatenate([sheet.y[0] - dy * np.arange(pad, 0, -1), sheet.y, sheet.y[-1] + dy * np.arange(1, pad + 1)])
    spline = RectBivariateSpline(x, y, wide)
    return (lambda a, b: spline.ev(a, b, dx=1)), (lambda a, b: spline.ev(a, b, dy=1))


def relieved(
    block: Block, step: Any, shop: Any, faces: tuple[Face, Face], method: str, across: bool, one_sided: bool
) -> Block:
    """Hollows put in and the bar made flat; `across`: they depend on the place along the bar alone."""
    block = scaled(block, step, shop)
    length, width, thick = block.size
    flat = step.thickness_after
    assert flat is not None, "the recipe of a check says how thick the flat bar is"
    sheet = _along(faces, length) if across else _sheet(faces, length, width)
    g_top, g_bottom = float(sheet.top.mean()), float(sheet.bottom.mean())
    x, y, z = block.points
    if method == "cut":
        low, high = faces[1](x, y) - 0.5 * thick, 0.5 * thick - faces[0](x, y)
        kept = (z >= low) & (z <= high)
        stretch = (thick - g_top - g_bottom) / flat
        if across:
            sums = gathered((thick - sheet.top - sheet.bottom).ravel(), sheet.x)
            new_x = np.interp(x, sheet.x, (sums - np.interp(0.0, sheet.x, sums)) / flat)
            new_y = y
        else:
            u, v = _slopes(potential(thick - sheet.top - sheet.bottom, length, width), sheet, length, width)
            new_x, new_y = (x + u(x, y)) * stretch, y + v(x, y)
        moved = block.at(new_x, new_y, flat * ((z - low) / (high - low) - 0.5))
        return replace(moved.only(kept), size=(length * stretch, width, flat))
    new_x, new_y = _pressed(block, sheet, thick, across)
    low = faces[1](new_x, new_y) - g_bottom - 0.5 * thick
    high = 0.5 * thick + g_top - faces[0](new_x, new_y)
    plane = 0.5 * (flat - thick) if one_sided else 0.0
    new_z = low + (z / thick + 0.5) * (high - low) - plane
    return block.at(new_x, new_y, new_z).sized(length, width, flat)


def _along(faces: tuple[Face, Face], length: float) -> Sheet:
    x = np.linspace(-0.5 * length, 0.5 * length, 200_001)
    top, bottom = (face(x, np.zeros(1)) for face in faces)
    return Sheet(x, np.zeros(1), top, bottom)


def _pressed(block: Block, sheet: Sheet, thick: float, across: bool) -> tuple[Array, Array]:
    """Where each column comes to stand under the dies: the column there holds what stood here."""
    length, width, _ = block.size
    x, y, _ = block.points
    high = thick - sheet.top - sheet.bottom + sheet.top.mean() + sheet.bottom.mean()
    if across:
        sums = gathered(high.ravel(), sheet.x) / thick
        return np.interp(x, sums - np.interp(0.0, sheet.x, sums), sheet.x), y
    u, v = _slopes(potential(high, length, width), sheet, length, width)
    a, b = x, y
    for _ in range(200):
        was, (a, b) = (a, b), (x - u(a, b), y - v(a, b))
        if max(np.abs(a - was[0]).max(), np.abs(b - was[1]).max()) < 1e-9:
            return a, b
    raise AssertionError("a column was not found under the dies")
