"""What is drawn beside the metal: the scale bar reads what it measures, and only what is not there is hatched."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

import render.drawing
from billet.bar.bar import Bar
from billet.blade import Blade
from billet.ledger.rows import Ledger
from billet.ledger.run import run
from billet.recipe.read import build, load
from render.panel import Subject, light_view, paint_view, setting_of
from render.picture import draw
from render.request import Request
from render.subject import look_of
from render.views import bar_view
from tests import picture_recipes as recipes

DEMOS = Path(__file__).parent.parent / "demo_billets"
INCH = 0.0254
UNITS = {"in": INCH, "thou": INCH / 1000, "mm": 1e-3, "m": 1.0, "µm": 1e-6}


@pytest.mark.parametrize("room", [1.5e-5, 4e-5, 3e-4, 7e-4, 1.4e-3, 3.3e-3, 7e-3, 1.3e-2, 0.03, 0.06, 0.1, 0.2, 0.4])
@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_a_scale_bar_reads_exactly_as_long_as_it_is(room: float, units: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The inch is 25.4 mm (ISO 31-1); a rule is marked in eighths, never in 0.12."""
    said: list[str] = []
    monkeypatch.setattr(render.drawing, "write", lambda pen, at, text, *more: said.append(text) or 0.0)
    pen, pixel = ImageDraw.Draw(Image.new("L", (2000, 100))), room / 500
    wide = render.drawing.scale_bar(pen, (10, 50), pixel, 500, units, 12)
    number, unit = said[0].split()
    assert float(Fraction(number)) * UNITS[unit] == pytest.approx(wide * pixel, rel=1e-9)


@pytest.fixture(scope="module")
def twisted() -> Ledger:
    return run(load(DEMOS / "twist.toml"))


def rows_of(ledger: Ledger) -> list[Bar]:
    return [row.bar for row in ledger.bars[0].rows]


@pytest.mark.parametrize("name", ["bar-face", "bar-side", "bar-end"])
@pytest.mark.parametrize("step", [2, 3, 4, 6], ids=["square", "twisted round", "drawn flat", "finished"])
def test_a_bar_shown_from_outside_lacks_nothing(twisted: Ledger, name: str, step: int) -> None:
    bar = rows_of(twisted)[step]
    subject = Subject(bar)
    window, look = subject.window(name, bar.length / 400), look_of(twisted)
    painted = paint_view(subject, name, window, look)
    panel = light_view(subject, painted, setting_of(subject, painted.view, name, window), look)
    assert panel.missing == 0


@pytest.mark.parametrize(("name", "across", "deep"), [("bar-face", 1, 2), ("bar-side", 2, 1)])
def test_a_round_bar_shows_its_skin(twisted: Ledger, name: str, across: int, deep: int) -> None:
    """Points of the picture lie on the superellipse |y/a|^n + |z/b|^n = 1 of the bar's section."""
    bar = rows_of(twisted)[3]
    subject = Subject(bar)
    view = bar_view(bar, name, subject.window(name, bar.length / 2000), np.float64)
    grid = view.surface.grid(slice(0, view.surface.rows), slice(0, 4))
    y, z = (np.abs(grid[k]).ravel() for k in (across, deep))
    sizes = (bar.length, bar.width, bar.thickness)
    shares = [2 * v / sizes[k] for v, k in ((y, across), (z, deep))]
    on = shares[0] < 0.95  # near the border a hair of depth is a long way round
    assert on.sum() > 50
    assert shares[0][on] ** bar.corner + shares[1][on] ** bar.corner == pytest.approx(1, abs=2e-4)


def test_a_blade_that_fills_its_bar_to_the_edge_is_not_hatched_along_it() -> None:
    data = recipes.laminate()
    ledger = recipes.ledger_of(data)
    wide = ledger.last.width
    blade = {**data["blade"], "heel_height": f"{wide * 1e3:.9f} mm", "edge_at": "0 mm"}
    full = recipes.ledger_of({**data, "blade": blade})
    assert not [w for w in draw(full, Request(width=700)).facts["warnings"] if "hatched" in w]


def test_a_blade_a_millimetre_too_high_is_hatched_by_that_millimetre() -> None:
    data = recipes.laminate()
    wide = recipes.ledger_of(data).last.width
    blade = {**data["blade"], "heel_height": f"{wide * 1e3 + 1:.9f} mm", "edge_at": "0 mm"}
    ledger = run(build({**data, "blade": blade}))
    shape = Blade(ledger.recipe.tables.blade)
    x = np.linspace(0, shape.length, 4001)
    proud = np.maximum(shape.spine_y(x) - wide, 0).sum() / shape.height(x).sum()
    picture = draw(ledger, Request(width=2800))
    assert picture.panels[0].missing == pytest.approx(proud, rel=0.1)  # a pixel is a twelfth of the millimetre
