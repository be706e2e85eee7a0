"""What the ledger costs with full diffusion: against the start of an interpreter, by cells, and at 300,000 layers.

A plain script: python tests/benchmarks/bench_ledger.py. Every figure comes from fresh interpreters, each measured next to
the one it is compared with, so that the pairs' ratios mean something on a busy machine; medians with their ranges.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from typing import Any

from billet.ledger.run import run
from billet.recipe.read import build

ROUNDS = 7
START = "import time; a = time.perf_counter(); import numpy, scipy; print(time.perf_counter() - a)"
WELD = {"do": "weld", "heat": "1150 C", "time": "5 min"}
DRAW = {"do": "draw", "heat": "1100 C", "time": "5 min", "thickness": "6 mm", "width": "50 mm"}
RECIPES: dict[str, tuple[int, tuple[int, ...]]] = {  # plates, pieces of each restack
    "50 layers": (50, ()),
    "2,000 layers, 12 steps": (20, (5, 4, 5)),
    "20,000 layers": (20, (10, 10, 10)),
    "300,000 layers": (30, (10, 10, 10, 10)),
}


def recipe(plates: int, restacks: tuple[int, ...]) -> dict[str, Any]:
    """Weld, then restack, weld and draw for every number of pieces; twelve rows and more with the long soak at the end."""
    steps: list[dict[str, Any]] = [WELD]
    for pieces in restacks:
        steps += [{"do": "restack", "pieces": pieces}, WELD, DRAW]
    steps += [{"do": "heat", "heat": "870 C", "time": "10 min"}] if len(restacks) == 3 else []
    bar = {
        "name": "b",
        "width": "50 mm",
        "length": "100 m",
        "stack": ["1084 2 mm", "15N20 2 mm"],
        "repeat": plates // 2,
        "step": steps,
    }
    return {"shop": {"press_opening": "2 m", "fire_length": "1 km", "face_cleanup": "0.1 mm"}, "bar": [bar]}


def ledger_seconds(name: str) -> tuple[float, int]:
    """Seconds of running a recipe and measuring every row, and the cells of its last bar."""
    read = build(recipe(*RECIPES[name]))
    start = time.perf_counter()
    book = run(read)
    for bar in book.bars:
        for row in bar.rows:
            _ = row.measures
    return time.perf_counter() - start, sum(len(leaf.thickness) for leaf in book.last.leaves)


def fresh(*words: str) -> list[float]:
    """The numbers a fresh interpreter prints."""
    done = subprocess.run([sys.executable, *words], capture_output=True, text=True, check=True, env=os.environ)
    return [float(word) for word in done.stdout.split()]


def told(values: list[float], unit: str = "") -> str:
    """Median and range."""
    return f"{statistics.median(values):.3f}{unit} ({min(values):.3f} to {max(values):.3f})"


def main() -> None:
    """Rounds of pairs: an interpreter that only starts, then one that runs each recipe."""
    starts: list[float] = []
    taken: dict[str, list[float]] = {name: [] for name in RECIPES}
    cells: dict[str, float] = {}
    for _ in range(ROUNDS):
        starts += fresh("-c", START)
        for name in RECIPES:
            seconds, cells[name] = fresh(__file__, name)
            taken[name].append(seconds)
    print(f"importing numpy and scipy: {told(starts, ' s')}")
    for name, seconds in taken.items():
        ratios = [s / start for s, start in zip(seconds, starts, strict=True)]
        print(f"{name:>24}: {told(seconds, ' s')}, {told(ratios)} of the import, {cells[name]:.0f} cells at the end")
    over = [a - b for a, b in zip(taken["300,000 layers"], taken["50 layers"], strict=True)]
    print(f"300,000 layers take {told(over, ' s')} longer than 50")
    each = [t / cells[n] * 1e6 for n, t in ((n, statistics.median(taken[n])) for n in RECIPES)]
    print("microseconds a cell: " + ", ".join(f"{n} {e:.1f}" for n, e in zip(RECIPES, each, strict=True)))


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(*ledger_seconds(sys.argv[1]))
    else:
        main()
