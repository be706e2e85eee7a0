"""What a plan promises of its face is measured again on the picture, pixel by pixel."""

from __future__ import annotations

import numpy as np
import pytest

from billet.plan.face import PLACES
from billet.plan.planner import plan
from billet.recipe.tables import Target
from render.picture import draw
from render.request import Request
from tests.planning import bar, knife

RACK = (bar("1084", 3.2, count=8), bar("15N20", 1.6, count=8), bar("1095", 5.0, width=50))
TARGETS = {"laminate": 60, "clad": 33, "ladder": 60, "twist": 30, "accordion": 30}


@pytest.fixture(scope="module", params=TARGETS)
def drawn(request):
    """The first plan of a pattern, and its right face in black and white: dark pixels, metal, size of a pixel."""
    made = plan(knife(), Target(pattern=request.param, layers=TARGETS[request.param]), RACK, handful=1)
    picture = draw(made.candidates[0].book, Request(view="right", width=3600, two_tone=True, bare=True))
    panel = picture.panels[0]
    metal = np.asarray(panel.metal) > 127
    codes = np.asarray(panel.codes).astype(float)
    dark = codes < 0.5 * (np.percentile(codes[metal], 2) + np.percentile(codes[metal], 98))
    return made, panel.window, dark, metal


def column(drawn, place: str):
    """Dark or bright along the column of pixels at a station, metal only."""
    made, window, dark, metal = drawn
    blade = made.goal.blade
    tip = np.flatnonzero(metal.any(axis=0))[-1]  # the point lies to the right, a stub of the tang to the left
    at = round(tip - (1 - PLACES[place]) * blade.length / window.pixel)
    return dark[metal[:, at], at]


@pytest.mark.parametrize("place", ["heel", "middle"])
def test_lines_of_the_picture_are_the_lines_promised(drawn, place):
    """One line in twenty or two may lie in the last pixel of edge and spine."""
    pixels = column(drawn, place)
    lines = np.count_nonzero(pixels[1:] != pixels[:-1])
    promised = drawn[0].candidates[0].face.at(place).lines
    assert lines == pytest.approx(promised, abs=max(2, 0.05 * promised))


@pytest.mark.parametrize("drawn", [p for p in TARGETS if p != "clad"], indirect=True)
def test_the_picture_is_as_dark_as_promised(drawn):
    """A tenth for what few traced lines can miss; the core of a clad blade is no part of the balance."""
    made, _, dark, metal = drawn
    if made.goal.target.pattern == "clad":
        return
    assert dark[metal].mean() == pytest.approx(made.candidates[0].face.dark, abs=0.1)


@pytest.mark.parametrize("drawn", ["laminate"], indirect=True)
def test_the_boldest_line_of_a_laminate_is_as_bold_as_promised(drawn):
    """Runs of pixels in a column: the widest over the mean of the two medians, whole lines only."""
    made = drawn[0]
    pixels = column(drawn, "middle")
    ends = np.flatnonzero(np.diff(pixels.astype(int))) + 1
    runs, kind = np.diff(ends), pixels[ends[:-1]]
    usual = np.mean([np.median(runs[kind]), np.median(runs[~kind])])
    assert runs.max() / usual == pytest.approx(made.candidates[0].face.at("middle").widest, abs=0.35)
    assert runs.max() / usual <= 3
