"""A recipe run forwards over points of its first plates."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from billet.recipe.blade import blade_of
from billet.recipe.recipe import Recipe
from billet.steel.plate import read_plate
from tests.particles import blades, forging, laying, reliefs
from tests.particles.block import Array, Block, pared
from tests.particles.reliefs import Face

Faces = Callable[[Any, tuple[float, float, float]], tuple[Face, Face]]
"""Depths of top and bottom face of a step with hollows, for the bar's length, width and thickness [m]."""


PLATE = (0.3, 0.06)
"""Length and width of a plate from which a spacer is cut [m]."""


class Stock(NamedTuple):
    """Plates piled up: the bar they begin (or the spacers of which step), their steels from below, borders [m], size."""

    bar: str
    steels: tuple[str, ...]
    borders: Array
    size: tuple[float, float, float]

    def steel(self, z: Array) -> NDArray[np.object_]:
        """The steel at each height over the middle of the stack."""
        return np.array(self.steels, object)[np.clip(np.searchsorted(self.borders, z) - 1, 0, len(self.steels) - 1)]


def stocks(recipe: Recipe) -> list[Stock]:
    """What the bars of a recipe are first stacked of, and the spacers laid between pieces later."""
    out = []
    for k, bar in enumerate(recipe.tables.bar):
        for number, (_, step) in enumerate(recipe.steps(k)):
            if getattr(step, "spacer", None):
                steel, thick = read_plate(step.spacer, recipe.own_steels, "spacer")
                half = 0.5 * np.array([-thick, thick])
                names = [_between(bar.name, number, piece) for piece in range(1, step.pieces)]
                out += [Stock(name, (steel.name,), half, (*PLATE, thick)) for name in names]
        if not bar.stack:
            continue
        assert not bar.uneven, "a check knows its plates"
        texts = [*([bar.base] if bar.base else []), *(bar.stack * bar.repeat), *([bar.cap] if bar.cap else [])]
        plates = [read_plate(text, recipe.own_steels, "stack") for text in texts]
        thick = np.array([size for _, size in plates])
        borders = np.append(0.0, np.cumsum(thick)) - 0.5 * thick.sum()
        names = tuple(steel.name for steel, _ in plates)
        out.append(Stock(bar.name, names, borders, (bar.length, bar.width, float(thick.sum()))))
    return out


def _between(bar: str, number: int, piece: int) -> str:
    return f"{bar} spacer {piece} of step {number}"


def finished(recipe: Recipe, seeds: Sequence[Array], faces: Faces | None = None) -> Block:
    """The last bar, with the seeds (3, n) of each stock [m] carried through every step; a point's number is its place in
    all seeds put one after another.
    """
    shop, bars, first, cold = recipe.tables.shop, {}, 0, {}
    for stock, points in zip(stocks(recipe), seeds, strict=True):
        cold[stock.bar] = Block(points, np.arange(points.shape[1]) + first, stock.size)
        first += points.shape[1]
    for k, table in enumerate(recipe.tables.bar):
        if table.join is not None:
            block = laying.join([(i.bar, i.flip) for i in table.items], bars, table.as_ or "layers", shop)
        else:
            block = cold[table.name]
        for number, (_, step) in enumerate(recipe.steps(k)):
            if step.do in ("restack", "fold"):
                block = _laid_up(block, step, shop, [cold.get(_between(table.name, number, p)) for p in range(1, 100)])
            else:
                block = done(block, step, recipe, faces)
        bars[table.name] = block
    return block


def _laid_up(block: Block, step: Any, shop: Any, spacers: list[Block | None]) -> Block:
    """Pieces on one another, with plates between them where there are any."""
    if step.do == "fold":
        return laying.restack(block, [False, True], 0.0, shop)
    over = [step.flip == "alternate" and k % 2 == 1 for k in range(step.pieces)]
    return laying.restack(block, over, shop.kerf, shop, [s for s in spacers if s is not None] or None)


def done(block: Block, step: Any, recipe: Recipe, faces: Faces | None = None) -> Block:
    """The bar after one more step."""
    shop, verb = recipe.tables.shop, step.do
    if verb in ("weld", "heat", "normalise", "anneal"):
        return forging.scaled(block, step, shop)
    if verb in ("ladder", "raindrop", "hammer", "relief"):
        return _hollowed(block, step, shop, faces)
    if verb == "forge_bevels":
        return blades.forge_bevels(block, step, shop, _at_hardening(recipe))
    if verb == "roll":
        return laying.turned(block, np.linalg.matrix_power(laying.ROLL, step.quarters % 4))
    if verb == "upend":
        return laying.turned(block, laying.TIP.T)
    if verb == "trim":
        return pared(block, (step.each_end,) * 2, laying.NOTHING, laying.NOTHING)
    if verb == "surface_grind":
        return pared(block, laying.NOTHING, (step.edges,) * 2, (step.bottom, step.top))
    room = laying if hasattr(laying, verb) else blades if hasattr(blades, verb) else forging
    moved: Block = getattr(room, verb)(block, step, shop)
    return moved


_KNIVES: dict[int, tuple[Recipe, Any]] = {}


def _at_hardening(recipe: Recipe) -> Any:
    """The knife a recipe's bar is forged towards, made once."""
    if id(recipe) not in _KNIVES:
        _KNIVES[id(recipe)] = recipe, blade_of(recipe, "hardening")
    return _KNIVES[id(recipe)][1]


def _hollowed(block: Block, step: Any, shop: Any, faces: Faces | None) -> Block:
    """A relief; hammers press."""
    method = "pressed" if step.do == "hammer" else step.method
    one_sided = getattr(step, "faces", "") == "top"
    if step.do == "ladder":
        return reliefs.relieved(block, step, shop, reliefs.grooves(step, block.size[0]), method, True, one_sided)
    assert faces is not None, "a relief that is not a ladder needs its hollows told"
    cold = forging.scaled(block, step, shop)
    return reliefs.relieved(block, step, shop, faces(step, cold.size), method, False, one_sided)
