"""The knife's weight to the sharp edge, and what it costs: sums by hand."""

from __future__ import annotations

from copy import deepcopy
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from billet.blade.handle import Whole
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.blade import blade_of
from billet.recipe.read import build, load
from billet.recipe.several import for_blade, share_of_bar
from billet.stages import Stage, stages
from billet.stages.metal import weighed
from billet.stages.quote import GUESSES, SPREAD, TIMES_SPREAD, FromRecord, quote

DEMOS = Path(__file__).parent.parent / "demo_billets"
TABLE: dict[str, Any] = {
    "version": 2,
    "shop": {"scale_per_heat": 0.0},
    "bar": [
        {
            "name": "b",
            "width": 0.06,
            "length": 0.3,
            "stack": ["1084 1 mm", "15N20 1 mm"],
            "repeat": 2,
            "step": [{"do": "weld", "temperature": 1400.0, "soak": 600.0, "heats": 2}],
        }
    ],
    "blade": {
        "length": 0.2,
        "heel_height": 0.05,
        "shape": "usuba",
        "spine": {"finished": {"heel": 3e-3, "middle": 3e-3, "tip": 3e-3}, "hardening": {"heel": 3.4e-3, "middle": 3.4e-3, "tip": 3.4e-3}},
        "edge": {"finished": 0.3e-3, "hardening": 0.7e-3},
        "tang": {"kind": "none"},
        "bevel": {"kind": "full flat"},
    },
}  # fmt: skip


def made(**tables: Any) -> tuple[Ledger, tuple[Stage, ...]]:
    data = deepcopy(TABLE)
    data.update(tables)
    book = run(build(data, door=False), diffuse=False)
    return book, weighed(stages(book.recipe, book), book)


def after(found: tuple[Stage, ...], do: str) -> float:
    return next(s.mass for s in found if s.do == do and s.kind == "blade") or 0.0


def test_weights_by_hand() -> None:
    """A usuba's outline is all but 200 x 50 mm: 10,000 mm2 less its rounded end, A. Cut from 4 mm: 4 A. Ground straight
    from 3.4 at the spine to 0.7 at the edge: 2.05 A; finished from 3.0 to 0.3: 1.65 A (the end a little more, where
    heights are less); finishing takes 0.05 mm off either face; the edge's triangle is 0.3^2 / (4 tan 15) x 200 mm."""
    book, found = made()
    density, area = book.last.mean_density, float(blade_of(book.recipe).height(np.linspace(0, 0.2, 4001)).mean()) * 0.2
    assert area == pytest.approx(0.01, rel=0.02)
    for do, mm in (("profile", 4.0), ("rough grind", 2.05), ("finish", 1.65)):
        assert after(found, do) == pytest.approx(density * area * mm * 1e-3, rel=0.01)
    assert after(found, "thin") - after(found, "finish") == pytest.approx(density * area * 0.1e-3, rel=1e-3)
    triangle = 0.3e-3**2 / (4 * np.tan(np.radians(15))) * 0.2
    assert after(found, "etch") - after(found, "sharpen") == pytest.approx(density * triangle, rel=1e-6)


def test_every_stage_starts_with_what_the_one_before_left() -> None:
    """Metal in is metal out and what was taken, from the last bar to the sharp edge."""
    book, found = made()
    masses = [book.last.mass, *(s.mass or 0.0 for s in found if s.kind == "blade")]
    lost = [s.lost or 0.0 for s in found if s.kind == "blade"]
    assert np.diff(masses) == pytest.approx(-np.array(lost), abs=1e-15)
    assert min(lost) >= 0.0


def test_the_finished_weight_is_that_of_the_knife() -> None:
    """The integral: blade by Gauss nodes and what lies behind the heel, at the bar's own density."""
    book = run(load(Path("demo_billets/integral.toml")), diffuse=False)
    found = weighed(stages(book.recipe, book), book)
    blade = blade_of(book.recipe)
    volume = blade.volume() + Whole(blade).volume_behind()
    assert after(found, "finish") == pytest.approx(book.last.mean_density * volume, rel=1e-9)


def test_stages_are_left_out_and_timed_by_the_recipe() -> None:
    _, found = made(stages={"skip": ["anneal", "straighten"], "time": {"handle": 7200.0}})
    done = [s.do for s in found if s.kind == "blade"]
    assert "anneal" not in done
    assert "straighten" not in done
    assert next(s.minutes for s in found if s.do == "handle") == 120.0


PRICES = {
    "money": "EUR", "hour": 50.0, "steel_kg": 10.0, "gas_hour": 6.0, "kwh": 0.4, "kiln_kw": 2.0, "belt": 5.0,
    "grams_a_belt": 100.0, "acid": 2.0, "handle": 30.0,
}  # fmt: skip


