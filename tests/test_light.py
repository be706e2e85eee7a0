"""The look of the steel: tones keep their means and order, light follows the grind, relief has a lit and a shaded side.

Tolerances are of the eye: 3 % of a tone is under one step of a printed grey scale of 30 steps (common practice, no
source).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from billet.blade import Blade
from billet.ledger.run import run
from billet.recipe.read import load
from render.drawing import palette_of, tinted
from render.etch import FINISHES, Look, steel_tone
from render.field import paint
from render.light import BACKGROUND, Lit, encode, light
from render.panel import Subject, gloss_of
from render.request import Request
from render.scene import prepare
from render.session import session
from render.tang import tang_of
from render.views import Window
from tests import picture_recipes as recipes

DEMOS = Path(__file__).parents[1] / "demo_billets"
SIDES = pytest.mark.parametrize("side", ["left", "right"])


def subject_of(name: str = "ladder", **blade: object) -> Subject:
    data = recipes.RECIPES[name]()
    ledger = recipes.ledger_of({**data, "blade": {**data["blade"], **blade}})
    cut = Blade(ledger.recipe.tables.blade)
    return Subject(ledger.last, cut, cut.placement(ledger.last.length, ledger.last.width))


def window_of(side: str, cols: int = 700) -> Window:
    return Window((0.105 if side == "right" else -0.105, 0.024), 0.218 / cols, cols, round(cols * 0.24))


@pytest.mark.parametrize("finish", FINISHES)
@pytest.mark.parametrize("name", recipes.RECIPES)
def test_every_steel_keeps_its_mean_and_its_rank(name: str, finish: str) -> None:
    subject, window = subject_of(name), window_of("right")
    look = Look(strength=FINISHES[finish].strength, depth=FINISHES[finish].depth, finish=finish)
    view, scene = prepare(subject.bar, look, lambda k: subject.view("right", window, k), window)
    flat = paint(scene)
    lit = light(flat, look, Lit(window.pixel, None, None, gloss_of(view, subject, "right")))
    tones = sorted({round(steel_tone(s, look), 4) for leaf in subject.bar.leaves for s in leaf.steels})
    chosen = [some for tone in tones for some in [np.abs(flat - tone) < 0.02 * tone] if some.sum() > 200]
    means = [(float(flat[some].mean()), float(lit[some].mean())) for some in chosen]
    assert len(means) >= 2
    for was, now in means:
        assert now == pytest.approx(was, rel=0.03)
    assert [now for _, now in means] == sorted(now for _, now in means)


def test_a_rise_of_bright_steel_is_lit_on_the_side_of_the_lamp_and_shaded_on_the_other() -> None:
    """The lamp stands above the picture (90 degrees from the length): a bright bar lying across catches it on top."""
    flat = np.full((60, 60), 0.05, np.float32)
    flat[25:35] = 0.45
    look = Look(light=np.pi / 2)
    lit = light(flat, look, Lit(0.1e-3, rubbed=False))
    assert lit[25].mean() > 1.1 * lit[29].mean() > 1.1**2 * lit[34].mean()
    deep = light(flat, replace(look, depth=3 * look.depth), Lit(0.1e-3, rubbed=False))
    assert deep[34].mean() < lit[34].mean()


@SIDES
def test_the_highlight_follows_the_grind(side: str) -> None:
    """A convex face leans more at its edge and less at its spine, so the band is narrower than on a flat one; a hollow
    spreads it (hand derivation: d(across)/dy = 1 - 2 lamp z'', and z'' is negative for convex, positive for hollow)."""
    wide = {}
    for bevel in ("convex", "full flat", "hollow"):
        kind: object = {"kind": "hollow", "wheel": "3 m", "height": "47 mm"} if bevel == "hollow" else bevel
        subject, window = subject_of(bevel=kind), window_of(side)
        view = subject.view(side, window, np.float64)
        found = gloss_of(view, subject, side)
        assert found is not None
        column = found[20:-20, 350 if side == "right" else -350]
        wide[bevel] = float((column > 0.5 * (column.max() + column.min())).mean())
    assert wide["convex"] < wide["full flat"] < wide["hollow"]


def test_the_brightness_of_both_faces_is_lit_from_outside() -> None:
    """Left and right of an evenly ground blade carry the same light, mirrored: neither is lit from within."""
    subject = subject_of("twist")
    found = [gloss_of(subject.view(s, window_of(s), np.float64), subject, s) for s in ("left", "right")]
    assert found[0] is not None and found[1] is not None
    rows = [f[10:-10].mean(axis=1) for f in found]
    assert abs(int(rows[0].argmax()) - int(rows[1].argmax())) <= 6


@SIDES
def test_the_tang_stands_behind_the_heel_and_runs_out(side: str) -> None:
    subject = subject_of()
    window = subject.window(side, 0.25e-3)
    found = tang_of(subject.blade, side, window)  # type: ignore[arg-type]
    assert found is not None
    x = window.left + (np.arange(window.cols) + 0.5) * window.pixel
    behind = x * (1 if side == "right" else -1)
    cover = found[0].sum(axis=0)
    assert cover[behind > 0.5e-3].max() == 0
    assert cover[(behind < -6e-3) & (behind > -12e-3)].min() > 5
    assert tang_of(subject_of(tang={"kind": "none"}).blade, side, window) is None  # type: ignore[arg-type]


def test_a_grey_picture_is_saved_as_codes_with_a_palette_and_nothing_is_lost() -> None:
    codes = Image.fromarray(np.arange(256, dtype=np.uint8).reshape(16, 16))
    colour = tinted(codes)
    held = palette_of(colour)
    assert held.mode == "P"
    assert held.convert("RGB").tobytes() == colour.tobytes()
    colour.putpixel((3, 3), (200, 30, 30))
    assert palette_of(colour).mode == "RGB"


def test_codes_are_srgb() -> None:
    """IEC 61966-2-1: linear 0.2140 is code 127.5, 0.0331 is 50.8, 1 is 255; 0.7 is 217.9 (by its equation)."""
    assert encode(np.array([0.0, 0.0331, 0.2140, BACKGROUND, 1.0], np.float32)).tolist() == pytest.approx(
        [0, 51, 127.5, 217.9, 255], abs=1.0
    )


@pytest.mark.parametrize(("view", "after"), [("bar-face", "3"), ("bar-side", "3"), ("spine", None)])
def test_a_round_bar_and_a_spine_are_brightest_along_their_middle(view: str, after: str | None) -> None:
    """Light from above falls off towards both borders of a round bar (Lambert: with the cosine of the lean)."""
    ledger = run(load(DEMOS / "twist.toml"), diffuse=False)
    drawing = session(ledger, Request(view, after=after, width=600))
    window = drawing.windows[0]
    seen = drawing.subject.view(view, window, np.float64)
    found = gloss_of(seen, drawing.subject, view)
    assert found is not None
    column = slice(window.cols // 3, window.cols // 2)
    rows = np.flatnonzero(seen.region.whole(window.rows, window.cols)[:, column].min(axis=1) == 1)
    across = found[rows, column].mean(axis=1)
    low, middle, high = across[0], across[len(rows) // 3 : 2 * len(rows) // 3].max(), across[-1]
    assert middle > 1.15 * max(low, high)
    along = found[rows[len(rows) // 2], column]
    assert np.ptp(along) < 0.25 * along.mean()
