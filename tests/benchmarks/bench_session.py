"""How fast a kept drawing follows the hand: every demo at 1000 by 250, one thread, all but encoding counted.

`python -m tests.benchmarks.bench_session [DEMO ...]`. Goals: 33 ms on every demo, 16 ms on flat and relief patterns. Processor time of the
thread, so that a shared machine does not tell another story; medians and least of the rounds.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line has it; before numpy is loaded

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from billet.ledger.run import run
from billet.recipe.read import build, plain
from render.request import Request
from render.session import Session, session
from render.views import Window

DEMOS = Path(__file__).parents[2] / "demo_billets"
ROUNDS = 9


def kept(name: str, hand: str) -> tuple[Session, Window]:
    """A demo's session with its window cut to 1000 by 250, drawn once."""
    file = DEMOS / f"{name}.toml"
    data = plain(file.read_text("utf-8"), file)
    drawing = session(
        run(build({**data, "shop": {**data["shop"], "hand": hand}}, path=file)), Request("right", width=1000)
    )
    own = drawing.windows[0]
    window = Window(own.centre, own.pixel, 1000, 250)
    drawing.panel("right", window, quick=True)
    return drawing, window


def spent(job: Callable[[], object]) -> float:
    """Processor time of one run [ms]."""
    start = time.thread_time()
    job()
    return 1e3 * (time.thread_time() - start)


def measure(name: str, hand: str) -> None:
    """Print what a moved blade and a turned light cost."""
    drawing, window = kept(name, hand)
    moved, turned = [], []
    for k in range(ROUNDS):
        other = drawing.with_(offset=(k + 1) * 1e-6)
        moved.append(spent(lambda o=other: o.panel("right", window, quick=True)))  # type: ignore[misc]
        lit = other.with_(light=0.4 + 0.1 * k)
        turned.append(spent(lambda o=lit: o.panel("right", window, quick=True)))  # type: ignore[misc]
    words = "  ".join(
        f"{what} {statistics.median(ms):6.1f} ms [{min(ms):.1f} to {max(ms):.1f}]"
        for what, ms in (("blade moved", moved), ("light turned", turned))
    )
    print(f"{name:16s} {hand:7s} {words}", flush=True)


if __name__ == "__main__":
    for demo in sys.argv[1:] or sorted(f.stem for f in DEMOS.glob("*.toml") if "station" not in f.name):
        for tool in ("rolled", "press"):
            measure(demo, tool)
