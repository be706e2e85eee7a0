"""The bar's figures against the second workshop (tests/particles): points sown in the first plates and carried forwards.

It shares no sizes, counts or shares with the ledger: the box is its own, layers are counted where sorted points change
steel, steels are weighed by counting the points that are left.
"""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

import numpy as np

from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import build
from billet.steel.library import find
from tests.particles.workshop import finished, stocks
from tests.test_particles import CASES, SHOP, draw, hollows
from tests.truth.registry import How, Pairs, checks

SOWN = 120_000
WORKSHOP = "a second workshop that carries points forwards"
WELD = {"do": "weld", "temperature": "1150 C", "soak": "5 min"}
FLAT = ("draw", "restack", "restack turned", "restack with spacers", "ground and trimmed")
ANY = (
    *FLAT,
    "draw left to spread",
    "ladder",
    "twist",
    "split",
    "feather",
    "grid pinwheel",
    "joined side by side, one over",
    "miter",
)


class Bar(NamedTuple):
    """The ledger of a recipe, and the same bar as points: heights, steels, box [m]."""

    book: Ledger
    heights: np.ndarray
    steels: np.ndarray
    size: tuple[float, float, float]
    first: float
    """Volume of all the first plates [m3]."""


def thick_stack(pieces: int) -> list[dict[str, Any]]:
    """Nine plates, drawn and cut up twice: some tens of layers."""
    steps = [WELD, draw(6, 30), {"do": "restack", "pieces": pieces}, WELD, draw(6, 30), {"do": "restack", "pieces": 2}]
    steps += [WELD, draw(5, 30)]
    plates = CASES["draw"][0]["stack"]
    return [{"name": "billet", "length": "120 mm", "width": "30 mm", "repeat": 1, "stack": plates, "step": steps}]


STACKS: dict[str, list[dict[str, Any]]] = {
    **{name: CASES[name] for name in ANY},
    "cut in 2 and 2": thick_stack(2),
    "cut in 3 and 2": thick_stack(3),
}
COUNTED = (*FLAT, "cut in 2 and 2", "cut in 3 and 2")


@cache
def made(name: str, scale: str = "0.05 mm") -> Bar:
    """Run a recipe through both."""
    recipe = build(
        {
            "shop": {**SHOP, "scale_per_heat": scale},
            "bar": STACKS[name],
            "blade": {"length": "70 mm", "heel_height": "24 mm"},
        }
    )
    piles, rng = stocks(recipe), np.random.default_rng(3)
    volume = np.array([np.prod(p.size) for p in piles])
    counts = np.rint(SOWN * volume / volume.sum()).astype(int)
    seeds = [rng.uniform(-0.5, 0.5, (3, n)) * np.array(p.size)[:, None] for p, n in zip(piles, counts, strict=True)]
    block = finished(recipe, seeds, hollows)
    steel = np.concatenate([p.steel(s[2]) for p, s in zip(piles, seeds, strict=True)])[block.seed]
    return Bar(run(recipe, diffuse=False), block.points[2], steel, block.size, float(volume.sum()))


def runs(bar: Bar) -> tuple[np.ndarray, np.ndarray]:
    """Thickness [m] and steel of the layers met going up: points sorted by height, cut where the steel changes."""
    order = np.argsort(bar.heights)
    z, steel = bar.heights[order], bar.steels[order]
    change = np.flatnonzero(steel[1:] != steel[:-1])
    borders = np.concatenate(([-0.5 * bar.size[2]], 0.5 * (z[change] + z[change + 1]), [0.5 * bar.size[2]]))
    return np.diff(borders), steel[np.append(change, len(z) - 1)]


@checks(
    "length, width and thickness after each step", f"{WORKSHOP}, thirteen recipes", How.METHOD, unit="%", within=0.1
)
def test_the_box() -> Pairs:
    for name in ANY:
        bar = made(name)
        ours = (bar.book.last.length, bar.book.last.width, bar.book.last.thickness)
        yield from zip(ours, bar.size, strict=True)


@checks(
    "layer count",
    f"{WORKSHOP}: steel changes met going up, seven stacks of up to 54 layers",
    How.METHOD,
    unit="layers",
    within=0.0,
)
def test_layers_met_going_up() -> Pairs:
    """Neighbours of one steel are one layer, so it is the separate layers that are counted."""
    for name in COUNTED:
        bar = made(name)
        yield bar.book.bars[-1].rows[-1].measures.distinct, len(runs(bar)[0])


