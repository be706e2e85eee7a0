"""Alloy banding in the picture: in the steels that are told to have it, faint, and nowhere else."""

from __future__ import annotations

import numpy as np
import pytest

from billet.bar.laminate import Laminate
from billet.recipe.stack import stack
from billet.steel.library import library
from render.banding import BANDED, DEEPEST, streaks
from render.etch import Look, cell_reflectance, steel_tone
from render.light import encode
from render.table import build as table_of


def laminate(core: str) -> Laminate:
    """A stack of three plates with a core."""
    plates = [(library()["15N20"], 2e-3), (library()[core], 3e-3), (library()["15N20"], 2e-3)]
    found = stack("billet", plates, 0.1, 0.04).laminate
    assert found is not None
    return found


@pytest.mark.parametrize("name", BANDED)
def test_rows_are_fainter_than_the_facts_allow(name: str) -> None:
    """At most 15 % of the contrast of 1084 beside 15N20, in steps of grey as they are seen (facts of the trade: a forum
    of smiths and memory, no measurement).
    """
    dark, bright, own = (steel_tone(library()[s], Look()) for s in ("1084", "15N20", name))
    low, high, *pair = encode(np.array([own * (1 - DEEPEST), own * (1 + DEEPEST), dark, bright], np.float32)).astype(
        int
    )
    assert 0 < high - low <= 0.15 * (pair[1] - pair[0])


def test_rows_are_where_the_rich_steel_is_and_leave_its_mean() -> None:
    leaf = laminate("52100")
    heights = np.linspace(*leaf.edges[[0, -1]], 200_001)[1:-1]
    rows = streaks(leaf, heights)
    assert rows is not None
    steel = np.array([s.name for s in leaf.steels])[leaf.steel[np.searchsorted(leaf.edges, heights) - 1]]
    assert np.all(rows[steel != "52100"] == 0)
    assert rows[steel == "52100"].std() > 0.01
    assert abs(rows[steel == "52100"].mean()) < 0.01


@pytest.mark.parametrize("name", ["1084", "1095", "O1", "5160"])
def test_other_steels_have_none(name: str) -> None:
    leaf = laminate(name)
    assert streaks(leaf, np.zeros(3)) is None


def test_the_table_of_a_banded_laminate_has_the_mean_of_its_steels() -> None:
    leaf = laminate("W2")
    tones = cell_reflectance(leaf, Look())
    table = table_of([leaf], [tones], 2e-6)
    inside = slice(64, -64)
    flat = float(leaf.thickness @ tones / leaf.total)
    assert float(table.steps[inside].mean()) + table.mean == pytest.approx(flat, rel=0.01)
