"""Laws of the cells: dividing and joining conserve everything, sizes are as asked, the number of cells keeps to its
budget.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from billet.metal.limits import OutsideRange
from billet.metal.mesh import FINEST, FINEST_AT_FACE, GROWTH, cell_budget, merge, refine


@st.composite
def tagged(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Stacks of 1 to 40 cells, two elements, few distinct contents so that some neighbours are alike."""
    n = draw(st.integers(1, 40))
    h = 10.0 ** draw(arrays(float, n, elements=st.floats(-6.0, -2.5)))
    c = draw(arrays(float, (n, 2), elements=st.sampled_from([0.0, 0.5, 0.501, 0.9, 2.0])))
    return h, c, np.cumsum(draw(arrays(int, n, elements=st.integers(0, 1))))


@given(tagged(), st.floats(1e-7, 1e-2), st.floats(0.0, 0.3))
@settings(max_examples=80, deadline=None)
def test_dividing_only_divides(stack: tuple[np.ndarray, np.ndarray, np.ndarray], target: float, bite: float) -> None:
    """Every old cell is the sum of its parts, in order, with its content; only a cut at the recession adds one beyond
    the budget.
    """
    h, c, tags = stack
    gone = (bite * h.sum(), bite * h.sum())
    mesh = refine(h, c, tags, target, open_faces=(True, True), recession=gone, budget=200)
    np.testing.assert_allclose(np.bincount(mesh.parent, mesh.thickness, len(h)), h, rtol=1e-9)
    np.testing.assert_array_equal(mesh.composition, c[mesh.parent])
    assert np.all(np.diff(mesh.parent) >= 0)
    assert np.all(mesh.thickness > 0.0)
    assert len(mesh.thickness) <= max(200, len(h) + 2)


@given(tagged())
@settings(max_examples=80, deadline=None)
def test_joining_conserves_and_keeps_to_its_tolerance(stack: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    """Contents to rounding; tags never mix; no old content is further than the tolerance from its new cell's."""
    h, c, tags = stack
    mesh = merge(h, c, tags, 0.01)
    np.testing.assert_allclose(mesh.thickness @ mesh.composition, h @ c, rtol=1e-12, atol=1e-18)
    new = np.searchsorted(mesh.parent, np.arange(len(h)), side="right") - 1
    np.testing.assert_array_equal(tags[mesh.parent][new], tags)
    assert np.abs(mesh.composition[new] - c).max() <= 0.01


def test_cells_are_finest_beside_the_jump_and_grow_away() -> None:
    """Two plates: beside the weld a fifth of the diffusion length, from one to the next at most about GROWTH more."""
    mesh = refine([5e-3, 5e-3], [[0.9], [0.2]], [0, 1], 0.2e-3)
    upper = mesh.thickness[mesh.parent == 1]
    assert upper[0] == pytest.approx(FINEST * 0.2e-3, rel=0.3)
    ratio = upper[1:] / upper[:-1]
    assert np.all((ratio > 1.0) & (ratio < 1.0 + 1.3 * GROWTH))
    np.testing.assert_allclose(mesh.thickness, mesh.thickness[::-1], rtol=1e-9)


def test_an_open_face_is_fine_down_to_where_it_will_recede() -> None:
    """One plate: an edge lies at the recession, cells near it are about an eighth of the diffusion length."""
    mesh = refine([5e-3], [[0.9]], [0], 0.2e-3, open_faces=(True, False), recession=(0.15e-3, 0.0))
    edges = np.cumsum(mesh.thickness)
    assert np.min(np.abs(edges - 0.15e-3)) < 1e-9
    assert mesh.thickness[0] == pytest.approx(FINEST_AT_FACE * 0.2e-3, rel=0.4)
    assert mesh.thickness[-1] > 10 * mesh.thickness[0]


def test_eaten_cells_leave() -> None:
    """Cells without thickness are dropped and their neighbours keep their tags."""
    mesh = merge([0.0, 1e-3, 1e-3, 0.0], [[0.5]] * 4, [7, 7, 8, 8])
    np.testing.assert_array_equal(mesh.parent, [1, 2])


@pytest.mark.parametrize(("layers", "most"), [(10, 3000), (2000, 12_000), (20_000, 40_000), (100_000, 150_000)])
def test_budget_of_cells(layers: int, most: int) -> None:
    """Six a layer beyond 500 layers, one to two beyond 20,000 (our own choice of cost)."""
    assert cell_budget(layers) == most


def test_thin_layers_keep_one_cell_for_carbon() -> None:
    """Layers far thinner than the diffusion length level at once: nothing is gained by dividing them."""
    carbon = np.resize([[0.95], [0.2]], (1000, 1))
    mesh = refine(np.full(1000, 5e-6), carbon, np.arange(1000), 0.25e-3)
    assert len(mesh.thickness) == 1000


def test_flat_plates_become_single_cells_again() -> None:
    """Dividing and joining a stack with nothing diffused gives the plates back."""
    c = np.array([[0.95, 0.0], [0.2, 2.0], [0.95, 0.0]])
    fine = refine([3e-3] * 3, c, [0, 1, 2], 0.2e-3)
    back = merge(fine.thickness, fine.composition, fine.parent)
    np.testing.assert_allclose(back.thickness, 3e-3, rtol=1e-12)
    np.testing.assert_allclose(back.composition, c, rtol=1e-12)


def test_arrays_that_do_not_belong_together_are_refused() -> None:
    """One row a cell in all three."""
    with pytest.raises(OutsideRange, match="thickness"):
        merge([1e-3, 1e-3], [[0.5]], [0, 1])
