"""The search against the ledger, row by row, and against trying everything on a reduced space."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from billet.base.errors import InputError
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.plan.score import FAR, NOTICE
from billet.plan.sequence_search import Found, lines_of, search
from billet.plan.sequences import Space, batches
from billet.plan.weigh import weigh
from billet.plan.writing import write_out
from billet.recipe.read import build
from billet.recipe.tables import Target
from billet.steps.draw import Draw
from billet.steps.restack import Restack
from tests.planning import goal

SPACE = Space(
    most_plates=12,
    least_plates=4,
    drawn=(10e-3, 12e-3, 15e-3),
    most_restacks=2,
    widths=(40e-3,),
    plates=((3.2e-3, 1.6e-3), (3e-3, 2e-3)),
)
SHOP = "most_pieces = 4\nfewest_pieces = 2"
GOAL = goal({"layers": 60}, shop=SHOP)


@dataclass(frozen=True)
class Tried:
    """One sequence as the ledger has it."""

    layers: int
    distinct: int
    carbon: float
    dark: float
    welds: int
    left: float
    put_in: float
    long: int
    tall: int
    loose: bool


def rows():
    """Every sequence of the reduced space as (line, one-row batch)."""
    [line] = lines_of(replace(GOAL, target=Target()), SPACE)
    for group in line.groups:
        for batch in batches(GOAL, line.habits, line.after, line.pair, SPACE, group, 5000):
            for k in range(len(batch)):
                yield line, batch.take(slice(k, k + 1))


def ledger(line, batch, start: float, factor: float) -> Ledger:
    """The sequence written as a recipe and run by the ledger."""
    found = Found(batch, line.after, line.habits, line.want, start, (), {}, 0.0, 0.0)
    text = write_out(GOAL, found, start)
    return run(build(tomllib.loads(text), text), scale_factor=factor, diffuse=False)


def drawn_length(book: Ledger) -> float:
    """Length of the bar after its last draw."""
    return [r.bar.length for r in book.bars[0].rows if isinstance(r.step, Draw)][-1]


def solved(line, batch) -> float:
    """Starting length to the next millimetre, by a straight line through two runs of the ledger at twice the scale
    loss.
    """
    a, b = (drawn_length(ledger(line, batch, at, 2.0)) for at in (0.1, 0.3))
    return math.ceil((0.1 + (line.want - a) * 0.2 / (b - a)) * 1e3 - 1e-6) / 1e3


def tried(line, batch) -> Tried | None:
    """The sequence run by the ledger alone; None where it or the shop's limits will not have it."""
    try:
        start = solved(line, batch)
        book = ledger(line, batch, start, 1.0)
    except InputError:
        return None
    rows, shop = book.bars[0].rows, GOAL.shop
    stacks = [r.bar for r in rows if r.number == 0 or isinstance(r.step, Restack)]
    before = [rows[r.number - 1].bar.length for r in rows if isinstance(r.step, Restack)]
    if (
        any(s.length < s.thickness for s in stacks)
        or max(before, default=0.0) > 2 * shop.fire_length
        or start > shop.fire_length
        or start < rows[0].bar.width
    ):
        return None
    m = rows[-1].measures
    heats = sum(r.step.heats for r in rows if r.do == "weld")
    put_in = rows[0].bar.mass + sum(r.added for r in rows)
    tall = [s.thickness > s.width * (1 + 1e-9) for s in stacks]
    return Tried(
        book.last.layers_counted,
        m.distinct,
        m.carbon,
        m.shares.get("1084", 0.0),
        heats,
        book.last.mass,
        put_in,
        sum(b > shop.fire_length for b in before),
        sum(tall),
        tall[0],
    )


@pytest.fixture(scope="module")
def everything() -> list[Tried]:
    """The whole reduced space, each sequence by the single ledger."""
    return [t for line, batch in rows() if (t := tried(line, batch)) is not None]


def score(t: Tried, target: Target) -> tuple[float, ...]:
    """Habits kept, then the printed score, from the ledger's figures: written out here a second time."""
    off = [0.0]
    if target.layers:
        off.append(abs(math.log(t.layers / target.layers)) / math.log(1 + NOTICE["layers"]))
    if target.distinct:
        off.append(abs(math.log(t.distinct / target.distinct)) / math.log(1 + NOTICE["distinct"]))
    if target.carbon:
        off.append(abs(t.carbon - target.carbon) / NOTICE["carbon"])
    if target.dark:
        off.append(abs(t.dark - target.dark) / NOTICE["dark"])
    far = math.ceil(10 * max(off) - 1e-6)
    pale = 0 if target.dark else sum(abs(t.dark - 0.62) > off_balance for off_balance in (0.08, 0.15))
    return (
        max(pale, int(t.loose)),
        far if far > 5 else 0,
        t.welds,
        t.long,
        far,
        t.tall,
        round(100 * (1 - t.left / t.put_in)),
        round(100 * t.put_in),
    )


@pytest.mark.slow
def test_weighed_in_a_table_is_run_one_by_one():
    """Dimensions, counts and shares of every ninth sequence, to rounding."""
    checked = 0
    for line, batch in list(rows())[::9]:
        w = weigh(GOAL, line.habits, line.after, batch, line.want, line.tail)
        if not (w.forgeable[0] and w.known[0]):
            continue
        book = ledger(line, batch, float(w.start[0]), 1.0)
        m = book.bars[0].rows[-1].measures
        assert w.end[0] == pytest.approx(book.last.length, rel=1e-9)
        assert w.left[0] == pytest.approx(book.last.mass, rel=1e-9)
        assert (w.counted[0], w.distinct[0]) == (book.last.layers_counted, m.distinct)
        assert dark_by_mass(line, w) == pytest.approx(m.shares["1084"], rel=1e-9)
        assert float(w.start[0]) == pytest.approx(solved(line, batch), abs=1e-9)
        checked += 1
    assert checked >= 30


def dark_by_mass(line, w) -> float:
    """Share of the dark steel by mass from its share of the thickness."""
    d, b = line.pair.dark.density, line.pair.bright.density
    return float(w.dark[0] * d / (w.dark[0] * d + (1 - w.dark[0]) * b))


@pytest.mark.slow
@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    pick=st.integers(0, 10**6),
    kind=st.sampled_from(["layers", "distinct", "carbon", "dark", "both"]),
    shift=st.floats(-0.05, 0.05),
)
def test_the_best_plan_is_as_good_as_trying_everything(everything, pick, kind, shift):
    """Targets near what some sequence gives, so that they can be met."""
    near = everything[pick % len(everything)]
    options = {
        "layers": {"layers": max(2, round(near.layers * (1 + shift)))},
        "distinct": {"distinct": max(2, round(near.distinct * (1 + shift)))},
        "carbon": {"layers": near.layers, "carbon": round(near.carbon + 0.2 * shift, 3)},
        "dark": {"layers": near.layers, "dark": round(min(near.dark + shift, 0.95), 3)},
        "both": {"distinct": near.distinct, "carbon": round(near.carbon, 3)},
    }
    target = Target(steels=("1084", "15N20"), **options[kind])
    best = min(s for t in everything if (s := score(t, target))[4] <= FAR)
    found = search(replace(GOAL, target=target), SPACE, keep=1).found
    assert (found[0].key[0], *found[0].score[:7]) == best


def test_the_reduced_space_is_not_trivial(everything):
    assert len(everything) >= 30
    assert len({t.layers for t in everything}) >= 8
    assert len({t.welds for t in everything}) >= 2
