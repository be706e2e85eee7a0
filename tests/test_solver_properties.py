"""Laws the diffusion solver keeps for any stack: nothing is gained, nothing turns negative, nothing wiggles, the books
balance.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from billet.metal.limits import ELEMENTS, OutsideRange
from billet.metal.mesh import refine
from billet.metal.partition import capped_alloy_factor
from billet.metal.solve import TOLERANCE, Boundary, diffuse, diffusion_lengths
from tests.textbook.diffusion import contrast

RICHEST = np.array(
    [1.5, 2.0, 2.0, 1.6, 4.0, 1.0, 0.3, 1.0, 0.05, 0.3, 0.5]
)  # [wt%] of each element in the stacks tried

cells = st.integers(1, 24)
holds = st.lists(st.tuples(st.floats(900.0, 1530.0), st.floats(0.0, 7200.0)), min_size=1, max_size=3)


@st.composite
def stacks(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Cells of 1 micrometre to 3 mm with any low-alloy composition."""
    n = draw(cells)
    decades = draw(arrays(float, n, elements=st.floats(-6.0, -2.5)))
    shares = draw(arrays(float, (n, len(ELEMENTS)), elements=st.floats(0.0, 1.0)))
    return 10.0**decades, shares * RICHEST


@given(stacks(), holds)
@settings(max_examples=60, deadline=None)
def test_a_sealed_stack_gains_and_loses_nothing(stack: tuple[np.ndarray, np.ndarray], schedule: list) -> None:
    """Thickness times content, summed, is what it was for every element: 1e-10 of it."""
    h, c = stack
    after = diffuse(h, c, schedule)
    np.testing.assert_allclose(after.thickness @ after.composition, h @ c, rtol=1e-10, atol=1e-18)
    np.testing.assert_array_equal(after.thickness, h)


@given(stacks(), holds)
@settings(max_examples=60, deadline=None)
def test_contents_stay_within_what_was_there(stack: tuple[np.ndarray, np.ndarray], schedule: list) -> None:
    """Maximum principle: carbon activity and every alloying element keep to the range they had at the start."""
    h, c = stack
    before, after = c.copy(), diffuse(h, c, schedule).composition
    before[:, 0] *= capped_alloy_factor(c)
    bounded = after.copy()
    bounded[:, 0] *= capped_alloy_factor(c)
    assert np.all(after >= 0.0)
    assert np.all(bounded <= before.max(axis=0) * (1 + 1e-9))
    assert np.all(bounded >= before.min(axis=0) * (1 - 1e-9) - 1e-15)


@given(st.lists(st.floats(0.0, 1.4), min_size=2, max_size=30), st.floats(2e-6, 1e-3), st.floats(1.0, 3600.0))
@settings(max_examples=60, deadline=None)
def test_a_rising_profile_goes_on_rising(carbon: list[float], thickness: float, seconds: float) -> None:
    """Diffusion makes no new extremes; what the second-order step may add is far below its tolerance."""
    rising = np.sort(carbon)[:, np.newaxis]
    after = diffuse(np.full(len(rising), thickness), rising, [(1400.0, seconds)], elements=("C",)).composition[:, 0]
    assert np.all(np.diff(after) >= -0.02 * TOLERANCE)


@given(
    stacks(),
    st.floats(1050.0, 1530.0),
    st.floats(1.0, 3600.0),
    st.floats(0.0, 0.45),
    st.floats(0.0, 0.45),
    st.floats(0.0, 0.3),
)
@settings(max_examples=60, deadline=None)
def test_the_books_of_a_receding_face_balance(
    stack: tuple[np.ndarray, np.ndarray], T: float, seconds: float, below: float, above: float, face: float
) -> None:
    """In = left + through the faces + in the eaten metal, to 1e-8 of it; thickness balances too."""
    h, c = stack
    total = h.sum()
    after = diffuse(h, c, [(T, seconds)], left=Boundary(face, below * total), right=Boundary(face, above * total))
    left = after.thickness @ after.composition
    gone = sum(side.through + side.eaten for side in (after.left, after.right))
    np.testing.assert_allclose(left + gone, h @ c, rtol=1e-8, atol=1e-8 * total)
    assert after.thickness.sum() == pytest.approx(total * (1 - below - above), rel=1e-9)
    assert np.all(after.thickness >= 0.0)
    assert np.all(after.composition >= 0.0)


@given(stacks(), holds)
@settings(max_examples=30, deadline=None)
def test_upside_down_is_the_same(stack: tuple[np.ndarray, np.ndarray], schedule: list) -> None:
    """Reversing the cells reverses the answer, within the tolerance of a step."""
    h, c = stack
    after = diffuse(h, c, schedule).composition
    np.testing.assert_allclose(diffuse(h[::-1], c[::-1], schedule).composition[::-1], after, atol=TOLERANCE)