@checks(
    "thickness of the layers",
    f"{WORKSHOP}: mean, thinnest and outermost, seven stacks",
    How.METHOD,
    unit="um",
    within=5.0,
)
def test_thickness_of_layers() -> Pairs:
    """Borders are found to a few points' distance, about 0.1 micrometres; the mean counts separate layers."""
    for name in COUNTED:
        bar = made(name)
        thick, steel = runs(bar)
        m = bar.book.bars[-1].rows[-1].measures
        yield 1e6 * m.outer_top["left_m"], 1e6 * thick[-1]
        yield 1e6 * m.outer_bottom["left_m"], 1e6 * thick[0]
        yield 1e6 * bar.book.last.thickness / m.distinct, 1e6 * float(thick.mean())
        assert (m.outer_top["steel"], m.outer_bottom["steel"]) == (steel[-1], steel[0])


@checks(
    "share of each steel",
    f"{WORKSHOP}: points counted by steel, thirteen recipes",
    How.METHOD,
    unit="% of the weight",
    within=1.0,
)
def test_shares_by_counting_points() -> Pairs:
    """120,000 points tell a share to about 0.2 %."""
    for name in ANY:
        bar = made(name)
        weight = {s: find(s).density * np.count_nonzero(bar.steels == s) for s in set(bar.steels)}
        shares = bar.book.bars[-1].rows[-1].measures.shares
        yield from ((100 * shares[s], 100 * w / sum(weight.values())) for s, w in weight.items())


@checks(
    "weight of the bar", f"{WORKSHOP}: its box by the density of the points in it", How.METHOD, unit="%", within=0.5
)
def test_weight_of_the_box() -> Pairs:
    for name in FLAT:
        bar = made(name)
        density = float(np.mean([find(s).density for s in bar.steels]))
        yield bar.book.last.mass, density * float(np.prod(bar.size))


@checks(
    "weight of the bar",
    "weight of flat bar, 3.40 lb a foot by width by thickness (steel tables)",
    How.HELD_OUT,
    unit="%",
    within=1.0,
)
def test_weight_of_flat_bar() -> Pairs:
    """A public page of bar weights; 1 ft of 1 x 1/4, 1 1/2 x 3/16 and 2 x 1/2 in of plain steel."""
    for wide, thick in ((1.0, 0.25), (1.5, 0.1875), (2.0, 0.5)):
        bar = {"name": "b", "width": f"{wide} in", "length": "12 in", "stack": [f"1084 {thick} in"]}
        yield run(build({"bar": [bar]}), diffuse=False).last.mass / 0.45359237, 3.40 * wide * thick


@checks(
    "steel lost to saw, grinder and crop",
    f"{WORKSHOP}: metal put in less metal left, no scale",
    How.METHOD,
    unit="%",
    within=1.0,
)
def test_what_saw_grinder_and_crop_take() -> Pairs:
    """Shares of the volume; steels differ in density by a third of a percent."""
    for name in ("restack", "restack turned", "ground and trimmed", "cut in 2 and 2", "cut in 3 and 2"):
        bar = made(name, "0 mm")
        rows = bar.book.bars[-1].rows
        lost = sum(row.lost.total for row in rows)
        yield 100 * lost / rows[0].bar.mass, 100 * (1 - float(np.prod(bar.size)) / bar.first)


@checks(
    "steel lost to scale",
    f"{WORKSHOP}: a tenth of a millimetre a heat taken off every face",
    How.METHOD,
    unit="%",
    within=1.0,
)
def test_scale_of_a_smiths_own_figure() -> Pairs:
    """What the shop's own figure a heat costs over a whole recipe; how much scale a fire makes is checked elsewhere."""
    for name in ("draw", "draw left to spread"):
        with_scale, without = made(name, "0.1 mm"), made(name, "0 mm")
        ours = sum(row.lost.scale for row in with_scale.book.bars[-1].rows)
        density = with_scale.book.last.mean_density
        yield ours, density * (float(np.prod(without.size)) - float(np.prod(with_scale.size)))
