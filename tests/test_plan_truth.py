"""Plans, prices and the record against a second workshop, a ledger of their own kind and sums by hand."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from decimal import Decimal

import numpy as np

from billet.plan.sequence_search import lines_of, search
from billet.plan.weigh import weigh
from billet.plan.writing import write_out
from billet.recipe.read import build
from billet.recipe.tables import Target
from billet.record.compare import compare
from billet.record.entry import Entry, Measure, Place
from billet.stages.quote import quote
from tests import test_plan_exhaustive as exhaustive
from tests.particles.workshop import finished, stocks
from tests.planning import goal
from tests.test_plan_exhaustive import GOAL, SHOP, SPACE
from tests.test_stages_metal import PRICES
from tests.test_stages_metal import made as staged
from tests.truth.registry import How, Pairs, checks

OWN_SCALE = goal({"layers": 60}, shop=SHOP + '\nscale_per_heat = "0.05 mm"')


@checks(
    "bar a plan ends in",
    "a second workshop running the recipe the plan writes, six targets",
    How.METHOD,
    unit="mm",
    within=0.2,
)
def test_the_bar_a_plan_ends_in() -> Pairs:
    """Length of the last bar of the first plan for each target, the figure every loss goes into."""
    for layers in (24, 40, 60, 80, 100, 120):
        wanted = replace(OWN_SCALE, target=Target(layers=layers, steels=("1084", "15N20")))
        found = search(wanted, SPACE, keep=1).found[0]
        text = write_out(wanted, found, found.start)
        recipe = build(tomllib.loads(text), text)
        size = finished(recipe, [np.zeros((3, 1)) for _ in stocks(recipe)]).size
        told = weigh(wanted, found.habits, found.after, found.batch, found.want, lines_of(wanted, SPACE)[0].tail)
        yield 1e3 * float(told.end[0]), 1e3 * size[0]


@checks(
    "which plan comes first",
    "every sequence of a reduced space tried one by one, thirty targets",
    How.METHOD,
    unit="tenths of what a smith notices",
    within=0.0,
    slow=True,
)
def test_the_first_plan_is_the_best_there_is() -> Pairs:
    """The distance from the target of the first plan and of the best of all, under one score written out twice."""
    everything = [t for line, batch in exhaustive.rows() if (t := exhaustive.tried(line, batch)) is not None]
    for near in everything[:: max(1, len(everything) // 30)]:
        target = Target(steels=("1084", "15N20"), layers=near.layers, carbon=round(near.carbon, 3))
        best = min(s for t in everything if (s := exhaustive.score(t, target))[4] <= exhaustive.FAR)
        found = search(replace(GOAL, target=target), SPACE, keep=1).found[0]
        yield from zip((found.key[0], *found.score[:7]), best, strict=True)


@checks(
    "cost of the knife",
    "sums by hand in decimals at given prices: steel, gas, kiln, belts, acid, handle",
    How.METHOD,
    unit="%",
    within=0.01,
)
def test_a_quote_in_decimals() -> Pairs:
    """Two heats of 10 min and 5 of work: half an hour of gas at 6; kiln 1 h + 1 h + 0.5 h + 2 x 2.5 h = 7.5 h x 2 kW x 0.40;
    a belt of 5 for 100 g ground off; steel 10 a kilogram of 300 x 60 x 4 mm.
    """
    book, found = staged(shop={"scale_per_heat": 0.0, "prices": PRICES})
    lines = {line.what: line for line in quote(book, found).lines}
    density = Decimal(str(book.bars[0].rows[0].bar.mean_density))
    steel = Decimal("0.3") * Decimal("0.06") * Decimal("0.004") * density * 10
    yield sum(line.cost for what, line in lines.items() if what.startswith("steel")), float(steel)
    for what, by_hand in (("gas", "3.00"), ("electricity", "6.00"), ("acid", "2.00"), ("handle", "30.00")):
        yield lines[what].cost, float(Decimal(by_hand))
    ground = sum(Decimal(str(s.lost or 0.0)) for s in found if s.do in ("profile", "rough grind", "thin", "finish"))
    yield lines["belts"].cost, float(ground * 1000 / 100 * 5)


@checks(
    "foreseen against measured",
    "sums by hand: 23.9 mm where 26.5 were foreseen, 44 where 45 were",
    How.METHOD,
    unit="%",
    within=0.01,
)
def test_foreseen_against_measured() -> Pairs:
    """(23.9 - 26.5) / 26.5 = -9.8113 %; (44 - 45) / 45 = -2.2222 %, told as shares of what was foreseen."""
    rows = [{"bar": "billet", "number": 1, "length_m": 0.2, "width_m": 0.045, "thickness_m": 0.0265, "mass_kg": 1.0}]
    measures = (Measure("thickness", "m", 0.0239, ""), Measure("width", "m", 0.044, ""))
    entry = Entry("knife", "2024-03-02T09:14:05.120+00:00", id=1, place=Place("billet", 1, "weld"), measures=measures)
    shares = {d.name: d.share for d in compare(rows, [entry])}
    return [(100 * shares["thickness"], -9.811320754716981), (100 * shares["width"], -2.2222222222222223)]