def test_a_quote_by_hand() -> None:
    """Bar 300 x 60 x 4 mm by density; two heats of 10 min and 5 of work: half an hour of gas at 6; kiln 1 h + 1 h + 0.5 h
    + 2 x 2.5 h = 7.5 h x 2 kW x 0.40 = 6.00; acid 2, handle 30."""
    book, found = made(shop={"scale_per_heat": 0.0, "prices": PRICES})
    lines = {line.what: line for line in quote(book, found).lines}
    steel = sum(line.cost for what, line in lines.items() if what.startswith("steel"))
    assert steel == pytest.approx(10.0 * book.bars[0].rows[0].bar.mass, rel=1e-6)
    assert lines["gas"].cost == pytest.approx(3.0)
    assert lines["electricity"].cost == pytest.approx(6.0)
    assert (lines["acid"].cost, lines["handle"].cost) == (2.0, 30.0)
    ground = 1e3 * sum(s.lost or 0.0 for s in found if s.do in ("profile", "rough grind", "thin", "finish"))
    assert lines["belts"].cost == pytest.approx(5.0 * ground / 100.0)
    assert not any(line.guess for what, line in lines.items() if what != "work")
    assert (lines["gas"].low, lines["gas"].high) == (lines["gas"].cost, lines["gas"].cost)


def test_guesses_are_marked_and_spread() -> None:
    book, found = made()
    lines = {line.what: line for line in quote(book, found).lines}
    assert all(line.guess for line in lines.values())
    assert lines["gas"].cost == pytest.approx(0.5 * GUESSES["gas_hour"])
    assert lines["gas"].high == pytest.approx(lines["gas"].cost * (1 + SPREAD))
    assert lines["work"].low == pytest.approx(lines["work"].cost * (1 - SPREAD - TIMES_SPREAD))


def test_the_racks_price_wins() -> None:
    """A bar of 3.2 x 40 x 1000 mm of 1084 for 12: 12 / (0.0032 x 0.04 x 1 x density) a kilogram."""
    bar = {"steel": "1084", "thickness": 3.2e-3, "width": 0.04, "length": 1.0, "price": 12.0}
    book, found = made(rack={"bar": [bar]})
    line = next(line for line in quote(book, found).lines if line.what == "steel 1084")
    density = next(s.density for leaf in book.last.leaves for s in leaf.steels if s.name == "1084")
    assert not line.guess
    assert line.cost == pytest.approx(line.amount * 12.0 / (3.2e-3 * 0.04 * density))


def test_the_band_is_the_sum_of_its_lines() -> None:
    book, found = made()
    asked = quote(book, found)
    low, likely, high = asked.total
    assert low < likely < high
    assert likely == pytest.approx(sum(line.cost for line in asked.lines))


def test_the_shops_own_notes_take_the_place_of_guesses() -> None:
    """By hand: 20 minutes of etching between 15 and 30 at 60 an hour are 20 between 15 and 30; three belts at 5 are 15."""
    book, found = made(shop={"prices": PRICES | {"hour": 60.0}})
    plain = {line.what: line for line in quote(book, found).lines}
    record = FromRecord({"etch": (20.0, 15.0, 30.0)}, (3.0, 2.0, 4.0))
    noted = {line.what: line for line in quote(book, found, record).lines}
    usual = next(s.minutes for s in found if s.do == "etch")
    assert usual is not None
    assert noted["work"].cost == pytest.approx(plain["work"].cost - usual + 20.0)
    assert noted["work"].low == pytest.approx(plain["work"].low - usual * (1 - TIMES_SPREAD) + 15.0)
    assert noted["work"].high == pytest.approx(plain["work"].high - usual * (1 + TIMES_SPREAD) + 30.0)
    assert (noted["belts"].cost, noted["belts"].low, noted["belts"].high) == (15.0, 10.0, 20.0)
    assert noted["work"].noted and noted["belts"].noted and not plain["work"].noted


def test_a_time_in_the_recipe_wins_over_the_notes() -> None:
    book, found = made(stages={"time": {"etch": 3600.0}})
    hours = dict(quote(book, found, FromRecord({"etch": (20.0, 15.0, 30.0)})).hours)
    assert hours["etch"] == 1.0


def test_the_knives_of_an_order_share_the_bar() -> None:
    """Together they pay for the whole bar's steel and forging, each by its length along it."""
    order = load(DEMOS / "order.toml")
    whole, parts = 0.0, []
    for name in ("slicer", "petty", "butter"):
        book = run(for_blade(order, name), diffuse=False)
        found = weighed(stages(book.recipe, book), book)
        lines = {line.what: line for line in quote(book, found, share=share_of_bar(book.recipe)).lines}
        whole = {line.what: line.cost for line in quote(book, found).lines}["gas"]
        parts.append((lines["gas"].cost, next(s.lost for s in found if s.do == "profile")))
    assert sum(gas for gas, _ in parts) == pytest.approx(whole)
    assert all(0 < lost < book.last.mass for _, lost in parts if lost is not None)
    assert parts[0][0] / parts[2][0] == pytest.approx(
        (230 + 85) / (95 + 65)
    )  # blade and tang of slicer and butter knife
