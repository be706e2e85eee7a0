"""How the diffusion solver's time grows with cells, and how it compares with a general solver at equal error.

A plain script: python tests/benchmarks/bench_diffusion.py. Every figure is the median of interleaved rounds in one run;
only the ratios mean anything on another machine.
"""

import os
import statistics
import time
from collections.abc import Callable

import numpy as np

os.environ.setdefault("FIPY_SOLVERS", "scipy")

from billet.metal.solve import diffuse, diffusion_lengths
from tests.textbook.diffusion import lamella_profile

ROUNDS = 5
WELD = [(1423.15, 600.0)]
FOURIER = 0.1


def medians(jobs: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Median seconds of each job over interleaved rounds, after one unmeasured round."""
    times: dict[str, list[float]] = {name: [] for name in jobs}
    for turn in range(ROUNDS + 1):
        for name, job in jobs.items():
            start = time.perf_counter()
            job()
            times[name] += [time.perf_counter() - start] if turn else []
    return {name: statistics.median(taken) for name, taken in times.items()}


def layers(count: int, thickness: float, cells: int) -> tuple[np.ndarray, np.ndarray]:
    """Layers of 0.95 and 0.20 % C in turn, each of so many cells."""
    carbon = np.repeat(np.resize([0.95, 0.20], count), cells)[:, np.newaxis]
    return np.full(count * cells, thickness / cells), carbon


def weld(count: int, thickness: float, cells: int) -> Callable[[], object]:
    """The job of diffusing such a stack for ten minutes at 1150 C."""
    h, c = layers(count, thickness, cells)
    return lambda: diffuse(h, c, WELD, elements=("C",))


def linear_in_cells() -> None:
    """0.5 mm layers of 24 cells: time per cell against that of the smallest stack."""
    taken = medians({str(n * 24): weld(n, 0.5e-3, 24) for n in (62, 250, 500, 2000)})
    first = next(seconds / int(name) for name, seconds in taken.items())
    for name, seconds in taken.items():
        share = seconds / int(name) / first
        print(f"{name:>7} cells  {seconds * 1e3:8.1f} ms   time per cell {share:5.2f} of the smallest")


def thin_layers_level_at_once() -> None:
    """12,000 one-cell layers of a micrometre against 500 layers of 24 cells: the first are level in one step."""
    thin, thick = medians({"thin": weld(12_000, 1e-6, 1), "thick": weld(500, 0.5e-3, 24)}).values()
    print(f"thin layers {thin * 1e3:.1f} ms, thick {thick * 1e3:.1f} ms, ratio {thin / thick:.3f}")


def ours(cells: int) -> np.ndarray:
    """A period of nickel lamellae at FOURIER, (cells,)."""
    hold = [(1473.15, 3600.0)]
    layer = float(diffusion_lengths(hold, elements=("Ni",))[0]) / np.sqrt(FOURIER)
    start = np.repeat([1.0, 0.0], cells // 2)[:, np.newaxis]
    return diffuse(np.full(cells, layer / cells), start, hold, elements=("Ni",)).composition[:, 0]


def general(cells: int, steps: int) -> np.ndarray:
    """The same with FiPy, backward Euler with steps growing as the profile spreads."""
    import fipy

    mesh = fipy.Grid1D(nx=cells, dx=1.0 / cells)
    u = fipy.CellVariable(mesh=mesh, value=np.repeat([1.0, 0.0], cells // 2), hasOld=True)
    equation = fipy.TransientTerm() == fipy.DiffusionTerm(coeff=1.0)
    for step in np.diff(FOURIER * np.linspace(0, 1, steps + 1) ** 2):
        u.updateOld()
        equation.solve(var=u, dt=float(step))
    return np.asarray(u.value)


def against_a_general_solver() -> None:
    """Half a period of 80 cells; FiPy is given the fewest steps that reach our error, doubling."""
    cells = 80
    exact = lamella_profile(0.5 + (np.arange(cells) + 0.5) / cells, FOURIER)
    goal, steps = float(np.abs(ours(cells) - exact).max()), 5
    while np.abs(general(cells, steps) - exact).max() > goal and steps < 1000:
        steps *= 2
    error = float(np.abs(general(cells, steps) - exact).max())
    taken = medians({"ours": lambda: ours(cells), "general": lambda: general(cells, steps)})
    longer = taken["general"] / taken["ours"]
    print(f"our error {goal:.1e}; FiPy {error:.1e} with {steps} steps, {longer:.1f} times as long")


if __name__ == "__main__":
    linear_in_cells()
    thin_layers_level_at_once()
    try:
        against_a_general_solver()
    except ImportError:
        print("FiPy is not installed: not compared")