@given(stacks())
@settings(max_examples=20, deadline=None)
def test_arguments_are_left_alone(stack: tuple[np.ndarray, np.ndarray]) -> None:
    """The arrays given are not written into, and below 1000 K carbon stays where it is (carbides)."""
    h, c = stack
    kept = h.copy(), c.copy()
    cold = diffuse(h, c, [(950.0, 36_000.0)], left=Boundary(0.0, 0.1 * h.sum()))
    np.testing.assert_array_equal(h, kept[0])
    np.testing.assert_array_equal(c, kept[1])
    np.testing.assert_allclose(cold.composition[:, 0], c[:, 0], atol=1e-12)


def test_differences_of_rounding_do_not_hold_it_up() -> None:
    """Contents that differ in the twelfth digit, and traces that underflow, are settled in a moment and conserved."""
    h, c = np.array([1e-6, 3e-3, 1e-6]), np.zeros((3, len(ELEMENTS)))
    c[:, [0, 2]] = 0.5, 1.0
    c[2, [0, 2]] += 3e-13, 1e-11
    c[[0, 2], ELEMENTS.index("Mo")] = 2.2e-308
    after = diffuse(h, c, [(1530.0, 7200.0)])
    np.testing.assert_allclose(after.thickness @ after.composition, h @ c, rtol=1e-10, atol=1e-18)


@pytest.mark.parametrize("fourier", [0.03, 0.1, 0.2])
@pytest.mark.parametrize("cells_a_layer", [20, 40, 80])
def test_the_answer_does_not_hang_on_the_number_of_cells(fourier: float, cells_a_layer: int) -> None:
    """Mid-layer contrast against Crank's series (constant D: molybdenum), 1 % of the first contrast from 20 cells a
    layer on.
    """
    hold, n = [(1473.15, 3600.0)], cells_a_layer
    layer = float(diffusion_lengths(hold, elements=("Mo",))[0]) / np.sqrt(fourier)
    start = np.repeat([1.0, 0.0], n)[:, np.newaxis]
    after = diffuse(np.full(2 * n, layer / 2 / n), start, hold, elements=("Mo",)).composition[:, 0]
    assert after[0] - after[-1] == pytest.approx(contrast(fourier), abs=0.01)


@pytest.mark.parametrize("layer", [3e-3, 0.5e-3, 0.1e-3])
def test_refined_cells_serve_as_well_as_many_equal_ones(layer: float) -> None:
    """Mean carbon of each layer after 10 min at 1150 C on graded cells and on 200 equal ones: 1 % of the jump between
    them.
    """
    carbon = np.array([0.95, 0.2, 0.6, 0.95, 0.2])
    stack = np.zeros((5, len(ELEMENTS)))
    stack[:, 0] = carbon
    hold = [(1423.15, 600.0)]
    mesh = refine(np.full(5, layer), stack, np.arange(5), diffusion_lengths(hold))
    graded = diffuse(mesh.thickness, mesh.composition, hold)
    means = np.bincount(mesh.parent, mesh.thickness * graded.composition[:, 0]) / layer
    even = diffuse(np.full(1000, layer / 200), np.repeat(stack, 200, axis=0), hold, tolerance=5e-4).composition[:, 0]
    np.testing.assert_allclose(means, even.reshape(5, 200).mean(axis=1), atol=0.0075)


@pytest.mark.parametrize(
    ("thickness", "composition", "schedule", "said"),
    [
        ([1e-3], [[0.5, 0.5]], [(1400.0, 60.0)], "composition"),
        ([1e-3, 0.0], [[0.5], [0.5]], [(1400.0, 60.0)], "thickness"),
        ([1e-3], [[-0.5]], [(1400.0, 60.0)], "content"),
        ([1e-3], [[0.5]], [(2100.0, 60.0)], "temperature"),
        ([1e-3], [[0.5]], [(1400.0, -60.0)], "time"),
    ],
)
def test_what_is_no_stack_or_schedule_is_refused(thickness: list, composition: list, schedule: list, said: str) -> None:
    """The message names what was wrong."""
    with pytest.raises(OutsideRange, match=said):
        diffuse(np.array(thickness), np.array(composition), schedule, elements=("C",))


def test_a_bar_that_scales_away_is_refused() -> None:
    """Both faces together recede by more than there is."""
    face = Boundary(0.0, 0.6e-3)
    with pytest.raises(OutsideRange, match="nothing is left"):
        diffuse(np.array([1e-3]), np.array([[0.5]]), [(1400.0, 60.0)], elements=("C",), left=face, right=face)
