"""Pixels against brute force: as true as 64 samples each, on seams too, in either precision and on any number of
threads.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from billet.bar.trace import trace
from billet.blade import Blade
from billet.ledger.rows import Ledger
from render.etch import Look, cell_reflectance
from render.field import _on_seam, paint
from render.panel import Subject
from render.scene import needs_double, prepare, survey
from render.table import build
from render.views import Window
from tests import picture_recipes as recipes
from tests.brute import finer, reference, supersampled, without_region

Array = NDArray[np.float64]

PIXEL = 0.056e-3  # a 210 mm blade 4000 pixels wide
PLACES = {"ladder": (0.06, 0.024), "twist": (0.13, 0.020), "raindrop": (0.06, 0.024), "seamed": (0.13, 0.020)}
SEAMS = {"twist": (0.08, 0.0151), "seamed": (0.113, 0.0205)}
SIZE = 64


@pytest.fixture(scope="module", params=list(recipes.RECIPES))
def named(request: pytest.FixtureRequest) -> tuple[str, Ledger]:
    return request.param, recipes.ledger_of(recipes.RECIPES[request.param]())


def subject_of(ledger: Ledger) -> Subject:
    blade, bar = Blade(ledger.recipe.tables.blade), ledger.last
    return Subject(bar, blade, blade.placement(bar.length, bar.width))


def rms(values: Array) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def errors(ledger: Ledger, place: tuple[float, float]) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Error of `paint`, error of 8 x 8 samples, and which pixels lie on a seam; reference: 64 x 64 samples in the
    laminate itself.
    """
    subject = subject_of(ledger)
    window = Window(place, PIXEL, SIZE, SIZE)
    truth = reference(subject.bar, Look(), lambda w, k: subject.view("right", w, k), window)
    view, scene = prepare(subject.bar, Look(), lambda k: subject.view("right", window, k), window)
    fine = subject.view("right", finer(window, 8), np.float32).surface
    sample = trace(subject.bar.material, *view.surface.grid(slice(0, SIZE), slice(0, SIZE)))
    seam = _on_seam(sample.key, (SIZE + 1, SIZE + 1))
    own, brute = paint(without_region(scene)), supersampled(without_region(scene), fine, 8)
    return own - truth, brute - truth, np.zeros_like(truth, bool) if seam is None else seam


def test_no_worse_than_sixty_four_samples_a_pixel(named: tuple[str, Ledger]) -> None:
    name, ledger = named
    own, brute, _ = errors(ledger, PLACES[name])
    assert rms(own) <= rms(brute)


@pytest.mark.parametrize("name", list(SEAMS))
def test_seams_are_hardly_less_true_than_the_rest(name: str) -> None:
    ledger = recipes.ledger_of(recipes.RECIPES[name]())
    own, _, seam = errors(ledger, SEAMS[name])
    assert seam.sum() >= SIZE // 2
    assert rms(own[seam]) <= 2.5 * rms(own[~seam])


def test_the_number_of_threads_changes_nothing() -> None:
    subject = subject_of(recipes.ledger_of(recipes.seamed()))
    window = subject.window("right", 0.15e-3)
    _, scene = prepare(subject.bar, Look(), lambda k: subject.view("right", window, k), window)
    assert np.array_equal(paint(scene, 1), paint(scene, 2))


def test_deep_zoom_asks_for_double_precision_and_needs_it() -> None:
    """One part in 2^24 (IEEE 754, binary32) of half a bar 0.4 m long is 12 nm: a fair part of a pixel 0.1 micrometre
    wide.
    """
    subject = subject_of(recipes.ledger_of(recipes.ladder()))
    window = Window((0.1702, 0.02), 0.1e-6, 48, 48)
    surfaces = {kind: subject.view("right", window, kind).surface for kind in (np.float32, np.float64)}
    footprint = survey(subject.bar, surfaces[np.float64]).footprint
    heights = {kind: trace(subject.bar.material, *s.grid(slice(0, 48), slice(0, 48))).z for kind, s in surfaces.items()}
    assert needs_double(subject.bar, window, footprint)
    assert np.abs(heights[np.float32] - heights[np.float64]).max() > footprint / 8


def test_the_usual_zoom_does_not_need_double_precision(named: tuple[str, Ledger]) -> None:
    name, ledger = named
    subject = subject_of(ledger)
    window = Window(PLACES[name], PIXEL, SIZE, SIZE)
    surfaces = {kind: subject.view("right", window, kind).surface for kind in (np.float32, np.float64)}
    footprint = survey(subject.bar, surfaces[np.float64]).footprint
    heights = {
        kind: trace(subject.bar.material, *s.grid(slice(0, SIZE), slice(0, SIZE))).z for kind, s in surfaces.items()
    }
    assert not needs_double(subject.bar, window, footprint)
    assert np.median(np.abs(heights[np.float32] - heights[np.float64])) < footprint / 8


@pytest.mark.parametrize("layers", [41, 3000])
def test_table_sums_are_those_of_the_laminate(layers: int) -> None:
    """Mean brightness between two heights, against the integral of the laminate's steps by numpy.interp over its
    cumulative sum.
    """
    leaf = recipes.bar_of(recipes.laminate(layers)).leaves[0]
    tone = cell_reflectance(leaf, Look())
    table = build([leaf], [tone], footprint=leaf.total / 4000)
    rng = np.random.default_rng(1)
    low = rng.uniform(leaf.edges[0], leaf.edges[-1] * 0.5, 500)
    high = low + rng.uniform(0.02, 0.4, 500) * leaf.total
    inside = high < leaf.edges[-1]
    low, high = low[inside], high[inside]
    whole = np.r_[0.0, np.cumsum(leaf.thickness * tone)]
    wanted = (np.interp(high, leaf.edges, whole) - np.interp(low, leaf.edges, whole)) / (high - low)
    from render.room import Room

    at = [(z * table.per_metre + table.shift[0]).astype(np.float32) for z in (low, high)]
    wide = at[1] - at[0]
    where = table.places(0)
    sums = [where.summed(a.copy(), np.zeros(len(a), np.intp), Room()).copy() for a in at]
    assert (sums[1] - sums[0]) / wide + table.mean == pytest.approx(wanted, abs=2e-4)


def test_layers_too_thin_to_stay_apart_are_even_grey() -> None:
    leaf = recipes.bar_of(recipes.laminate(401)).leaves[0]
    thin = replace(leaf, thickness=np.full_like(leaf.thickness, 1e-6))
    tone = cell_reflectance(thin, Look())
    apart, mixed = (build([thin], [tone], footprint=1e-8, mix_below=limit).steps for limit in (0.0, 3e-6))
    inner = slice(len(mixed) // 4, -(len(mixed) // 4))
    assert np.ptp(apart[inner]) > 0.3
    assert np.ptp(mixed[inner]) < 0.03
