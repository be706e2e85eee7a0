"""The same diffusion problems solved with FiPy (a general finite-volume library), on finer cells and with many small
steps.
"""

import os
from collections.abc import Callable

import numpy as np
import pytest

os.environ.setdefault("FIPY_SOLVERS", "scipy")
fipy = pytest.importorskip("fipy", reason="FiPy is not installed (extra `outside`): the comparison was not made")

from billet.metal.carbon_diffusion import carbon_in_austenite_agren_1986  # noqa: E402
from billet.metal.limits import weight_percent  # noqa: E402
from billet.metal.solve import diffuse, diffusion_lengths  # noqa: E402
from tests.textbook.activity import alloy_factor_gunnarson_1967  # noqa: E402
from tests.truth.registry import How, Pairs, checks  # noqa: E402

FINER = 4  # FiPy cells in one of ours


def fipy_activity(
    thickness: np.ndarray,
    carbon: np.ndarray,
    gamma: np.ndarray,
    D: Callable[[np.ndarray], np.ndarray],
    times: np.ndarray,
) -> np.ndarray:
    """Carbon (n,) [wt%] after backward Euler at `times` [s] of (1/Gamma) du/dt = div(D/Gamma grad u), sealed, in our
    cells.
    """
    h, c, g = (np.repeat(a, FINER) for a in (thickness / FINER, carbon, gamma))
    mesh = fipy.Grid1D(dx=h)
    u = fipy.CellVariable(mesh=mesh, value=c * g, hasOld=True)
    mobility = fipy.CellVariable(mesh=mesh, value=D(c) / g)
    storage = fipy.CellVariable(mesh=mesh, value=1.0 / g)
    equation = fipy.TransientTerm(coeff=storage) == fipy.DiffusionTerm(coeff=mobility.harmonicFaceValue)
    for step in np.diff(times):
        u.updateOld()
        mobility.setValue(D(u.value / g) / g)
        equation.solve(var=u, dt=float(step))
    return (u.value / g).reshape(-1, FINER).mean(axis=1)


def test_equal_lamellae_of_constant_diffusivity() -> None:
    """Two periods of manganese at Fo about 0.05: 1.5 % of the jump (both are backward Euler at heart, neither is
    exact).
    """
    hold, cells = [(1473.15, 7200.0)], 20
    length = float(diffusion_lengths(hold, elements=("Mn",))[0])
    h = np.full(4 * cells, length / np.sqrt(0.05) / cells)
    manganese = np.repeat([1.0, 0.0, 1.0, 0.0], cells)
    ours = diffuse(h, manganese[:, np.newaxis], hold, elements=("Mn",)).composition[:, 0]
    times = length**2 * np.linspace(0, 1, 161) ** 2
    theirs = fipy_activity(h, manganese, np.ones(4 * cells), lambda c: np.ones(len(c)), times)
    np.testing.assert_allclose(ours, theirs, atol=0.015)


@checks(
    "carbon through the bar and at the edge", "FiPy, a general solver, five layers of silicon, plain and nickel steel",
    How.METHOD, unit="% carbon", within=0.01,
)  # fmt: skip
def test_uneven_stack_with_jumps_of_activity() -> Pairs:
    """Silicon spring, plain and nickel steel, unequal layers, Agren D at the local carbon."""
    steels = np.array(
        [weight_percent(C=0.6, Si=1.8, Mn=0.8), weight_percent(C=0.95, Mn=0.3), weight_percent(C=0.4, Ni=2)]
    )
    order, cells = np.array([0, 1, 2, 1, 0]), 16
    h = np.repeat(np.array([0.5e-3, 1.1e-3, 0.4e-3, 0.7e-3, 0.9e-3]) / cells, cells)
    stack = np.repeat(steels[order], cells, axis=0)
    gamma = alloy_factor_gunnarson_1967(stack)
    ours = diffuse(h, stack, [(1423.15, 600.0)], tolerance=1e-3).composition[:, 0]
    theirs = fipy_activity(
        h, stack[:, 0], gamma, lambda c: carbon_in_austenite_agren_1986(c, 1423.15), 600.0 * np.linspace(0, 1, 161) ** 2
    )
    assert np.abs(theirs - stack[:, 0]).max() > 0.1
    return list(zip(ours, theirs, strict=True))
