"""Pale weld lines of worked bars against point samples of the carbon that is left."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from billet.bar.carbon_remaining import seam_carbon
from billet.bar.trace import cell_of, trace
from billet.blade import Blade
from billet.ledger.run import run
from billet.recipe.read import build
from billet.steel.library import ELEMENTS
from render.etch import BRIGHTEST, Look, reflectance
from render.field import paint
from render.pale import pale_of
from render.panel import Subject
from render.scene import prepare
from render.views import Window
from tests import picture_recipes as recipes
from tests.brute import finer, without_region

Array = NDArray[np.float64]

OFF = 6.6e-3  # what 8 x 8 samples a pixel are out by on twisted bars, measured against 64 x 64 in a separate trial

PLACES = {"side by side": (0.0803, 0.01533), "restacked": (0.0803, 0.03208)}
ROWS, COLS, SAMPLES = 30, 60, 16


def subject_of(name: str) -> Subject:
    """A bar that burnt out in the fire before it was joined or restacked."""
    data = recipes.twist()
    if name == "restacked":
        data["bar"] = data["bar"][:1]
        pieces = {"do": "restack", "pieces": 4}
        data["bar"][0] |= {"width": "50 mm", "length": "110 mm"}
        data["bar"][0]["step"][1:] = [
            recipes.draw("16 mm", "40 mm"), recipes.LADDER_STEP, recipes.draw("12 mm", "42 mm"), pieces, recipes.WELD,
            recipes.draw("3.2 mm", "54 mm"),
        ]  # fmt: skip
    ledger = run(build({**data, "shop": {**recipes.SHOP, "face_cleanup": "0 mm"}}))
    blade, bar = Blade(ledger.recipe.tables.blade), ledger.last
    return Subject(bar, blade, blade.placement(bar.length, bar.width))


def window_of(name: str) -> Window:
    return Window(PLACES[name], 0.05e-3, COLS, ROWS)


def sampled(subject: Subject, window: Window, look: Look) -> tuple[Array, Array]:
    """What the welds add to each pixel's mean brightness, and the carbon left in them, from point samples without any
    filter.
    """
    grid = subject.view("right", finer(window, SAMPLES), np.float64).surface.grid(
        slice(0, SAMPLES * ROWS - 1), slice(0, SAMPLES * COLS - 1)
    )
    points = np.stack([np.broadcast_to(a, (SAMPLES * ROWS, SAMPLES * COLS)).ravel() for a in grid])
    sample, left = trace(subject.bar.material, *points), seam_carbon(subject.bar.material, points)
    n = points.shape[1]
    leaf, z = np.broadcast_to(sample.leaf, n), np.broadcast_to(sample.z, n)
    made = np.empty((n, len(ELEMENTS)))
    for k, laminate in enumerate(subject.bar.leaves):
        made[leaf == k] = laminate.composition[cell_of(laminate, z[leaf == k])]
    sound = reflectance(made, look.strength)
    made[:, ELEMENTS.index("C")] *= left
    shape = (ROWS, SAMPLES, COLS, SAMPLES)
    return tuple(a.reshape(shape).mean(axis=(1, 3)) for a in (reflectance(made, look.strength) - sound, left))  # type: ignore[return-value]


@pytest.mark.parametrize("name", list(PLACES))
def test_welds_are_as_pale_as_point_samples_say(name: str) -> None:
    subject, window, look = subject_of(name), window_of(name), Look()
    truth, left = sampled(subject, window, look)
    _, scene = prepare(subject.bar, look, lambda k: subject.view("right", window, k), window)
    own, plain = (paint(without_region(s)) for s in (scene, replace(scene, pale=None)))
    poor = left < 0.9
    assert poor.sum() >= COLS
    off, all_of_it = (np.sqrt(np.mean(a[poor] ** 2)) for a in (own - plain - truth, truth))
    assert off < min(0.4 * all_of_it, OFF)
    assert np.abs((own - plain)[left > 0.9999]).max(initial=0.0) < 0.002


def test_seams_can_be_left_away_and_made_bolder() -> None:
    subject, window = subject_of("side by side"), window_of("side by side")
    shown = []
    for seams in (0.0, 0.25, 0.5, 1.0):
        look = Look(seams=seams)
        _, scene = prepare(subject.bar, look, lambda k: subject.view("right", window, k), window)
        own, plain = (paint(without_region(s)) for s in (scene, replace(scene, pale=None)))
        shown.append(float((own - plain).sum()))
        assert own.max() <= BRIGHTEST + 1e-3
    assert shown[0] == 0.0
    assert shown == sorted(shown)
    assert pale_of(subject.bar, Look(seams=0.0)) is None


def test_the_number_of_threads_changes_nothing() -> None:
    subject = subject_of("side by side")
    window = subject.window("right", 0.15e-3)
    _, scene = prepare(subject.bar, Look(), lambda k: subject.view("right", window, k), window)
    assert scene.pale is not None
    assert np.array_equal(paint(scene, 1), paint(scene, 2))


def test_bars_that_never_burnt_have_no_pale_welds() -> None:
    assert pale_of(recipes.ledger_of(recipes.seamed()).last, Look()) is None
