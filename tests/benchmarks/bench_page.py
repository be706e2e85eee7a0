"""A drag on the page: from the wish to the JPEG of both faces at 1000 px, beside the bare redraw of the same faces.

    python -m tests.benchmarks.bench_page [DEMO ...]

Goals: at most 3 times the bare redraw, and 100 ms in the median, on every demo.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

from billet.ledger.run import run
from billet.recipe.read import load
from render.page.house import House
from render.request import Request
from render.session import session

DEMOS = Path(__file__).parents[2] / "demo_billets"
TURNS = 9


def measured(name: str, folder: Path) -> tuple[float, float]:
    """Medians [ms] of the page's wish and of the bare redraw, the blade moved by another offset each time."""
    house = House(folder)
    kept = session(run(load(folder / f"{name}.toml")), Request(width=1000, bare=True))
    page, bare = [], []
    for turn in range(TURNS + 2):
        offset = 1e-5 * (turn + 1)
        begun = time.perf_counter()
        house.draw({"file": f"{name}.toml", "width": "1000", "quality": "drag", "offset_m": f"{offset:.6f}"})
        page.append(1e3 * (time.perf_counter() - begun))
        begun = time.perf_counter()
        moved = kept.with_(offset=offset)
        for side in ("left", "right"):
            moved.codes(side, quick=True)
        bare.append(1e3 * (time.perf_counter() - begun))
    house.close()
    return statistics.median(page[2:]), statistics.median(bare[2:])


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        for file in (*DEMOS.glob("*.toml"), DEMOS / "scales.png"):
            shutil.copy(file, place)
        for name in sys.argv[1:] or sorted(p.stem for p in DEMOS.glob("*.toml")):
            page, bare = measured(name, Path(place))
            print(f"{name:<16}{page:7.0f} ms on the page {bare:7.0f} ms bare, ratio {page / bare:.2f}")
